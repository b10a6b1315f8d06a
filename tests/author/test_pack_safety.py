"""A pack cannot quietly take safety away: what touches it is told first, the worst is refused."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest
from shipped_knowledge import load_over_shipped

from expert.author.comparison.safety import safety_lines
from expert.errors import PackError
from expert.knowledge.hazard_model import NEVER
from expert.knowledge.model import Rulebase
from expert.knowledge.telltales import found
from expert.procedure.load_checklists import parse_checklist

WHO = "reason: It trips too often., author: A. Sample, date: 2026-03-14"
PACK = "pack: {name: trial, version: 1.0.0, over: rackwalk-base}\n"
CAUSE = """\
  - id: planted-{number}
    title: Planted
    system: condenser
    subject: rack
    is: For the test.
    confirm: [Look at it.]
    do: ["{text}"]
    cautions: [venting]
    urgency: equipment
    source: common practice
"""


def causes(texts: Iterable[str]) -> str:
    """A cause for each text, which it advises."""
    made = (CAUSE.format(number=number, text=text) for number, text in enumerate(texts))
    return "causes:\n" + "".join(made)


def pack(folder: Path, text: str) -> Path:
    (folder / "pack.yaml").write_text(PACK, encoding="utf-8")
    (folder / "more.yaml").write_text(text, encoding="utf-8")
    return folder


def told(folder: Path, text: str) -> list[str]:
    made = load_over_shipped(pack(folder, text))
    return list(safety_lines(made, folder))


def refused(folder: Path, text: str) -> str:
    with pytest.raises(PackError) as caught:
        load_over_shipped(pack(folder, text))
    return str(caught.value)


NEVER_DONE = {
    "Vent the refrigerant to the air until the head is right.": "Recover it by weight",
    "Blow the charge off outdoors.": "Recover it by weight",
    "Purge the charge through the schrader core.": "Recover it by weight",
    "Let the gas out slowly at the receiver.": "Recover it by weight",
    "Jump out the high-pressure switch and see whether it runs.": "never bridged",
    "Bypass the oil failure switch for an hour.": "never bridged",
    "Put a jumper round it, short the motor protector.": "never bridged",
    "Plug the relief valve that weeps.": "never bridged",
    "Test the section with oxygen.": "Dry nitrogen",
    "Leak-check the coil, using shop air to 100 psig.": "Dry nitrogen",
    "Raise it above the design pressure to be sure.": "lowest marked pressure",
    "Pressurize the section beyond the nameplate pressure.": "lowest marked pressure",
}
ONLY_WARNED = (
    "Never jump out the high-pressure switch; find what trips it.",
    "Do not vent the refrigerant; recover it by weight.",
    "Dry nitrogen only, never oxygen or shop air, to test the section.",
    "Hold the test pressure, never above the design pressure of the weakest part.",
    "Let the nitrogen out outdoors, slowly.",
    "Shut the bypass of the drier and look at the relief valve for weeping.",
    "Replace the high-pressure switch with one of the same setting.",
    "Blow the fins out with compressed air.",
    "Release the brake of the fan and turn it by hand.",
)


def test_a_remedy_that_is_never_done_is_refused(tmp_path: Path) -> None:
    problems = refused(tmp_path, causes(NEVER_DONE)).split("more.yaml:")
    for number, why in enumerate(NEVER_DONE.values()):
        told = [each for each in problems if f"'planted-{number}' advises what is never" in each]
        assert any(why in each for each in told), why
        advice = 8 + number * CAUSE.count("\n")  # the line of the file
        assert all(each.startswith(f"{advice}:") for each in told)


def test_what_is_only_warned_of_is_taken(tmp_path: Path, shipped_rulebase: Rulebase) -> None:
    for text in ONLY_WARNED:
        assert not list(found(text, NEVER, shipped_rulebase)), text
    load_over_shipped(pack(tmp_path, causes(ONLY_WARNED)))


def test_a_step_that_says_what_is_never_done_is_refused(shipped_rulebase: Rulebase) -> None:
    text = """
checklist:
  id: planted
  title: Planted
  revision: 1
  purpose: For the test.
  subject: rack
  source: from memory
  phases:
    - id: first
      title: First
      stage: as found
      steps:
        - caution: job-hazard
        - instruct: Jump out the low-pressure control and start it.
          id: start-it
        - sign: Name
"""
    with pytest.raises(PackError, match="'start-it' says what is never done"):
        parse_checklist(text, "planted.yaml", shipped_rulebase)


def test_a_published_limit_that_is_changed_is_told_with_both_numbers(tmp_path: Path) -> None:
    (line,) = told(tmp_path, (
        "override_limits:\n  - {limit: room-carbon-dioxide, normal: at most 60000, "
        f'very_high: 70000, {WHO}, source: "company: none (invented)"}}\n'
    ))  # fmt: skip
    assert line.startswith("limit room-carbon-dioxide: ")
    assert "60000" in line.replace(",", "")
    assert "OSHA" in line
    assert "It trips too often. (A. Sample, 2026-03-14)" in line


def test_a_rule_that_can_open_a_gate_is_told(tmp_path: Path) -> None:
    lines = told(tmp_path, """\
rules:
  - {id: bubbles-mean-short, when: [sight_glass is bubbles], concludes: [level_shown_low],
     because: Bubbles., source: common practice}
""")  # fmt: skip
    assert any("rule bubbles-mean-short: it can open the gate" in line for line in lines)


def test_a_narrower_limit_in_the_place_of_a_published_one_is_told(tmp_path: Path) -> None:
    lines = told(tmp_path, """\
limits:
  - {id: our-room, of: room_carbon_dioxide, applies: {refrigerant: R-744}, normal: at most 60000,
     source: common practice}
""")  # fmt: skip
    assert any("limit our-room: " in line and "It is the narrower one." in line for line in lines)


def test_a_new_caution_and_a_gauge_without_one_are_told(tmp_path: Path) -> None:
    lines = told(tmp_path, """\
cautions:
  - {id: wasps, title: Wasps, say: [Look first.], ask: Are there none?, source: from memory}
quantities:
  - {id: our_gauge, title: our gauge, subject: rack, kind: gauge_pressure, accuracy: 1 psi,
     source: from memory}
""")  # fmt: skip
    assert any(line.startswith("caution wasps") for line in lines)
    assert any(line.startswith("quantity our_gauge") for line in lines)


def test_what_does_not_touch_safety_is_not_told(tmp_path: Path) -> None:
    assert told(tmp_path, causes(["Comb the fins out."])) == []


def test_a_gate_cannot_lose_its_only_rule(tmp_path: Path, shipped_rulebase: Rulebase) -> None:
    concluding: dict[str, list[str]] = {}
    for rule in shipped_rulebase.rules.values():
        for name in rule.concludes:
            concluding.setdefault(name, []).append(rule.id)
    rules = concluding["valve_liquid_shown_good"]
    off = "".join(f"  - {{rule: {name}, {WHO}}}\n" for name in rules)
    message = refused(tmp_path, f"switch_off:\n{off}")
    assert "nothing concludes 'valve_liquid_shown_good'" in message
    assert "gate turn-stem-liquid-good" in message


def test_the_command_says_it_before_anything_else(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from expert.cli.frame.main import main

    folder = pack(tmp_path, (
        "override_limits:\n  - {limit: room-carbon-dioxide, normal: at most 60000, "
        f'very_high: 70000, {WHO}, source: "company: none (invented)"}}\n'
    ))  # fmt: skip
    assert main(["rules", "check", "--rulebase", str(folder)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("SAFETY")
    assert lines[1].startswith("! limit room-carbon-dioxide")
