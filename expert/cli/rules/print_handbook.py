"""`rackwalk rules handbook`: everything a rulebase knows, as a text to read."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import add_pack, say
from expert.cli.job.load_knowledge import load_all_checklists, load_rules
from expert.errors import NotWritten
from expert.whole_file import write_whole

DESCRIPTION = """\
Markdown: every cause by its part of the plant, with the rules for and against it in sentences, how
to confirm it and what to do; then signs, quantities with their limits, cautions, and advice that is
held back; each with its source; and what each checklist is for and on which plants."""
EXAMPLES = """\
  rackwalk rules handbook --output handbook.md
  rackwalk rules handbook --system condenser
  rackwalk rules handbook --rulebase my-pack --units si"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("--output", type=Path, metavar="FILE", help="where it goes (else stdout)")
    parser.add_argument(
        "--system", metavar="NAME", help="only one system of the plant, as 'hot gas defrost'"
    )
    add_pack(parser)
    parser.add_argument(
        "--units", choices=("us", "si", "both"), default="both",
        help="unit system of the numbers (default: both)",
    )  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Exit code 0."""
    from expert.places import shipped
    from expert.report.handbook import render_handbook

    rules = load_rules(options.rulebase)
    # a pack that stands alone has other names than the shipped checklists ask for
    go_with = options.rulebase is None or rules.info.over
    found = load_all_checklists(shipped("checklists"), rules) if go_with else {}
    if options.system:
        from expert.report.handbook_part import part_of

        rules, found = part_of(rules, options.system), {}
    text = render_handbook(rules, found.values(), system=options.units)
    if options.output is None or options.output == Path("-"):
        say(text.rstrip("\n"))
        return 0
    try:
        write_whole(options.output, text, mode=0o666)
    except OSError as error:
        message = f"Cannot write the handbook to {options.output}: {error.strerror}."
        raise NotWritten(message) from None
    say(f"Handbook: {options.output}")
    return 0
