"""What is told to be judged alike by two rulebases without judging it is judged alike."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

import pytest
from budget import NIGHTLY
from shipped_knowledge import shipped_rules

from expert.author.comparison.alike import Differing, same_but_scale, says_the_same
from expert.author.comparison.backtest import Case, FileCase, Judge, JudgedBy, may_differ
from expert.errors import Place
from expert.inference.subject_file import SubjectFile, read_subject_file
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.procedure.load_checklists import load_checklists

from .conftest import BASE

SCENARIOS = sorted((Path(__file__).parents[1] / "scenarios").rglob("*.yaml"))
AIR_AND_FANS = "refrigerant: R-449A\ncase_air: 12 F\ncase_fans: all stopped\n"


@cache
def base() -> Rulebase:
    return load_rulebase(BASE)


@pytest.fixture
def warm(tmp_path: Path) -> SubjectFile:
    """Warm air over dead fans."""
    (tmp_path / "warm.yaml").write_text(AIR_AND_FANS)
    return read_subject_file(tmp_path / "warm.yaml", base())


@pytest.fixture
def only_air(tmp_path: Path) -> SubjectFile:
    (tmp_path / "air.yaml").write_text("refrigerant: R-449A\ncase_air: 12 F\n")
    return read_subject_file(tmp_path / "air.yaml", base())


def fan_rule() -> str:
    (found,) = (r.id for r in base().rules.values() if "fan-motor-dead" in r.evidence_for)
    return found


def without(rules: Rulebase, *names: str) -> Rulebase:
    return replace(rules, rules={k: v for k, v in rules.rules.items() if k not in names})


def test_nothing_can_act_where_nothing_differs(warm: SubjectFile) -> None:
    assert not Differing(base(), base()).can_act(warm)


def test_a_rule_can_act_only_where_all_that_it_hangs_on_may_be_known(
    warm: SubjectFile, only_air: SubjectFile
) -> None:
    changed = without(base(), fan_rule())
    for differing in (Differing(base(), changed), Differing(changed, base())):
        assert differing.can_act(warm)
        assert not differing.can_act(only_air)


def test_a_limit_can_act_where_its_quantity_is_known(only_air: SubjectFile) -> None:
    for quantity, acts in (("case_air", True), ("defrost_time", False)):
        limits = tuple(
            replace(each, high=(each.high or 0.0) + 1) if each.quantity == quantity else each
            for each in base().limits
        )
        assert Differing(base(), replace(base(), limits=limits)).can_act(only_air) is acts


def test_a_copy_in_another_folder_says_the_same(warm: SubjectFile, tmp_path: Path) -> None:
    copied = load_rulebase(shutil.copytree(BASE, tmp_path / "copied"))
    assert copied.rules != base().rules  # they stand elsewhere
    assert not Differing(base(), copied).can_act(warm)
    changed = {name: replace(rule, because="So.") for name, rule in copied.rules.items()}
    assert Differing(base(), replace(copied, rules=changed)).can_act(warm)


def test_models_that_differ_anywhere_do_not_say_the_same() -> None:
    rule = base().rules[fan_rule()]
    moved = replace(rule, place=Place("elsewhere", 3), tests=())
    assert says_the_same(rule, moved)
    for other in (
        replace(rule, unless=rule.when),
        replace(rule, evidence_for={**rule.evidence_for, "another": "weak"}),
        replace(rule, when=(*rule.when, *rule.when)),
        replace(rule, applies={"has": ("receiver",)}),
        None,
    ):
        assert not says_the_same(rule, other)


def test_of_what_else_differs_nothing_is_told_beforehand(only_air: SubjectFile) -> None:
    certainty = replace(base().certainty, threshold=0.3)
    assert Differing(base(), replace(base(), certainty=certainty)).can_act(only_air)
    name, cause = next(iter(base().causes.items()))
    causes = {**base().causes, name: replace(cause, title="another title")}
    assert Differing(base(), replace(base(), causes=causes)).can_act(only_air)


def scaled(rules: Rulebase, **changes: object) -> Rulebase:
    return replace(rules, certainty=replace(rules.certainty, **changes))


def test_a_strength_can_act_where_a_rule_that_uses_it_may_fire(
    warm: SubjectFile, only_air: SubjectFile
) -> None:
    used = next(iter(base().rules[fan_rule()].evidence_for.values()))
    other = scaled(base(), strengths={**base().certainty.strengths, used: 0.123})
    assert same_but_scale(base(), other) and same_but_scale(other, base())
    assert Differing(base(), other).can_act(warm)
    assert not Differing(base(), other).can_act(only_air)
    assert not same_but_scale(base(), without(base(), fan_rule()))


@pytest.mark.parametrize(
    "changes",
    [
        {"strengths": {"weak": 0.1, "moderate": 0.7, "strong": 0.72, "conclusive": 0.9}},
        {"threshold": 0.45},
        {"words": ((0.5, "surely"), (0.0, "perhaps"))},
    ],
    ids=["strengths", "threshold", "words"],
)
def test_what_is_made_out_once_for_two_scales_is_what_each_comes_to(
    changes: dict[str, object], tmp_path: Path
) -> None:
    rules = shipped_rules()
    both = rules, scaled(rules, **changes)
    judges = [Judge(JudgedBy(each, partial(load_checklists, tmp_path))) for each in both]
    different = 0
    for path in SCENARIOS if NIGHTLY else SCENARIOS[::40]:
        alone = [judge.judge(FileCase(path)) for judge in judges]
        assert [(each,) for each in judges[0].judge_scales(path, both[1])] == alone, path
        different += alone[0] != alone[1]
    assert different


def test_of_a_file_that_cannot_be_read_nothing_is_told_beforehand(tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text("no_such_name: 3\n")
    case = FileCase(tmp_path / "bad.yaml")
    assert tuple(may_differ([case], base(), base())) == (case,)


def changes(seed: int) -> Iterator[tuple[Rulebase, Rulebase]]:
    """The shipped rulebase without some rules, and with some limits moved; both ways round."""
    chance, rules = random.Random(seed), shipped_rules()
    fewer = without(rules, *chance.sample(list(rules.rules), 8))
    moved = {each.id for each in chance.sample(rules.limits, 4)}
    limits = tuple(
        replace(each, low=each.low and each.low * 1.2, high=each.high and each.high * 0.9)
        if each.id in moved
        else each
        for each in rules.limits
    )
    for other in (fewer, replace(rules, limits=limits)):
        yield rules, other
        yield other, rules


@pytest.mark.parametrize("seed", range(6 if NIGHTLY else 1))
def test_what_is_told_to_be_alike_is_judged_alike(seed: int, tmp_path: Path) -> None:
    files: list[Case] = [FileCase(path) for path in (SCENARIOS if NIGHTLY else SCENARIOS[::80])]
    checklists = partial(load_checklists, tmp_path)
    alike = 0
    for one, other in list(changes(seed)) if NIGHTLY else list(changes(seed))[::3]:
        open_cases = tuple(may_differ(files, one, other))
        judges = [Judge(JudgedBy(rules, checklists)) for rules in (one, other)]
        for case in files:
            if case not in open_cases:
                alike += 1
                assert judges[0].judge(case) == judges[1].judge(case), case
    assert alike > len(files) / 2
