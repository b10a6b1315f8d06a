"""`rackwalk site add`: a rack or circuit more, or the circuits of a legend."""

from __future__ import annotations

import argparse

from expert.cli.job.load_knowledge import load_rules
from expert.cli.site.new_site import add_legend
from expert.cli.site.which import add_usual, chosen, folder_of
from expert.errors import UsageError

KINDS = ("circuit", "rack")
DESCRIPTION = """\
Asks for what is added; a circuit that is there already keeps what is known of it, and what a
legend says of it counts from now on. --legend reads a CSV file as a spreadsheet writes it: what
its columns are is asked once, and what a cell cannot mean is told with its line."""
EXAMPLES = """\
  rackwalk site add circuit
  rackwalk site add rack D --site 'Oak Street'
  rackwalk site add --legend legend.csv
  rackwalk site add --legend legend.csv --column 'Term=termination setting' --yes"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("kind", nargs="?", choices=KINDS, help="what is added (default: circuit)")
    parser.add_argument("name", nargs="?", metavar="ID", help="its name")
    parser.add_argument("--site", metavar="NAME", help="the store, where several are kept")
    add_legend(parser)
    add_usual(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when kept, 4 for a legend that cannot be read, 5 when stopped."""
    from expert.cli.frame.common import say
    from expert.cli.job.ask_site import ask_few, data_of_kept, keep_data, told_kept
    from expert.cli.site.take_legend import take_legend
    from expert.sites.data import part
    from expert.terminal.choose import open_front

    kept = chosen(options.site, options.jobs)
    rules, folder, front = load_rules(options.rulebase), folder_of(options.jobs), open_front()
    data = data_of_kept(kept)
    if options.legend is not None:
        data = take_legend(options, front, rules, data, folder)
        why = f"legend {options.legend.name}"
    else:
        kind = options.kind or KINDS[0]
        if options.name and part(data, options.name) is not None:
            raise UsageError(f"The store {kept.name} has '{options.name}' already.")
        data = ask_few(front, rules, folder, options.units, kind, data, options.name or "")
        why = f"{kind} added"
    made, site = keep_data(data, rules, options.jobs, options.who, why, kept)
    say(told_kept(made, site))
    return 0
