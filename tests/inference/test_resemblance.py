"""How a plant looks brings a cause forward and asks what tells it; it proves nothing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation
from expert.inference.resemblance import OF_ALL, Resemblance
from expert.inference.subject_file import accept
from expert.knowledge.conditions import NOWHERE
from expert.knowledge.likeness_model import Likeness, UsualWords
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.knowledge.source import Source
from expert.units.kinds import ATMOSPHERE

MEMORY = Source("from memory")
USUAL = {
    "valve": {"open": 0.5, "shut": 0.25, "half open": 0.25},
    "clearing_time": {"high": 0.5, "normal": 0.5},
}
LOOKS = {"set-low": {"valve": {"open": 0.9}, "clearing_time": {"high": 0.9}}}


def with_looks(tiny: Rulebase, looks: dict[str, dict[str, dict[str, float]]] = LOOKS) -> Rulebase:
    """Both causes are open, and what plants look like that have them is known."""
    causes = {name: replace(cause, leads_to=()) for name, cause in tiny.causes.items()}
    return replace(
        tiny, causes=causes,
        likenesses={name: Likeness(name, shows, MEMORY, NOWHERE) for name, shows in looks.items()},
        usual_words={name: UsualWords(name, shows, MEMORY) for name, shows in USUAL.items()},
    )  # fmt: skip


def evaluated(base: Rulebase, circuit: Subject, **told: str) -> Evaluation:
    readings = [accept(base.quantities[name], text, ATMOSPHERE) for name, text in told.items()]
    return Evaluator(base, circuit, backend="plain").evaluate(readings)


def times(base: Rulebase, circuit: Subject, **told: str) -> dict[str, float]:
    readings = [accept(base.quantities[name], text, ATMOSPHERE) for name, text in told.items()]
    facts, _ = Evaluator(base, circuit, backend="plain").facts(readings)
    return Resemblance(base).times_as_likely(facts)


def test_a_word_counts_by_how_much_oftener_the_cause_shows_it(
    tiny: Rulebase, circuit: Subject
) -> None:
    base = with_looks(tiny)
    assert times(base, circuit) == {"set-low": 1.0}
    assert times(base, circuit, valve="open")["set-low"] == pytest.approx((0.9 / 0.5) ** OF_ALL)
    # what is not said of a cause has the rest, parted as usual: 0.1 halved
    assert times(base, circuit, valve="shut")["set-low"] == pytest.approx((0.05 / 0.25) ** OF_ALL)


def test_words_count_together_and_very_high_is_high(tiny: Rulebase, circuit: Subject) -> None:
    base = with_looks(tiny)
    both = times(base, circuit, valve="open", clearing_time="40 min")["set-low"]
    assert both == pytest.approx((0.9 / 0.5 * 0.9 / 0.5) ** OF_ALL)


def test_what_is_too_close_to_call_or_not_known_says_nothing(
    tiny: Rulebase, circuit: Subject
) -> None:
    assert times(with_looks(tiny), circuit, clearing_time="18.4 min")["set-low"] == 1.0


def test_it_brings_a_cause_forward_and_finds_none(tiny: Rulebase, circuit: Subject) -> None:
    def first(looks: dict[str, dict[str, dict[str, float]]]) -> tuple[str, tuple[str, ...]]:
        found = evaluated(with_looks(tiny, looks), circuit, valve="open")
        assert found.findings == ()
        likeliest = found.suspects()[0]
        return likeliest.cause.id, likeliest.looks

    assert first({"set-low": {"valve": {"open": 0.95}}}) == ("set-low", ("valve",))
    assert first({"left-iced": {"valve": {"open": 0.95}}}) == ("left-iced", ("valve",))


def test_shares_of_what_is_open_leave_some_for_none_of_them(
    tiny: Rulebase, circuit: Subject
) -> None:
    suspects = evaluated(with_looks(tiny), circuit, valve="open").suspects()
    assert {each.cause.id for each in suspects} == {"set-low", "left-iced"}
    assert 0.8 < sum(each.share for each in suspects) < 1


def test_the_reading_that_causes_show_differently_is_asked_first(
    tiny: Rulebase, circuit: Subject
) -> None:
    def asked(name: str) -> float:
        looks = {"set-low": {name: {USUAL_WORD[name]: 0.97}},
                 "left-iced": {name: {USUAL_WORD[name]: 0.03}}}  # fmt: skip
        found = evaluated(with_looks(tiny, looks), circuit).measure_next
        return next((each.worth for each in found if each.quantity.id == "valve"), 0.0)

    assert asked("valve") > asked("clearing_time")


USUAL_WORD = {"valve": "open", "clearing_time": "high"}


def test_what_cannot_be_had_is_not_asked_however_much_it_tells(
    tiny: Rulebase, circuit: Subject
) -> None:
    looks = {"set-low": {"valve": {"open": 0.97}}, "left-iced": {"valve": {"open": 0.03}}}
    found = evaluated(with_looks(tiny, looks), circuit)
    assert "valve" in {each.quantity.id for each in found.measure_next}
    assert "valve" not in {each.quantity.id for each in found.next_readings(["valve"])}
