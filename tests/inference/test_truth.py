"""Conditions on readings are true, false or unknown; a number is judged over its whole interval."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.errors import Place
from expert.inference.evaluation_model import Known, Reading
from expert.inference.kleene import Truth
from expert.inference.truth import Facts, limit_for
from expert.knowledge.conditions import (
    Compare,
    Condition,
    Course,
    Group,
    HasSign,
    InStage,
    Is,
    Over,
    Term,
)
from expert.knowledge.grammar import parse_condition
from expert.knowledge.model import Limit, Quantity
from expert.knowledge.plants import applies_to
from expert.knowledge.site import Subject
from expert.knowledge.source import Source
from expert.units.kinds import Kind
from expert.units.measure import Measure

MEMORY = Source("from memory")
QUANTITIES = {
    name: Quantity(name, name, "circuit", Kind.DURATION, MEMORY) for name in ("a", "b", "c")
} | {
    "valve": Quantity(
        "valve", "valve", "circuit", Kind.CHOICE, MEMORY, choices={"open": "", "shut": ""}
    )
}
LIMIT = Limit("a-limit", "a", MEMORY, low=15.0, high=20.0, very_low=10.0, very_high=30.0)
STATES = ("very low", "low", "normal", "high", "very high")


def facts(
    limits: Mapping[str, Limit] | None = None,
    signs: Mapping[str, Truth] | None = None,
    **values: tuple[float, float] | str,
) -> Facts:
    known = {}
    for name, value in values.items():
        taken = value if isinstance(value, str) else Measure(Kind.DURATION, *value)
        known[name] = Known(QUANTITIES[name], taken, (Reading(name, taken),))
    return Facts(known, QUANTITIES, {"a": LIMIT} if limits is None else limits, dict(signs or {}))


def condition(text: str) -> Condition:
    return parse_condition(text, Place(""))


@pytest.mark.parametrize(
    ("value", "spread", "state"),
    [
        (5, 1, "very low"), (9.9, 0, "very low"), (10, 0, "low"), (12, 1, "low"),
        (9.5, 1, "low"), (15, 0, "normal"), (17, 2, "normal"), (20, 0, "normal"),
        (25, 1, "high"), (29.5, 1, "high"), (30, 0, "high"), (35, 1, "very high"),
        (14.5, 1, "too close to call"), (20.5, 1, "too close to call"),
        (17, 5, "too close to call"),
    ],
)  # fmt: skip
def test_a_number_is_called_by_the_narrowest_band_its_whole_interval_lies_in(
    value: float, spread: float, state: str
) -> None:
    assert facts(a=(value, spread)).state("a").word == state


@pytest.mark.parametrize(
    ("text", "truth"),
    [
        ("a is low", True), ("a is very low", None), ("a is normal", False), ("a is high", False),
        ("a is not low", False), ("a is not very low", None), ("a is known", True),
        ("a is too close to call", False), ("a is not normal", True),
    ],
)  # fmt: skip
def test_low_holds_for_very_low_too_and_very_low_may_be_open(text: str, truth: Truth) -> None:
    assert facts(a=(10.5, 1)).holds(condition(text)) is truth


@pytest.mark.parametrize("text", [f"a is {state}" for state in STATES])
def test_nothing_is_said_of_a_quantity_that_was_not_read(text: str) -> None:
    assert facts().holds(condition(text)) is None
    assert facts().holds(condition(text.replace("is", "is not"))) is None


@pytest.mark.parametrize("text", [*(f"a is {state}" for state in STATES), "a is too close to call"])
def test_nothing_is_said_of_a_quantity_without_a_limit(text: str) -> None:
    bare = facts(limits={}, a=(5, 1))
    assert bare.holds(condition(text)) is None
    assert bare.holds(condition(text.replace("is", "is not"))) is None
    assert bare.state("a").word == "unknown"


def test_whether_something_is_known_is_always_known() -> None:
    assert facts().holds(condition("a is known")) is False
    assert facts().holds(condition("a is not known")) is True


def test_a_choice_is_what_was_chosen_and_nothing_else() -> None:
    assert facts(valve="open").holds(condition("valve is open")) is True
    assert facts(valve="open").holds(condition("valve is shut")) is False
    assert facts(valve="open").holds(condition("valve is not shut")) is True
    assert facts().holds(condition("valve is not shut")) is None


@pytest.mark.parametrize("sign", [True, False, None])
def test_a_sign_is_what_was_settled(sign: Truth) -> None:
    told = facts(signs={"s": sign})
    assert told.holds(HasSign("s")) is sign
    assert told.holds(HasSign("s", negated=True)) is {True: False, False: True, None: None}[sign]


def test_a_sign_that_is_not_settled_is_unknown_either_way() -> None:
    assert facts().holds(HasSign("s")) is None
    assert facts().holds(HasSign("s", negated=True)) is None


BLOCKED = replace(LIMIT, cannot_judge_when=(Is("valve", "shut"),))


@pytest.mark.parametrize("text", [*(f"a is {state}" for state in STATES), "a is too close to call"])
def test_nothing_is_said_of_a_number_that_cannot_be_judged(text: str) -> None:
    told = facts(limits={"a": BLOCKED}, a=(5, 1), valve="shut")
    assert told.holds(condition(text)) is None
    assert told.holds(condition(text.replace("is", "is not"))) is None
    assert told.state("a").word == "cannot judge"
    assert told.state("a").why == "valve is shut"


def test_a_reason_not_to_judge_blocks_only_when_it_is_known_to_hold() -> None:
    assert facts(limits={"a": BLOCKED}, a=(5, 1)).holds(condition("a is low")) is True
    assert facts(limits={"a": BLOCKED}, a=(5, 1), valve="open").state("a").word == "very low"


@pytest.mark.parametrize(
    ("text", "truth"),
    [
        ("a > b", True), ("a >= b", True), ("a < b", False), ("a > b + 3 s", None),
        ("a > b + 9 s", False), ("a - b > 1 s", True), ("b - a < -1 s", True), ("a > c", None),
    ],
)  # fmt: skip
def test_a_comparison_counts_both_uncertainties(text: str, truth: Truth) -> None:
    # 14 +/- 0.6 against 10 +/- 0.8: the difference is 4 +/- 1 (root of the sum of squares).
    told = facts(a=(14, 0.6), b=(10, 0.8))
    parsed = condition(text)
    assert isinstance(parsed, Compare)
    assert told.holds(_in_seconds(parsed)) is truth


def test_a_comparison_of_equal_exact_numbers_holds_only_with_equality() -> None:
    told = facts(a=(14, 0), b=(14, 0))
    assert [told.holds(condition(f"a {op} b")) for op in (">", ">=", "<", "<=")] == [
        False, True, False, True,
    ]  # fmt: skip


def _in_seconds(compare: Compare) -> Compare:
    def converted(term: Term) -> Term:
        return replace(term, value=float(term.measure.split()[0]) if term.measure else 0.0)

    return replace(
        compare,
        left=tuple(map(converted, compare.left)),
        right=tuple(map(converted, compare.right)),
    )


@pytest.mark.parametrize(
    ("stages", "truth"),
    [({}, None), ({"as found": facts(a=(5, 1))}, True), ({"as found": facts(a=(17, 1))}, False),
     ({"as found": facts()}, None)],
)  # fmt: skip
def test_a_stage_that_was_not_measured_is_unknown(stages: dict[str, Facts], truth: Truth) -> None:
    told = facts(a=(17, 1))
    told.stages = stages
    assert told.holds(InStage("as found", (Is("a", "low"),))) is truth


@pytest.mark.parametrize(
    ("count", "at_least", "lows", "truth"),
    [
        ("every", 0, (True, True), True), ("every", 0, (True, None), None),
        ("every", 0, (True, False, None), False), ("no", 0, (False, False), True),
        ("no", 0, (False, None), None), ("no", 0, (True, None), False),
        ("most", 0, (True, True, None), True), ("most", 0, (True, None, None), None),
        ("most", 0, (True, False), False), ("most", 0, (False, False, None), False),
        ("any", 0, (False, None), None), ("any", 0, (True, None), True),
        ("at least", 2, (True, True, False), True), ("at least", 2, (True, None, False), None),
        ("at least", 3, (True, True), False), ("every", 0, (), None), ("no", 0, (), None),
    ],
)  # fmt: skip
def test_a_circuit_that_was_not_measured_is_neither_well_nor_ill(
    count: str, at_least: int, lows: tuple[Truth, ...], truth: Truth
) -> None:
    readings = {True: {"a": (5.0, 1.0)}, False: {"a": (17.0, 1.0)}, None: {}}
    told = facts()
    told.members = {"circuit": tuple(facts(**readings[low]) for low in lows)}  # type: ignore[arg-type]
    assert told.holds(Over(count, "circuit", (Is("a", "low"),), at_least)) is truth


def test_a_limit_for_certain_applications_is_not_for_a_subject_whose_facts_are_not_known() -> None:
    subject = Subject("x", "x", "circuit", "", {"application": "low temperature"}, has=("reclaim",))
    assert applies_to({"application": ("low temperature", "medium temperature")}, subject)
    assert applies_to({}, subject)
    assert applies_to({"has": ("reclaim", "other")}, subject)
    assert not applies_to({"defrost": ("hot gas",)}, subject)
    assert not applies_to({"application": ("medium temperature",)}, subject)


def test_the_site_wins_over_the_rulebase_and_the_narrower_limit_over_the_general() -> None:
    general = Limit("general", "a", MEMORY, low=1.0)
    narrow = Limit("narrow", "a", MEMORY, low=2.0, applies={"defrost": ("hot gas",)})
    other = Limit("other", "a", MEMORY, low=3.0, applies={"defrost": ("electric",)})
    hot_gas = Subject("x", "x", "circuit", "", {"defrost": "hot gas"})
    own = Limit("own", "a", Source("site"), low=4.0)
    limits = (general, narrow, other)
    assert limit_for("a", limits, hot_gas) is narrow
    assert limit_for("a", limits, replace(hot_gas, facts={})) is general
    assert limit_for("a", limits, replace(hot_gas, limits=(own,))) is own
    assert limit_for("b", limits, hot_gas) is None


SECONDS = st.floats(0, 40).map(lambda x: round(x, 2))
SPREADS = st.floats(0, 8).map(lambda x: round(x, 2))
EDGES = st.lists(SECONDS, min_size=4, max_size=4, unique=True).map(sorted)
LIMITS = st.builds(
    lambda edges, low, high: Limit(
        "l", "a", MEMORY,
        very_low=edges[0] if low > 1 else None, low=edges[1] if low else None,
        high=edges[2] if high else None, very_high=edges[3] if high > 1 else None,
    ),
    EDGES, st.integers(0, 2), st.integers(0, 2),
).filter(lambda limit: limit.low is not None or limit.high is not None)  # fmt: skip
JUDGED = st.builds(Is, st.just("a"), st.sampled_from(STATES), st.booleans())
COMPARED = st.builds(
    lambda operator, typed: Compare(
        (Term(1, "a"),), (Term(1, "b"), Term(1, measure=f"{typed} s", value=typed)), operator, ""
    ),
    st.sampled_from([">", ">=", "<", "<="]), st.floats(-20, 20),
)  # fmt: skip
CHOSEN = st.builds(Is, st.just("valve"), st.sampled_from(["open", "shut"]), st.booleans())
SIGNED = st.builds(HasSign, st.just("s"), st.booleans())
CONDITIONS = st.recursive(
    JUDGED | COMPARED | CHOSEN | SIGNED,
    lambda inner: st.lists(inner, min_size=1, max_size=3).flatmap(
        lambda members: st.builds(Group, st.integers(1, len(members)), st.just(tuple(members)))
    ),
    max_leaves=6,
)


@given(CONDITIONS, LIMITS, SECONDS, SECONDS, SPREADS, SPREADS, SPREADS, SPREADS)
@settings(max_examples=examples(500), deadline=None)
def test_a_wider_uncertainty_only_ever_makes_an_answer_unknown(
    asked: Condition, limit: Limit, a: float, b: float,
    spread_a: float, spread_b: float, more_a: float, more_b: float,
) -> None:  # fmt: skip
    signs: dict[str, Truth] = {"s": True}
    sharp = facts({"a": limit}, signs, a=(a, spread_a), b=(b, spread_b), valve="open")
    wide = facts(
        {"a": limit}, signs, a=(a, spread_a + more_a), b=(b, spread_b + more_b), valve="open"
    )
    assert wide.holds(asked) in (sharp.holds(asked), None)


@given(LIMITS, JUDGED, SECONDS, SPREADS, st.floats(-1, 1))
@settings(max_examples=examples(500), deadline=None)
def test_a_certain_answer_holds_for_every_point_of_the_interval(
    limit: Limit, asked: Is, value: float, spread: float, position: float
) -> None:
    told = facts({"a": limit}, a=(value, spread)).holds(asked)
    point = facts({"a": limit}, a=(value + position * spread * 0.999999, 0.0)).holds(asked)
    assert point is not None
    assert told in (point, None)


@given(CONDITIONS, LIMITS, SECONDS, SECONDS, SPREADS, st.sets(st.sampled_from("abvs"), min_size=1))
@settings(max_examples=examples(500), deadline=None)
def test_a_missing_reading_only_ever_makes_an_answer_unknown(
    asked: Condition, limit: Limit, a: float, b: float, spread: float, missing: set[str]
) -> None:
    values: dict[str, tuple[float, float] | str] = {
        "a": (a, spread), "b": (b, spread), "valve": "open",
    }  # fmt: skip
    whole = facts({"a": limit}, {"s": True}, **values)
    fewer = {name: value for name, value in values.items() if name[0] not in missing}
    part = facts({"a": limit}, {} if "s" in missing else {"s": True}, **fewer)
    assert part.holds(asked) in (whole.holds(asked), None)


@given(CONDITIONS, LIMITS)
@settings(max_examples=examples(200), deadline=None)
def test_nothing_holds_where_nothing_is_known(asked: Condition, limit: Limit) -> None:
    assert facts({"a": limit}).holds(asked) is None


SAMPLES = st.lists(st.tuples(st.integers(0, 30), st.floats(0, 40)), max_size=5)
COURSES = st.one_of(
    st.builds(
        lambda verb, value, within: Course(
            "a", verb, "", value=value, seconds=float(within) if within else None
        ),
        st.sampled_from(["rises", "falls"]), st.none() | st.floats(0, 20),
        st.none() | st.integers(1, 20),
    ),
    st.builds(
        lambda value, before: Course("a", "reaches", "", value=value, seconds=before),
        st.floats(0, 40), st.none() | st.floats(1, 30),
    ),
    st.builds(
        lambda value, time: Course("a", "holds", "", value=value, seconds=time),
        st.floats(0, 20), st.floats(1, 20),
    ),
)  # fmt: skip


def course_facts(samples: list[tuple[int, float]], spread: float) -> Facts:
    readings = tuple(
        Reading("a", Measure(Kind.DURATION, value, spread), seconds=float(at))
        for at, value in sorted(samples)
    )
    known = {"a": Known(QUANTITIES["a"], readings[-1].value, readings)} if readings else {}
    return Facts(known, QUANTITIES, {})


@given(COURSES, SAMPLES, SPREADS, SPREADS)
@settings(max_examples=examples(500), deadline=None)
def test_a_wider_uncertainty_only_ever_makes_a_course_unknown(
    course: Course, samples: list[tuple[int, float]], spread: float, more: float
) -> None:
    sharp = course_facts(samples, spread).holds(course)
    assert course_facts(samples, spread + more).holds(course) in (sharp, None)


@given(COURSES)
def test_a_course_of_nothing_or_of_one_change_is_unknown(course: Course) -> None:
    assert course_facts([], 0.0).holds(course) is None
    if course.verb in ("rises", "falls", "holds"):
        assert course_facts([(1, 10.0)], 0.0).holds(course) is None
