"""What is asked of a call that has no site file: the complaint, then what hangs on it."""

from __future__ import annotations

import argparse

import pytest
from shipped_knowledge import shipped_rules
from terminal.terminal_help import TypedFront

from expert.cli.readings.ask_plant import ToldByCall, ask_plant
from expert.cli.readings.diagnose import add_arguments
from expert.errors import Stopped, UsageError
from expert.inference.hangs_on import hangs_on
from expert.places import shipped

LAW = ("--jurisdiction", "United States")
RACK = (
    "--on", "rack", "--refrigerant", "R448A", "--application", "low temperature",
    "--defrost", "hot gas", "--altitude", "0 ft", *LAW,
)  # fmt: skip


def told(words: tuple[str, ...], *typed: str) -> tuple[ToldByCall, TypedFront]:
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    options = parser.parse_args(words)
    options.units, options.rulebase = "us", shipped("rulebase")
    front = TypedFront(typed)
    return ask_plant(options, front, asking=True), front


def asked(front: TypedFront) -> list[str]:
    """The questions without what stands behind them, in their order."""
    marks = ("What", "Which", "Is this", "How high", "By whose")
    return [each for each in front.shown if each.startswith(marks)]


def test_enter_alone_leaves_a_device_not_known_and_no_is_no() -> None:
    devices: dict[str, tuple[str, ...]] = {}
    for first in ("", "no", "yes"):
        call, front = told(RACK, "", first, "no", "yes")
        devices[first] = tuple(call.site.subjects["R"].has)
        fitted = [each for each in front.shown if each.startswith("Is this fitted")]
        assert len(fitted) == 3
        assert all(each.endswith("Enter alone: not known.") for each in fitted)
    assert len(devices[""]) == len(devices["no"]) == 1  # the last, which is fitted
    assert len(devices["yes"]) == 2


@pytest.mark.parametrize(
    ("complaint", "asks"),
    [
        ("oil trips", ["What is it about", "Which refrigerant"]),
        (
            "head high",
            ["What is it about", "Which refrigerant", "Which application", "Is this fitted"],
        ),
        (
            "case warm",
            [
                "What is it about", "Which refrigerant", "Which application", "Which defrost",
                "Which kind of case", "Is this fitted", "Is this fitted",
            ],
        ),
    ],
)  # fmt: skip
def test_the_complaint_comes_first_and_then_only_what_hangs_on_it(
    complaint: str, asks: list[str]
) -> None:
    _, front = told(LAW, complaint, *[""] * 9)
    questions = asked(front)
    assert questions.pop(0).startswith("What is complained of")
    assert questions.pop().startswith("How high is the store")
    assert len(questions) == len(asks), questions
    assert all(each.startswith(begin) for each, begin in zip(questions, asks, strict=True))


def test_what_a_fact_decides_is_what_it_is_asked_for() -> None:
    rules = shipped_rules()
    assert not hangs_on("oil trips", "rack", rules)
    assert "defrost" in hangs_on("ice on the coil", "circuit", rules)
    assert "defrost" not in hangs_on("head high", "rack", rules)
    assert "case_type" not in hangs_on("case warm", "rack", rules)
    everything = hangs_on("", "rack", rules)
    for complaint in rules.complaints.values():
        assert hangs_on(complaint.says, "rack", rules) <= everything, complaint.id


def test_enter_all_the_way_assumes_nothing() -> None:
    call, front = told(LAW, "warm", "1", *[""] * 9)
    assert "Type which." in front.text
    circuit = call.site.subjects["C"]
    assert call.complaint == "case warm"
    assert dict(circuit.facts) == {"jurisdiction": "United States"}
    assert not circuit.values and not circuit.has and circuit.altitude == 0
    assert "not told" in call.site.text


def test_who_names_a_circuit_has_told_what_it_cools() -> None:
    call, _ = told(LAW, "case warm", "circuit", *[""] * 7)
    said = {name: value.value for name, value in call.site.subjects["C"].values.items()}
    assert said == {"plant_kind": "parallel rack", "what_it_cools": "cases and cold rooms"}


def test_plain_words_are_said_back_and_kept() -> None:
    call, front = told(RACK, "the milk is warm", "", *[""] * 5)
    assert call.complaint == "the milk is warm"
    assert "is taken as: case warm" in front.text
    call, _ = told(RACK, "the milk is warm", "all cases warm", *[""] * 5)
    assert call.complaint == "all cases warm"


def test_an_option_holds_whatever_the_complaint_is_and_a_wrong_one_is_named() -> None:
    call, _ = told(RACK, "ice on the coil", *[""] * 3)
    assert set(call.site.subjects) == {"site", "R"}
    with pytest.raises(UsageError, match="--refrigerant"):
        told(("--refrigerant", "R-449X", *LAW), "1", "1")
    with pytest.raises(Stopped):
        told(RACK, "q")
