"""`rackwalk rules test`: the tests beside the rules, then whole cases."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_rulebase, backend, print_json, say
from expert.cli.job.cache import uncollected
from expert.cli.job.load_knowledge import load_rules_with_tests
from expert.errors import RackwalkError, UsageError
from expert.places import shipped

if TYPE_CHECKING:
    from expert.author.rule_tests import Outcome
    from expert.author.scenarios.run_rule_tests import RuleTestRunner
    from expert.author.scenarios.verdict import ScenarioOutcome
    from expert.knowledge.model import Rulebase

DESCRIPTION = """\
A rule's test says what is given and whether the rule then fires, is silent (known not to apply)
or is undecided (something it needs is not known). A few tests stand beside the rule under
'tests:', the rest under 'proof:' in proof.yaml of its folder. A scenario is a file of readings as
for 'rackwalk diagnose' with a section that says what must be found:

  scenario:
    title: Weak push on a frosted coil
    source: common practice
    expect: {first: defrost-differential-set-low, never: [flash-gas]}

Keys of expect: first, tied, also, never, none, undecided, advice_held, certainty."""
EXAMPLES = """\
  rackwalk rules test
  rackwalk rules test --scenarios tests/scenarios
  rackwalk rules test --only differential --watch"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("--scenarios", type=Path, metavar="FOLDER", help="whole cases to run too")
    parser.add_argument(
        "--only", metavar="WORD", default="",
        help="only rules whose id, file or proof has this word, and scenarios whose file has it",
    )  # fmt: skip
    parser.add_argument(
        "--watch", action="store_true", help="run again whenever a file changes, until Ctrl-C"
    )
    add_rulebase(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when all pass, 3 when one fails or the rulebase is wrong."""
    if not options.watch:
        return _run(options)
    if options.json:
        raise UsageError("--watch is for a person; leave out --json.")
    from expert.author.scenarios.watch import watch

    folders = [options.rulebase or shipped("rulebase")]
    folders += [options.scenarios] if options.scenarios else []
    from expert.author.scenarios.run_rule_tests import RuleTestRunner
    from expert.knowledge.load_rulebase import load_rulebase
    from expert.knowledge.memory import Memory

    memory, runner = Memory(), RuleTestRunner()

    def run_once_more() -> int:
        try:
            with uncollected():
                base = load_rulebase(folders[0], memory)
            return _judge(base, runner, options)
        except RackwalkError as error:
            say(str(error))
            return error.exit_code

    return watch(folders, run_once_more, say)


def _run(options: argparse.Namespace) -> int:
    from expert.author.scenarios.run_rule_tests import RuleTestRunner

    return _judge(load_rules_with_tests(options.rulebase), RuleTestRunner(), options)


def _judge(base: Rulebase, runner: RuleTestRunner, options: argparse.Namespace) -> int:
    from expert.author.rule_tests import run_rule_tests
    from expert.author.scenarios.failure_lines import scenario_lines
    from expert.author.scenarios.read import ScenarioRunner, load_scenarios
    from expert.author.scenarios.verdict import judge_scenario

    # Unless an engine is asked for, rules are run in small parts on the plain one: it is quicker.
    only = options.only
    if options.engine == "auto":
        outcomes = runner.run(base, only)
    else:
        outcomes = run_rule_tests(base, backend(options), only)
    scenario_runner = ScenarioRunner(base, backend(options))
    scenarios = load_scenarios(options.scenarios, base, only) if options.scenarios else ()
    judged = [judge_scenario(each, scenario_runner) for each in scenarios]
    if not outcomes and not judged:
        raise UsageError(f"No rule, rule file or scenario has '{options.only}' in its name.")
    failed = [each for each in outcomes if not each.passed]
    unmet = [each for each in judged if not each.passed]
    if options.json:
        _print(outcomes, judged)
        return 3 if failed or unmet else 0
    _say_failed(failed, base)
    for outcome in unmet:
        for line in scenario_lines(outcome, scenario_runner):
            say(line)
    say(f"rule tests: {_counts(len(outcomes), len(failed))}")
    if options.scenarios:
        say(f"scenarios: {_counts(len(judged), len(unmet))}")
    return 3 if failed or unmet else 0


def _counts(all_of_them: int, failed: int) -> str:
    return f"{all_of_them - failed} passed, {failed} failed"


def _say_failed(failed: Sequence[Outcome], base: Rulebase) -> None:
    from expert.author.scenarios.failure_lines import rule_test_lines

    for outcome in failed:
        for line in rule_test_lines(outcome, base):
            say(line)


def _print(outcomes: Sequence[Outcome], judged: list[ScenarioOutcome]) -> None:
    from expert.author.scenarios.failure_lines import outcome_json, scenario_json

    failed = [each for each in outcomes if not each.passed]
    unmet = [each for each in judged if not each.passed]
    print_json(
        {
            "rule_tests": {
                "passed": len(outcomes) - len(failed),
                "failed": [outcome_json(each) for each in failed],
            },
            "scenarios": {
                "passed": len(judged) - len(unmet),
                "failed": [scenario_json(each) for each in unmet],
            },
        }
    )
