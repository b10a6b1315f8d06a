"""What a technician types is found by the words of the trade."""

from __future__ import annotations

import pytest
from practice_made import attempt_at, read, shipped_setting

from expert.errors import ReadingError
from expert.practice.typed import action_named, cause_named, reading_named, real_words


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        ("head", "discharge_header_pressure_at_rest"),
        ("suction", "suction_header_pressure_at_rest"),
        ("case temp", "case_air_displayed"),
        ("SH", "evaporator_superheat"),
        ("TD", "coil_temperature_difference"),
        ("SCT", "saturated_condensing_temperature"),
        ("amps", "current_from_expected"),
        ("OAT", "outdoor_temperature"),
        ("sight glass", "sight_glass"),
        ("fans", "fans_in_cooling"),
        ("receiver level", "receiver_level"),
        ("return gas", "return_gas_temperature"),
        ("drier outlet pressure", "drier_outlet_pressure"),
        ("hot-gas branch each side", "hot_gas_line_in_defrost"),
        ("hot gas branch each side", "hot_gas_line_in_defrost"),
    ],
)
def test_a_reading_is_found_by_the_words_of_the_trade(words: str, meant: str) -> None:
    assert reading_named(words, attempt_at()).id == meant


def test_what_several_have_in_their_names_is_asked() -> None:
    with pytest.raises(ReadingError, match="drier inlet pressure; drier outlet pressure"):
        reading_named("drier", attempt_at())
    with pytest.raises(ReadingError, match="names no reading"):
        reading_named("flux capacitor", attempt_at())


def test_the_air_of_a_case_is_read_in_an_exercise_of_a_defrost_too() -> None:
    attempt = attempt_at(shipped_setting().exercises["ice-after-the-defrost"])
    assert reading_named("case temp", attempt).id == "discharge_air_before"
    assert reading_named("head", attempt).id == "discharge_header_pressure_at_rest"
    read(attempt, "hot_gas_valve")  # gas is on
    assert reading_named("head", attempt).id == "discharge_header_pressure"


def test_what_is_worked_out_says_what_to_read_then_its_value() -> None:
    attempt = attempt_at()
    with pytest.raises(ReadingError, match="Read for it: .*coil outlet line temperature"):
        read(attempt, "evaporator_superheat")
    for name in ("coil_outlet_temperature", "circuit_pressure_before"):
        read(attempt, name)
    with pytest.raises(ReadingError, match=r"worked out: -?[0-9.]+ F"):
        read(attempt, "evaporator_superheat")


def test_an_action_is_found_with_its_amount() -> None:
    actions = shipped_setting().actions
    for typed, action, amount in (
        ("wash the condenser", "clean-condenser", ""),
        ("set differential, 18 psi", "set-defrost-differential", "18 psi"),
        ("add refrigerant 5 lb", "add-refrigerant", "5 lb"),
        ("lock out", "lock-out", ""),
    ):
        found, rest = action_named(typed, actions)
        assert (found.id, rest) == (action, amount)
    with pytest.raises(ReadingError, match="could be"):
        action_named("replace", actions)


def test_a_cause_is_found_by_its_words() -> None:
    causes = attempt_at().rulebase.causes
    assert cause_named("dirty condenser", causes).id == "dirty-condenser"
    with pytest.raises(ReadingError, match="no cause"):
        cause_named("gremlins", causes)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("open the drain", "Did you mean 'thaw pan and drain"),  # and never the drier
        ("raplace the drier", "Did you mean 'change the drier'"),
        ("replace compresor plate", "Did you mean 'replace the valve plate of the compressor'"),
        ("add refigerant, 5 lb", "Did you mean 'add refrigerant"),
        ("open the window", None),
        ("heat the head", None),  # no action heats, and 'head' is about another one
        ("check oil", None),  # a look is no action
        ("change the compressor drain", None),
    ],
)
def test_a_hint_for_an_action_shares_its_words_or_is_absent(typed: str, says: str | None) -> None:
    attempt = attempt_at()
    with pytest.raises(ReadingError) as told:
        action_named(typed, attempt.setting.actions, real_words(attempt))
    message = str(told.value)
    assert says in message if says else "Did you mean" not in message


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("suction presure", "Did you mean 'suction pressure'"),
        ("reciever level", "Did you mean 'receiver level'"),
        ("receiver levle", "Did you mean 'receiver level'"),
        ("hed pressure", "Did you mean 'head pressure'"),
        ("flux capacitor", None),
        ("drain amps", None),
    ],
)
def test_a_hint_for_a_reading_is_right_or_absent(typed: str, says: str | None) -> None:
    with pytest.raises(ReadingError) as told:
        reading_named(typed, attempt_at())
    message = str(told.value)
    assert says in message if says else "Did you mean" not in message


def test_a_hint_for_a_cause_is_right_or_absent() -> None:
    causes = attempt_at().rulebase.causes
    for typed, says in (("dirty condensor", "Condenser dirty"), ("udercharge", "undercharge")):
        with pytest.raises(ReadingError, match=f"Did you mean '{says}"):
            cause_named(typed, causes)
    with pytest.raises(ReadingError) as told:
        cause_named("drain restricted", causes)  # the drier may be
    assert "Did you mean" not in str(told.value)
