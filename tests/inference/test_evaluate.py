"""From readings to findings on the tiny rulebase: reasons, what is open, what cannot be judged."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tiny_rulebase import LoadTiny

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Finding, Reading
from expert.inference.subject_file import accept
from expert.knowledge.model import Limit, Rulebase
from expert.knowledge.site import Subject
from expert.knowledge.source import Source
from expert.units.kinds import ATMOSPHERE

SLOW_AND_LOW = {
    "upper_pressure": "198 psig",
    "lower_pressure": "190 psig",
    "clearing_time": "24 min",
}


def readings(base: Rulebase, told: dict[str, str]) -> list[Reading]:
    return [accept(base.quantities[name], text, ATMOSPHERE) for name, text in told.items()]


def evaluate(base: Rulebase, subject: Subject, **told: str) -> Evaluation:
    return Evaluator(base, subject, backend="plain").evaluate(readings(base, told))


def only(evaluation: Evaluation) -> Finding:
    (finding,) = evaluation.findings
    return finding


def test_a_finding_comes_out_of_bare_readings_through_a_derived_value_and_a_sign(
    tiny: Rulebase, circuit: Subject
) -> None:
    evaluation = evaluate(tiny, circuit, **SLOW_AND_LOW)
    assert evaluation.fired == ("low-and-slow", "slow-by-the-clock")
    finding = only(evaluation)
    assert finding.cause.id == "set-low"
    assert finding.certainty == 0.75
    assert finding.words == "likely"


def test_the_chain_of_reasons_names_readings_limits_and_sources_from_the_bottom_up(
    tiny: Rulebase, circuit: Subject
) -> None:
    assert only(evaluate(tiny, circuit, **SLOW_AND_LOW)).because == (
        "Clearing time 24.0 min +/- 1.0 is high; normal here is at most 18.0 min "
        "(common practice).",
        "It took too long.",
        "Differential 8.0 psi +/- 1.4, from upper pressure 198.0 psig +/- 1.0 and lower pressure "
        "190.0 psig +/- 1.0, is low; normal here is 15.0 to 20.0 psi (common practice).",
        "Little push is a slow defrost.",
    )


def test_the_sentences_are_told_in_the_unit_system_that_was_asked_for(
    tiny: Rulebase, circuit: Subject
) -> None:
    evaluator = Evaluator(tiny, circuit, system="si", backend="plain")
    told = evaluator.evaluate(readings(tiny, SLOW_AND_LOW)).findings[0].because
    assert "Differential 0.55 bar +/- 0.10" in told[2]
    assert "psi" not in " ".join(told)


def test_an_unknown_exception_does_not_stop_a_rule_and_is_shown_as_open(
    tiny: Rulebase, circuit: Subject
) -> None:
    # 'valve is half open' would stop slow-by-the-clock, which concludes the sign that is used;
    # 'valve is shut' would block the limit of the differential.
    assert only(evaluate(tiny, circuit, **SLOW_AND_LOW)).open == (
        "valve is shut", "valve is half open",
    )  # fmt: skip
    assert only(evaluate(tiny, circuit, valve="open", **SLOW_AND_LOW)).open == ()


def test_an_exception_that_is_known_to_hold_stops_the_rule(
    tiny: Rulebase, circuit: Subject
) -> None:
    assert evaluate(tiny, circuit, valve="half open", **SLOW_AND_LOW).fired == ()


def test_a_number_that_may_not_be_judged_is_told_with_the_reason(
    tiny: Rulebase, circuit: Subject
) -> None:
    evaluation = evaluate(tiny, circuit, valve="shut", **SLOW_AND_LOW)
    assert evaluation.findings == ()
    (missing,) = evaluation.cannot_judge
    assert (missing.quantity, missing.why) == ("differential", "valve is shut")


def test_a_number_too_close_to_its_limit_is_told_and_fires_nothing(
    tiny: Rulebase, circuit: Subject
) -> None:
    evaluation = evaluate(tiny, circuit, differential="14.5 psi", clearing_time="24 min")
    assert "low-and-slow" not in evaluation.fired
    assert evaluation.states["differential"].word == "too close to call"
    assert [m.why for m in evaluation.cannot_judge if m.quantity == "differential"] == [
        "14.5 psi +/- 1.4 lies within its own uncertainty of a limit"
    ]


def test_a_limit_that_depends_on_a_fact_that_is_not_given_is_told(
    tiny: Rulebase, circuit: Subject
) -> None:
    bare = replace(circuit, facts={"refrigerant": "R-449A"})
    evaluation = evaluate(tiny, bare, clearing_time="24 min")
    assert [(m.quantity, m.why) for m in evaluation.cannot_judge] == [
        ("clearing_time", "its limit depends on: application; not given")
    ]


def test_nothing_read_is_nothing_found_and_nothing_normal(tiny: Rulebase, circuit: Subject) -> None:
    evaluation = evaluate(tiny, circuit)
    assert evaluation.findings == ()
    assert evaluation.states == {}
    assert evaluation.fired == ()


def test_a_limit_of_the_site_wins_and_is_named(tiny: Rulebase, circuit: Subject) -> None:
    psi = 6894.757293168
    own = Limit("own", "differential", Source("site", "legend"), low=5 * psi, high=9 * psi)
    evaluation = evaluate(tiny, replace(circuit, limits=(own,)), **SLOW_AND_LOW)
    assert "low-and-slow" not in evaluation.fired
    assert evaluation.states["differential"].limit == own


def test_evidence_against_is_counted_and_shown(tiny: Rulebase, circuit: Subject) -> None:
    evaluation = evaluate(tiny, circuit, rise="2 F", **SLOW_AND_LOW)
    finding = evaluation.findings[0]
    # strong for, weak against: (0.75 - 0.3) / (1 - 0.3), the mixed case of EMYCIN
    assert finding.certainty == pytest.approx(0.45 / 0.7, abs=1e-4)
    assert [step.rule.id for step in finding.against] == ["cold-line"]


def test_an_effect_stands_under_the_cause_that_explains_it(
    tiny: Rulebase, circuit: Subject
) -> None:
    evaluation = evaluate(tiny, circuit, rise="2 F", **SLOW_AND_LOW)
    assert [finding.cause.id for finding in evaluation.findings] == ["set-low"]
    assert [effect.cause.id for effect in evaluation.findings[0].effects] == ["left-iced"]


def test_an_effect_without_its_cause_stands_alone(tiny: Rulebase, circuit: Subject) -> None:
    evaluation = evaluate(tiny, circuit, rise="2 F", clearing_time="24 min")
    assert [finding.cause.id for finding in evaluation.findings] == ["left-iced"]


def test_a_cause_below_the_threshold_is_not_shown(load_tiny: LoadTiny, circuit: Subject) -> None:
    base = load_tiny("strong: 0.75}", "strong: 0.19}")
    evaluation = evaluate(base, circuit, **SLOW_AND_LOW)
    assert "low-and-slow" in evaluation.fired
    assert evaluation.findings == ()


def test_the_absence_of_a_sign_counts_only_when_it_is_settled(
    load_tiny: LoadTiny, circuit: Subject
) -> None:
    base = load_tiny(
        "when: [rise is low]\n    unless: [not slow]", "when: [rise is low, not slow]",
        "{rise: 2 F, slow: yes}, expect: fires", "{rise: 2 F, slow: no}, expect: fires",
    )  # fmt: skip
    assert evaluate(base, circuit, rise="2 F").fired == ()
    assert evaluate(base, circuit, rise="2 F", clearing_time="10 min").fired == ("cold-line",)
    assert evaluate(base, circuit, rise="2 F", clearing_time="24 min").fired == (
        "slow-by-the-clock",
    )


def test_a_rule_for_another_application_does_not_fire(
    load_tiny: LoadTiny, circuit: Subject
) -> None:
    base = load_tiny(
        "    concludes: [slow]", "    concludes: [slow]\n    applies: {defrost: electric}"
    )
    assert evaluate(base, circuit, clearing_time="24 min").fired == ()


def test_a_rule_bound_to_an_application_does_not_fire_where_that_is_not_known(
    load_tiny: LoadTiny, circuit: Subject
) -> None:
    base = load_tiny(
        "    concludes: [slow]", "    concludes: [slow]\n    applies: {defrost: hot gas}"
    )
    unknown = replace(circuit, facts={"application": "low temperature"})
    assert evaluate(base, unknown, clearing_time="24 min").fired == ()


def test_the_next_reading_is_asked_for_through_the_sign_a_rule_waits_for(
    tiny: Rulebase, circuit: Subject
) -> None:
    evaluation = evaluate(tiny, circuit, differential="8 psi")
    asked = {each.quantity.id: each.why for each in evaluation.measure_next}
    assert asked["clearing_time"] == "It would speak for or against 'Regulator set too low'."


def test_a_derived_value_is_asked_for_by_its_readings(tiny: Rulebase, circuit: Subject) -> None:
    evaluation = evaluate(tiny, circuit, clearing_time="24 min", upper_pressure="198 psig")
    asked = [each.quantity.id for each in evaluation.measure_next]
    assert "lower_pressure" in asked
    assert "differential" not in asked
    assert "upper_pressure" not in asked


def test_a_setting_that_the_site_file_lacks_is_asked_as_found(
    load_tiny: LoadTiny, circuit: Subject
) -> None:
    base = load_tiny("when: [rise is low]", "when: [line_temperature > setting]")
    asked = [each.quantity.id for each in evaluate(base, circuit).measure_next]
    assert "line_temperature" in asked
    assert "setting" in asked


def test_a_reading_with_less_effort_and_hazard_is_asked_for_first(
    tiny: Rulebase, circuit: Subject
) -> None:
    evaluation = evaluate(tiny, circuit, clearing_time="24 min")
    asked = [each.quantity.id for each in evaluation.measure_next]
    assert asked.index("lower_pressure") < asked.index("upper_pressure")


def test_an_unknown_exception_of_a_rule_that_fired_is_worth_a_reading(
    tiny: Rulebase, circuit: Subject
) -> None:
    rule = replace(
        tiny.rules["low-and-slow"],
        when=tiny.rules["low-and-slow"].when[:1],
        unless=tiny.rules["slow-by-the-clock"].unless,
    )
    base = replace(tiny, rules={rule.id: rule})
    evaluation = evaluate(base, circuit, differential="8 psi")
    assert evaluation.fired == ("low-and-slow",)
    assert [each.quantity.id for each in evaluation.measure_next] == ["valve"]
