"""The shipped rules: each proves itself and names its source; the trade's sentences come out."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace

import pytest
from budget import NIGHTLY, step
from shipped_knowledge import proven_in_closures

from expert.author.rule_tests import Outcome, evaluator_for, outcome_of, run_rule_tests
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Finding, Reading
from expert.inference.subject_file import accept
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.reader import SOURCE_LABELS
from expert.knowledge.site import Subject
from expert.knowledge.source import Source
from expert.units.kinds import ATMOSPHERE, Kind
from expert.units.measure import Measure

CIRCUIT = Subject(
    "A1", "frozen food", "circuit", "A",
    {"application": "low temperature", "defrost": "hot gas", "refrigerant": "R-449A"},
)  # fmt: skip


@pytest.fixture(scope="module")
def outcomes(shipped_rulebase: Rulebase) -> dict[str, list[Outcome]]:
    """What the tests of each rule came to, on the plain engine: by day each in the rules that it
    can reach, a ninth of the time; test_mutate holds a sample of that against the whole."""
    every = run_rule_tests(shipped_rulebase, "plain") if NIGHTLY else proven_in_closures()
    found: dict[str, list[Outcome]] = {}
    for outcome in every:
        found.setdefault(outcome.rule.id, []).append(outcome)
    return found


def test_every_rule_passes_its_own_tests(outcomes: dict[str, list[Outcome]]) -> None:
    failed = [str(each) for group in outcomes.values() for each in group if not each.passed]
    assert failed == []


def test_every_rule_has_a_test_that_fires_and_one_that_is_silent(
    shipped_rulebase: Rulebase, outcomes: dict[str, list[Outcome]]
) -> None:
    expected = {
        rule: {each.test.expect for each in outcomes.get(rule, ())}
        for rule in shipped_rulebase.rules
    }
    assert [rule for rule, words in expected.items() if not {"fires", "silent"} <= words] == []


def test_the_other_engine_comes_to_the_same_in_the_tests_of_rules(
    shipped_rulebase: Rulebase, outcomes: dict[str, list[Outcome]]
) -> None:
    pytest.importorskip("durable_rules_engine")
    made: dict[object, Evaluator] = {}
    every = [each for group in outcomes.values() for each in group]
    for each in every[:: step(120)]:
        durable = evaluator_for(each.test, shipped_rulebase, "durable", made)
        assert outcome_of(each.rule, each.test, durable) == each.got, str(each)


def test_there_is_as_much_knowledge_as_was_promised(shipped_rulebase: Rulebase) -> None:
    """At least 40 rules and 60 limits about a defrost, and 20 causes."""
    base = shipped_rulebase
    about_defrost = [
        rule
        for rule in base.rules.values()
        if "hot gas" in rule.applies.get("defrost", ("hot gas",))
        and any("defrost" in base.causes[cause].system for cause in rule.evidence_for)
    ]
    assert len(about_defrost) >= 40
    assert len(base.causes) >= 20
    assert len(base.limits) >= 60


def test_every_limit_rule_cause_caution_and_quantity_names_its_source(
    shipped_rulebase: Rulebase,
) -> None:
    base = shipped_rulebase
    told: dict[str, Source] = {
        each.id: each.source
        for group in (
            base.limits, base.rules.values(), base.causes.values(), base.cautions.values(),
            base.quantities.values(), base.gates.values(),
        )
        for each in group
    }  # fmt: skip
    labels = set(SOURCE_LABELS) - {"site"}
    assert {name: str(s) for name, s in told.items() if s.label not in labels} == {}
    unnamed = [name for name, s in told.items() if s.label == "published" and len(s.detail) < 8]
    assert unnamed == []


def test_limits_of_common_practice_say_so_and_are_not_all_of_them(
    shipped_rulebase: Rulebase,
) -> None:
    labels = Counter(limit.source.label for limit in shipped_rulebase.limits)
    assert labels["common practice"] > 0
    assert labels["published"] > 0
    for limit in shipped_rulebase.limits:
        assert str(limit.source).startswith(limit.source.label)


def test_a_number_that_is_measured_has_the_accuracy_of_its_instrument(
    shipped_rulebase: Rulebase,
) -> None:
    """Without one a reading would count as exact, and nothing as too close to call.

    What is read off a log, a plate or a display's record is as exact as it is written there.
    """
    records = ("log", "eyes", "display", "papers", "sheet", "plate", "calendar")
    bare = [
        quantity.id
        for quantity in shipped_rulebase.quantities.values()
        if quantity.kind not in (Kind.CHOICE, Kind.TEXT, Kind.COUNT)
        and not quantity.given
        and quantity.derivation is None
        and not quantity.accuracy
        and not any(word in quantity.instrument for word in records)
    ]
    assert bare == []


def test_every_cause_can_be_found_and_says_how_to_be_sure_and_what_to_do(
    shipped_rulebase: Rulebase,
) -> None:
    base = shipped_rulebase
    supported = {cause for rule in base.rules.values() for cause in rule.evidence_for}
    effects = {effect for cause in base.causes.values() for effect in cause.leads_to}
    assert sorted(set(base.causes) - supported - effects) == []
    for cause in base.causes.values():
        assert cause.confirm, cause.id
        assert any(remedy.text for remedy in cause.remedy), cause.id


def test_titles_fit_a_narrow_screen(shipped_rulebase: Rulebase) -> None:
    titles = [quantity.title for quantity in shipped_rulebase.quantities.values()]
    assert [title for title in titles if len(title) > 45] == []


def evaluate(base: Rulebase, **told: str) -> Evaluation:
    readings = [accept(base.quantities[name], text, ATMOSPHERE) for name, text in told.items()]
    return Evaluator(base, CIRCUIT, backend="plain").evaluate(readings)


def first(base: Rulebase, **told: str) -> Finding:
    findings = evaluate(base, **told).findings
    assert findings, "nothing was found"
    return findings[0]


@pytest.mark.parametrize(("record", "known"), [("3.3 F", False), ("0.5 F", True), ("6 F", True)])
def test_a_number_too_close_to_call_leaves_a_state_open(
    shipped_rulebase: Rulebase, record: str, known: bool
) -> None:
    """Else a coarser way to know it would say normal where the finer one nearly says high."""
    told = {"condensing_above_record": record, "outdoor_temperature": "80 F",
            "condenser_temperature_difference": "13 F",
            "design_condenser_difference": "14 F"}  # fmt: skip
    evaluator = Evaluator(shipped_rulebase, CIRCUIT, backend="plain")
    readings = [
        accept(shipped_rulebase.quantities[name], text, ATMOSPHERE) for name, text in told.items()
    ]
    facts, _ = evaluator.facts(readings)
    evaluator.run(facts)
    assert ("head" in evaluator.influences(facts).seen) is known


# The sentences of the trade, each from bare readings. Source: common practice.


def test_a_differential_that_is_too_low_gives_a_slow_defrost(shipped_rulebase: Rulebase) -> None:
    finding = first(
        shipped_rulebase, hot_gas_header_pressure="198 psig", liquid_header_pressure="190 psig",
        hot_gas_valve="open", master_hot_gas_solenoid="open", defrost_clearing_time="24 min",
    )  # fmt: skip
    assert finding.cause.id == "defrost-differential-set-low"
    assert finding.certainty >= 0.7
    told = " ".join(finding.because)
    assert "Defrost differential 8.0 psi" in told
    assert "normal here is 15.0 to 23.0 psi (common practice)" in told
    assert "24.0 min" in told


def test_a_drier_with_too_much_pressure_drop_is_to_be_changed(shipped_rulebase: Rulebase) -> None:
    finding = first(
        shipped_rulebase, drier_inlet_pressure="190 psig", drier_outlet_pressure="180 psig"
    )
    assert finding.cause.id == "drier-restricted"
    assert "10.0 psi" in " ".join(finding.because)
    assert "core" in " ".join((*finding.do, *(r.text for r in finding.cause.remedy))).lower()


def test_a_low_receiver_together_with_bubbles_points_to_undercharge(
    shipped_rulebase: Rulebase,
) -> None:
    finding = first(shipped_rulebase, receiver_level="8 %", sight_glass="bubbles")
    assert finding.cause.id == "undercharge"
    told = " ".join(finding.because)
    assert "Receiver level 8 %" in told
    assert "bubbles" in told


@pytest.mark.parametrize(
    "told",
    [
        {"hot_gas_header_pressure": "206 psig", "liquid_header_pressure": "189 psig",
         "hot_gas_valve": "open", "master_hot_gas_solenoid": "open",
         "defrost_clearing_time": "13 min"},
        {"drier_inlet_pressure": "190 psig", "drier_outlet_pressure": "189.5 psig"},
        {"receiver_level": "40 %", "sight_glass": "clear"},
    ],
    ids=["differential", "drier", "receiver"],
)  # fmt: skip
def test_the_healthy_counterpart_finds_nothing(
    shipped_rulebase: Rulebase, told: dict[str, str]
) -> None:
    found = [f"{f.cause.id} {f.certainty}" for f in evaluate(shipped_rulebase, **told).findings]
    assert found == []


def test_nothing_is_found_where_nothing_was_read(shipped_rulebase: Rulebase) -> None:
    evaluation = evaluate(shipped_rulebase)
    assert evaluation.findings == ()
    assert evaluation.fired == ()


def some_readings(base: Rulebase, seed: int) -> list[Reading]:
    """Readings of a good part of the dictionary, numbers within what is not refused."""
    draw = random.Random(seed)
    readings = []
    for quantity in base.quantities.values():
        if quantity.given or quantity.kind is Kind.TEXT or draw.random() < 0.5:
            continue
        value: Measure | str
        if quantity.is_choice:
            value = draw.choice(list(quantity.choices))
        elif quantity.derivation is not None:
            continue
        else:
            value = Measure(quantity.kind, _number(quantity, draw), quantity.accuracy)
        readings.append(Reading(quantity.id, value, str(value)))
    return readings


def _number(quantity: Quantity, draw: random.Random) -> float:
    low = quantity.unusual_below if quantity.unusual_below is not None else quantity.refuse_below
    high = quantity.unusual_above if quantity.unusual_above is not None else quantity.refuse_above
    return draw.uniform(low if low is not None else 0.0, high if high is not None else 1000.0)


@pytest.mark.parametrize("seed", range(12)[:: step(3)])
def test_both_engines_come_to_the_same_on_the_shipped_rules_in_any_order_of_readings(
    shipped_rulebase: Rulebase, seed: int
) -> None:
    pytest.importorskip("durable_rules_engine")
    readings = some_readings(shipped_rulebase, seed)
    plain = Evaluator(shipped_rulebase, CIRCUIT, backend="plain").evaluate(readings)
    random.Random(seed).shuffle(readings)
    durable = Evaluator(shipped_rulebase, CIRCUIT, backend="durable").evaluate(readings)
    assert plain.fired
    assert [plain.fired, plain.findings] == [durable.fired, durable.findings]
    assert plain.measure_next == durable.measure_next
    assert plain.cannot_judge == durable.cannot_judge
    assert dict(plain.states) == dict(durable.states)


@pytest.fixture(scope="module")
def without_exceptions(shipped_rulebase: Rulebase) -> Evaluator:
    """The shipped rules without their exceptions and without reasons not to judge a limit.

    (Both are ways in which not knowing lets a rule fire; they are shown as open.)
    """
    base = replace(
        shipped_rulebase,
        rules={
            name: replace(rule, unless=())
            for name, rule in shipped_rulebase.rules.items()
            if "not known" not in str(rule.when) and "too close" not in str(rule.when)
        },
        limits=tuple(replace(limit, cannot_judge_when=()) for limit in shipped_rulebase.limits),
    )
    return Evaluator(base, CIRCUIT, backend="plain")


@pytest.mark.parametrize("seed", range(6)[:: step(3)])
def test_wider_uncertainty_fires_no_rule_that_has_no_exception(
    without_exceptions: Evaluator, seed: int
) -> None:
    sharp = some_readings(without_exceptions.rulebase, seed)
    wide = [
        replace(r, value=replace(r.value, plus_minus=3 * (r.value.plus_minus or 0.0)))
        if isinstance(r.value, Measure)
        else r
        for r in sharp
    ]
    fired = set(without_exceptions.evaluate(sharp).fired)
    assert set(without_exceptions.evaluate(wide).fired) <= fired
