"""A stop is passed only when it is so, a no counts, and an answer belongs to what was asked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from stop_and_no import (
    INNER,
    SHELL,
    begun,
    finish,
    key,
    shell_runner,
    small_rules,
    until,
    usual,
)

from expert.errors import PackError, ReadingError
from expert.knowledge.model import Rulebase
from expert.procedure.entries import Entry
from expert.procedure.runner import Runner
from expert.procedure.session import Session


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory, rulebase_text: str) -> Rulebase:
    return small_rules(tmp_path_factory.mktemp("rules"), rulebase_text)


@pytest.fixture
def shell(tmp_path: Path, rules: Rulebase) -> Runner:
    return shell_runner(tmp_path / "lists", rules)


def at_the_stop(runner: Runner, valve: str = "open") -> Session:
    session = begun(runner)
    until(session, "hot-gas-valve")
    session.answer(valve)
    return session


def test_enter_at_a_stop_asks_its_question_again(shell: Runner) -> None:
    session = at_the_stop(shell)
    for _ in range(3):
        assert key(session) == "do-not-open"
        session.answer("")
        assert key(session) == "hot-gas-valve"
        session.answer("half open")
    session.answer("again")
    session.answer("shut")
    assert key(session) == "open-it"


def test_a_stop_whose_reading_was_skipped_is_not_passed(shell: Runner) -> None:
    session = begun(shell)
    until(session, "hot-gas-valve")
    session.skip("cannot see it")
    assert key(session) == "do-not-open"
    with pytest.raises(ReadingError, match="Press Enter to be asked again"):
        session.answer("go on")


def test_a_stop_does_not_promise_to_ask_again_what_was_left_out(
    tmp_path: Path, rules: Rulebase
) -> None:
    text = SHELL.replace(
        "        - observe: hot_gas_valve\n",
        "        - observe: hot_gas_valve\n          does: [gauges]\n",
    )
    runner = shell_runner(tmp_path / "lists", rules, text)
    session = begun(runner)
    until(session, "pressure")
    session.skip("no eye protection here")
    assert key(session) == "do-not-open"
    assert session.current is not None
    told = runner.expected(session.current)
    assert told.startswith("Nothing above can be asked again here. s and a reason leaves out")
    with pytest.raises(ReadingError, match="^Nothing above can be asked again here"):
        session.answer("")
    session.skip("it stays shut")
    assert "open-it" not in finish(session)


def test_a_reason_at_a_stop_leaves_out_the_rest_of_the_part_and_puts_back(shell: Runner) -> None:
    session = at_the_stop(shell)
    session.skip("the valve is stuck")
    asked = finish(session)
    assert "open-it" not in asked
    assert "coil-voltage" not in asked
    assert {"inner/cap", "probe-off", "leaving", "sign"} <= {*asked}
    left = shell.left_out(session.picture)
    assert [each.step.id for each in left] == ["open-it", "coil-voltage"]
    assert {each.because.text("reason") for each in left} == {"the valve is stuck"}


def test_a_stop_can_end_the_whole_checklist(tmp_path: Path, rules: Rulebase) -> None:
    text = SHELL.replace("else: leave the phase", "else: leave the checklist")
    session = at_the_stop(shell_runner(tmp_path, rules, text))
    session.skip("the valve is stuck")
    assert key(session) == "probe-off"
    usual(session)
    assert key(session) == "leaving"
    usual(session)
    assert key(session) == "close"
    session.answer("2: a valve")
    usual(session)
    assert session.finished
    assert session.picture.closed_as is not None


def test_a_stop_that_may_be_passed_with_a_reason(tmp_path: Path, rules: Rulebase) -> None:
    text = SHELL.replace("else: leave the phase", "else: go on")
    text = text.replace("Do not open the shell. Shut the valve first.", "Wait half an hour.")
    session = at_the_stop(shell_runner(tmp_path, rules, text))
    session.skip("no time to wait")
    assert key(session) == "open-it"
    assert [each.text("reason") for each in session.picture.ended_at] == ["no time to wait"]


def test_a_stop_goes_back_to_the_step_it_names(tmp_path: Path, rules: Rulebase) -> None:
    text = SHELL.replace("        - observe: hot_gas_valve\n", (
        "        - ask: case_air\n          id: air\n        - observe: hot_gas_valve\n"
    )).replace("          else: leave the phase", "          back to: air\n          else: leave the phase")  # fmt: skip  # noqa: E501
    session = begun(shell_runner(tmp_path, rules, text))
    until(session, "air")
    session.answer("12 F")
    session.answer("open")
    session.answer("")
    assert key(session) == "air"
    session.answer("")  # the earlier answer stands as the default
    assert key(session) == "hot-gas-valve"


def test_a_no_leaves_out_what_the_caution_guards_and_a_later_yes_counts(shell: Runner) -> None:
    session = begun(shell)
    session.answer("yes")
    session.answer("no")
    assert key(session) == "pressure"
    session.skip("no goggles here")
    asked = finish(session)
    assert not {"fit", "open-it", "probe-off"} & {*asked}
    assert {"inner/pressure", "inner/cap", "inner/restore-cap-off"} <= {*asked}
    left = [each.step.id for each in shell.left_out(session.picture)]
    assert left == ["fit", "open-it"]
    assert [each.text("reason") for each in session.picture.refused] == ["no goggles here"]
    assert session.picture.acknowledged


def test_a_no_counts_in_a_called_checklist_too(tmp_path: Path, rules: Rulebase) -> None:
    session = begun(shell_runner(tmp_path, rules))
    until(session, "pressure")
    session.answer("no: no goggles here")
    until(session, "inner/pressure")
    session.answer("n: still none")
    asked = finish(session)
    assert not {"inner/cap", "inner/restore-cap-off"} & {*asked}
    assert "inner/case-air" in asked


def test_a_no_at_the_first_look_leaves_everything_out(shell: Runner) -> None:
    session = begun(shell)
    session.answer("no: nobody is here at night")
    assert key(session) == "leaving"
    usual(session)
    assert key(session) == "close"
    with pytest.raises(ReadingError, match="to whom"):
        session.answer("3")
    session.answer("3: the day crew")
    usual(session)
    assert session.finished
    assert shell.signed_by(session.picture) == "N. N."


def test_a_no_at_leaving_asks_how_the_job_ends(shell: Runner) -> None:
    session = begun(shell)
    until(session, "leaving")
    session.answer("no")
    assert key(session) == "close"
    session.answer("waiting for a part: power element")
    assert key(session) == "sign"
    usual(session)
    assert session.finished


def test_a_job_can_be_closed_anywhere_and_what_is_open_is_put_back(shell: Runner) -> None:
    session = begun(shell)
    until(session, "hot-gas-valve")
    session.close("handed over: night crew")
    assert finish(session) == ["probe-off", "leaving", "sign"]
    left = [each.step.id for each in shell.left_out(session.picture)]
    assert "open-it" in left
    assert "fit" not in left


def test_a_closed_job_can_be_opened_again(shell: Runner) -> None:
    session = begun(shell)
    until(session, "hot-gas-valve")
    session.close("4: called away")
    session.back()
    assert key(session) == "hot-gas-valve"
    assert session.picture.closed_as is None


def test_what_is_not_put_back_is_told_with_the_reason_and_how_the_job_ends(shell: Runner) -> None:
    session = begun(shell)
    until(session, "probe-off")
    session.skip("it stays on for the night crew")
    usual(session)
    assert key(session) == "close"
    session.answer("3: the night crew")
    usual(session)
    assert session.finished
    assert session.picture.still_open == ("probe fitted",)


def test_every_closed_step_keeps_what_was_asked(shell: Runner) -> None:
    session = begun(shell)
    finish(session)
    kept = {each.step: each.text("asked") for each in session.picture.closed.values()}
    assert kept["hot-gas-valve"] == "quantity hot_gas_valve"
    assert kept["pressure"].startswith("caution pressure ")
    assert all(kept.values())


def test_another_caution_at_the_same_id_is_asked(tmp_path: Path, rules: Rulebase) -> None:
    session = begun(shell_runner(tmp_path / "old", rules))
    until(session, "hot-gas-valve")
    text = SHELL.replace("- caution: pressure\n        - instruct: Fit", (
        "- caution: hot-surfaces\n          id: pressure\n        - caution: pressure\n"
        "          id: pressure-too\n        - instruct: Fit"
    ))  # fmt: skip
    revised = shell_runner(tmp_path / "new", rules, text, same=False)
    again = begun(revised, session.picture.entries)
    assert key(again) == "pressure"
    assert again.runner.plan(again.picture)[1].step.text == "hot-surfaces"


def test_a_caution_with_other_words_is_asked_again(tmp_path: Path, rules: Rulebase) -> None:
    session = begun(shell_runner(tmp_path, rules))
    until(session, "hot-gas-valve")
    worded = replace(rules.cautions["pressure"], say=("Full face shield on.",))
    other = replace(rules, cautions={**rules.cautions, "pressure": worded})
    again = begun(shell_runner(tmp_path, other), session.picture.entries)
    assert key(again) == "pressure"


def test_another_quantity_at_the_same_id_is_asked_without_the_old_default(
    tmp_path: Path, rules: Rulebase
) -> None:
    session = begun(shell_runner(tmp_path / "old", rules))
    until(session, "again?1")
    text = SHELL.replace("- ask: coil_voltage", "- ask: case_air\n          id: coil-voltage")
    again = begun(shell_runner(tmp_path / "new", rules, text, same=False), session.picture.entries)
    assert key(again) == "coil-voltage"
    assert again.default() == ""
    assert [each.quantity for each in again.runner.set_aside(again.picture)] == ["coil_voltage"]


def without_asked(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """The entries as they were kept before they held what was asked."""
    return tuple(
        replace(each, data={name: data for name, data in each.data.items() if name != "asked"})
        for each in entries
    )


def test_old_entries_are_read_and_a_caution_counts_while_nothing_changed(
    tmp_path: Path, rules: Rulebase
) -> None:
    session = begun(shell_runner(tmp_path / "old", rules))
    until(session, "coil-voltage")
    old = without_asked(session.picture.entries)
    assert key(begun(shell_runner(tmp_path / "a", rules), old)) == "coil-voltage"
    changed = begun(shell_runner(tmp_path / "b", rules, same=False), old)
    assert key(changed) == "look-first"
    changed.answer("yes")
    changed.answer("yes")
    assert key(changed) == "coil-voltage"


def test_what_was_signed_for_stays_signed(tmp_path: Path, rules: Rulebase) -> None:
    session = begun(shell_runner(tmp_path / "old", rules))
    finish(session)
    old = without_asked(session.picture.entries)
    later = begun(shell_runner(tmp_path / "new", rules, same=False), old)
    assert later.finished
    later.reopen("coil-voltage")
    assert key(later) == "look-first"


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("until: [hot_gas_valve is shut]", "until: [frost_pattern is known]", "cannot be known"),
        ("else: leave the phase", "else: leave the house", "no way out of a stop"),
        ("else: leave the phase", "back to: nowhere\n          else: go on", "no step above it"),
        ("hot_gas_valve is shut]",
         "hot_gas_valve is shut]\n          when: [hot_gas_valve is open]",
         "hot_gas_valve is not open"),
        ("- caution: pressure\n        - instruct: Fit",
         "- caution: pressure\n          when: [termination_setting is known]\n"
         "        - instruct: Fit",
         "must not hang on 'when:'"),
        ("Open the shell.\n          id: open-it\n          does: [open]",
         "Stay out.\n          id: open-it\n          protects: yes\n"
         "          when: [hot_gas_valve is open]", "hot_gas_valve is not open"),
    ],
)  # fmt: skip
def test_a_form_that_fails_open_is_refused(
    old: str, new: str, told: str, tmp_path: Path, rules: Rulebase
) -> None:
    assert old in SHELL
    with pytest.raises(PackError) as caught:
        shell_runner(tmp_path, rules, SHELL.replace(old, new, 1))
    assert told in str(caught.value)
    assert "shell.yaml:" in str(caught.value)


def test_a_step_that_protects_is_shown_while_its_reading_is_unknown(
    tmp_path: Path, rules: Rulebase
) -> None:
    text = SHELL.replace("        - ask: coil_voltage\n", (
        "        - ask: coil_voltage\n        - instruct: Stay out.\n          id: stay-out\n"
        "          protects: yes\n          unless: [coil_voltage < 50 V]\n"
    ))  # fmt: skip
    runner = shell_runner(tmp_path, rules, text, INNER)
    for given, shown in ((None, True), ("230", True), ("24", False)):
        session = begun(runner)
        until(session, "coil-voltage")
        session.skip("no meter") if given is None else session.answer(given)
        assert (key(session) == "stay-out") == shown
