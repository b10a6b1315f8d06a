"""`rackwalk site set`: one value of a store, a rack or a circuit."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import say
from expert.cli.job.load_knowledge import load_rules
from expert.cli.site.which import add_usual, chosen
from expert.errors import UsageError
from expert.sites.data import FACTS, LAW

DESCRIPTION = """\
PART is a rack, a circuit, or 'site' for the store itself; WHAT a value ('drip time setting') or one
of title, refrigerant, application, defrost, case type, note; of the store itself 'jurisdiction',
by whose law it is kept. What was there before stays in the history of the store ('rackwalk site
show --history')."""
EXAMPLES = """\
  rackwalk site set A4 'drip time setting' '5 min'
  rackwalk site set A4 'case type' 'frozen food doors'
  rackwalk site set site jurisdiction 'European Union'
  rackwalk site set A 'suction set point' '8 psig' --site 'Oak Street' --who 'A. Sample'"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("part", metavar="PART")
    parser.add_argument("what", metavar="WHAT")
    parser.add_argument("value", nargs="+", metavar="VALUE", help="'5 min', or 5 min")
    parser.add_argument("--site", metavar="NAME", help="the store, where several are kept")
    add_usual(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when kept, 2 for a part or value that is not there, 3 or 4 for a wrong value."""
    from expert.cli.job.ask_site import data_of_kept, keep_data, told_kept
    from expert.knowledge.hints import hint_by_words
    from expert.knowledge.jurisdictions import JURISDICTIONS
    from expert.knowledge.synonyms import called, plain_name
    from expert.sites.ask_store import a_value, nearest_part
    from expert.sites.data import part
    from expert.sites.questions import Ask, taken

    options.value = " ".join(options.value)
    kept, rules = chosen(options.site, options.jobs), load_rules(options.rulebase)
    data = data_of_kept(kept)
    found = part(data, options.part)
    if found is None:
        hint = nearest_part(options.part, data) or "'rackwalk site show' lists its parts."
        raise UsageError(f"The store {kept.name} has no '{options.part}'. {hint}")
    what = plain_name(options.what)
    if what == LAW:
        if options.part.lower() != "site":
            raise UsageError(f"The law is that of the whole store: rackwalk site set site {LAW}")
        was = found.get(LAW, "")
        found[LAW] = options.value = taken(Ask("", JURISDICTIONS), options.value)
    elif what in FACTS:
        was = found.get(key := what.replace(" ", "_"), "")
        found[key] = options.value
    else:
        values = [each for each in rules.quantities.values() if each.given == "site"]
        named = called(options.what, values)
        if len(named) != 1:
            hint = (
                hint_by_words(options.what, values)
                or "'rackwalk site show --all' lists the values."
            )
            raise UsageError(f"There is no value '{options.what}' of a store. {hint}")
        was = found.get("values", {}).get(named[0].id, "")
        text = a_value(named[0], data, options.units)(options.value)
        found.setdefault("values", {})[named[0].id] = text
        what = named[0].title
    why = f"{options.part}: {what} {options.value}" + (f" (was {was})" if was else "")
    made, site = keep_data(data, rules, options.jobs, options.who, why, kept)
    say(f"{why}.")
    say(told_kept(made, site))
    return 0
