"""`rackwalk settings`: what holds without being typed, where it comes from, and how to set it."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import add_json, print_json, say
from expert.cli.frame.on_standard_error import complain
from expert.cli.frame.settings import (
    BASE,
    KNOWN,
    company_file,
    keep,
    setting,
    user_file,
)
from expert.errors import UsageError, nearest
from expert.host import columns

DESCRIPTION = f"""\
Without VALUE: what holds, and where it comes from. An option of a command wins, then the
environment, then the user's file, then the company's; 'rackwalk settings' names both files. They
are YAML, a line for each setting, and may be written by hand; a path is seen from the file. A
file that is broken is put aside when a setting is kept or cleared.

settings:
{chr(10).join(f"  {name:<14}{each.says} ({each.variable})" for name, each in KNOWN.items())}

For one command the rules of the program itself are '--rulebase {BASE}'."""
EXAMPLES = """\
  rackwalk settings
  rackwalk settings who 'A. Sample'
  rackwalk settings site stores/north.yaml
  rackwalk settings pack our-store
  rackwalk settings pack --clear
  rackwalk settings server postgresql://office@jobs.example/rackwalk --company"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="only this setting")
    parser.add_argument("value", nargs="?", metavar="VALUE", help="what holds from now on")
    parser.add_argument("--clear", action="store_true", help="take the setting out of the file")
    parser.add_argument("--company", action="store_true", help="in the file for all users")
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 2 for a setting that is not known or cannot be so."""
    name = options.name
    if name is not None and name not in KNOWN:
        hint = nearest(name, KNOWN) or f"Known: {', '.join(KNOWN)}."
        raise UsageError(f"There is no setting '{name}'. {hint}")
    if options.clear or options.value is not None:
        if name is None or (options.clear and options.value is not None):
            raise UsageError("Say which setting is taken out: rackwalk settings NAME --clear")
        path = company_file() if options.company else user_file()
        if aside := keep(name, options.value, path):
            complain(
                f"rackwalk: {path} was broken and is put aside as {aside.name}; the settings in it "
                "that could be read are kept."
            )
    _show(list(KNOWN) if name is None else [name], as_json=options.json)
    return 0


def _show(names: list[str], *, as_json: bool) -> None:
    from expert.store.paths import hidden
    from expert.terminal.layout import Layout

    found = {name: setting(name) for name in names}
    files = {"user": str(user_file()), "company": str(company_file())}
    if as_json:
        shown = {
            name: {"value": hidden(each.value), "from": each.where} if each else None
            for name, each in found.items()
        }
        print_json({"settings": shown, "files": files})
        return
    layout = Layout(columns())
    for name, each in found.items():
        text = f"{hidden(each.value)} ({each.where})" if each else "not set"
        for line in layout.named(name, text):
            say(line)
    if len(names) > 1:
        for whose, path in files.items():
            for line in layout.named(f"File of the {whose}", path):
                say(line)
