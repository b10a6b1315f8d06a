"""`rackwalk rules coverage`: what no test has tried, and what nothing uses."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_pack, print_json, say
from expert.cli.job.load_knowledge import load_rules_with_tests
from expert.errors import UsageError
from expert.knowledge.pack_files import checklist_folders
from expert.knowledge.pack_model import SHIPPED

if TYPE_CHECKING:
    from expert.author.coverage.gap import Gap
    from expert.author.coverage.untried import Coverage
    from expert.author.scenarios.read import Scenario
    from expert.knowledge.model import Rulebase

DESCRIPTION = """\
For every rule: a test that fires it and one that keeps it silent. For every condition: a case in
which it is true, one in which it is false, and cases in which the rule hangs on it alone. For
every edge of a limit at which a rule looks: a value on each side. Besides: limits, quantities
and signs that nothing uses, causes that nothing supports, and causes that no reading tells apart.

What is left as it is on purpose is explained in a file of the rulebase:

  coverage:
    - what: quantity suction_filter / unused
      why: only written down, for the next visit

With --suggest each rule and limit is made slightly wrong in every way, and for each change that
no test notices a test is proposed; likewise for each condition on which no rule has hung yet. A
test says what the rule does now, and you judge whether that is right. It goes under the rule in
proof.yaml of its folder ('proof:', a list of {rule, tests}).

Shares are cut and never rounded up: 100 % is everything."""
EXAMPLES = """\
  rackwalk rules coverage
  rackwalk rules coverage --scenarios tests/scenarios --threshold 100
  rackwalk rules coverage --suggest my-rule
  rackwalk rules coverage --json"""


def _percent(text: str) -> Fraction:
    percent = Fraction(text.strip().rstrip("%").strip())
    if not 0 <= percent <= 100:
        raise ValueError(text)
    return percent


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    add_pack(parser)
    parser.add_argument("--scenarios", type=Path, metavar="FOLDER", help="whole cases that count")
    parser.add_argument(
        "--checklists", type=Path, metavar="FOLDER",
        help="checklists whose readings count as used (default: the shipped ones)",
    )  # fmt: skip
    _percent.__name__ = "percent"
    parser.add_argument(
        "--threshold", type=_percent, metavar="PERCENT",
        help="end with exit code 3 where less is covered, by ever so little",
    )  # fmt: skip
    parser.add_argument(
        "--only", default="", metavar="WORD", help="list only what has this word in name or file"
    )
    parser.add_argument(
        "--below", action="store_true", help="list also what lacks in the pack below"
    )
    parser.add_argument(
        "--suggest", metavar="WORD",
        help="propose tests for the rules and limits whose id or file has this word",
    )  # fmt: skip
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 3 where the threshold is not reached."""
    from expert.author.coverage.untried import coverage, figure_lines
    from expert.author.scenarios.read import load_scenarios

    base = load_rules_with_tests(options.rulebase)
    scenarios = load_scenarios(options.scenarios, base) if options.scenarios else ()
    if options.suggest is not None:
        _suggest(options, base, scenarios)
        return 0
    reasons = [each for each in base.explained if each.section == "coverage"]
    explained = {each.what: each.why for each in reasons}
    covered = coverage(base, scenarios, elsewhere=_asked(options, base), explained=explained)
    enough = options.threshold is None or covered.reaches(options.threshold)
    if options.json:
        print_json(_as_json(covered))
        return 0 if enough else 3
    for title, gaps in _grouped(options, base, covered.gaps):
        if title:
            say(title)
        for line in _lines(gaps):
            say(line)
    for each in reasons:
        if each.what in covered.idle:
            say(f"{each.place}: '{each.what}' explains nothing that is lacking; delete it")
    for line in figure_lines(covered):
        say(line)
    if covered.explained:
        say(f"{len(covered.explained)} more are explained in the rulebase.")
    if not enough:
        say(f"Less than {_shown(options.threshold)} % is covered.")
    return 0 if enough else 3


def _suggest(options: argparse.Namespace, base: Rulebase, scenarios: tuple[Scenario, ...]) -> None:
    """Tests that tell rules and limits from slightly wrong ones, which nothing notices so far."""
    from expert.author.mutation.mutants import mutants
    from expert.author.mutation.trial import Trial
    from expert.author.proposals.propose import propose_all, propose_cases

    word = options.suggest
    wrong = [m for m in mutants(base) if word in m.place.path or word in m.id]
    if not wrong:
        raise UsageError(f"No rule or limit has '{word}' in its id or the name of its file.")
    found = propose_all(Trial(base, scenarios), wrong)
    found += propose_cases(base, scenarios, found, word)
    if options.json:
        print_json(
            [{"rule": p.rule, "test": list(p.lines()), "because": str(p.because)} for p in found]
        )
        return
    for each in found:
        say(f"# {each.rule}: {each.reason}")
        for line in each.lines():
            say(line)
    say(
        f"{len(found)} tests proposed. Each says what the rule does now; judge whether it is right."
    )


def _grouped(
    options: argparse.Namespace, base: Rulebase, gaps: Iterable[Gap]
) -> Iterable[tuple[str, list[Gap]]]:
    """What is lacking: of the pack first, then only counted of what it lies over."""
    listed = [each for each in gaps if _named(each, options.only)]
    if base.info.over is None or options.rulebase is None:
        yield "", listed
        return
    own = [each for each in listed if Path(each.place.path).is_relative_to(options.rulebase)]
    rest = [each for each in listed if each not in own]
    yield f"Of {base.info.name}: {len(own) or 'nothing lacks'}", own
    if rest and (options.below or options.only):
        yield f"Of what it lies over: {len(rest)}", rest
    elif rest:
        yield f"Of what it lies over: {len(rest)}; --below lists them.", []


def _named(gap: Gap, word: str) -> bool:
    return not word or word in gap.id or word in gap.place.path


def _shown(percent: Fraction) -> str:
    return str(percent) if percent.denominator == 1 else f"{float(percent):g}"


def _lines(gaps: Iterable[Gap]) -> Iterable[str]:
    """One line for all that is lacking about one thing."""
    for (place, name), group in groupby(gaps, key=lambda gap: (gap.place, gap.about)):
        some = tuple(group)
        if len(some) == 1:
            yield f"{place}: {some[0].id}: {some[0].what}"
        else:
            yield f"{place}: {name} / {', '.join(gap.lacks for gap in some)}"


def _asked(options: argparse.Namespace, base: Rulebase) -> set[str]:
    """Quantities that checklists ask for or look at."""
    from expert.knowledge.conditions import quantities_anywhere
    from expert.procedure.load_checklists import load_checklists

    if options.checklists is None and base.lowest.name != SHIPPED:
        return set()
    found = load_checklists(options.checklists or checklist_folders(options.rulebase), base)
    asked: set[str] = set()
    for phase in (phase for checklist in found.values() for phase in checklist.phases):
        asked |= {phase.repeat.ask} if phase.repeat else set()
        for step in phase.steps:
            asked |= {*step.quantities, step.until}
            for condition in (*step.when, *step.unless, *step.short):
                asked |= set(quantities_anywhere(condition))
    return asked


def _as_json(covered: Coverage) -> dict[str, object]:
    from expert.author.coverage.untried import GROUPS

    figures = {kind or "all": covered.figures(kind) for kind in (*GROUPS, "")}
    return {
        "figures": {kind: {"covered": f[0], "of": f[1]} for kind, f in figures.items()},
        "gaps": [
            {"id": gap.id, "kind": gap.kind, "what": gap.what, "place": str(gap.place)}
            for gap in covered.gaps
        ],
        "explained": {gap.id: reason for gap, reason in covered.explained.items()},
        "explains_nothing": list(covered.idle),
    }
