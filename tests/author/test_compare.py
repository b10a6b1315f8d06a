"""What changed between two rulebases is told in words, with old and new numbers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from expert.author.comparison.changed_knowledge import (
    Difference,
    compare_rulebases,
    difference_lines,
)
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase

from .conftest import BASE

Changed = Callable[..., tuple[Difference, ...]]


@pytest.fixture
def changed(tmp_path: Path, small_base: Rulebase) -> Changed:
    """The differences after some texts of the small rulebase were replaced (old, new ...)."""

    def change(*texts: str, system: str = "us") -> tuple[Difference, ...]:
        text = (BASE / "base.yaml").read_text()
        for old, new in zip(texts[::2], texts[1::2], strict=True):
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        (tmp_path / "base.yaml").write_text(text)
        return compare_rulebases(small_base, load_rulebase(tmp_path), system)

    return change


def one(found: tuple[Difference, ...]) -> Difference:
    assert len(found) == 1, found
    return found[0]


def test_the_same_rulebase_is_no_different(changed: Changed) -> None:
    assert changed() == ()


def test_a_moved_entry_is_no_difference(changed: Changed) -> None:
    lines = "  - {id: air_is_warm, says: the case air is warm}\n"
    other = "  - {id: coil_starved, says: the coil is starved}\n"
    assert changed(lines + other, other + lines) == ()


def test_a_changed_limit_tells_old_and_new_numbers(changed: Changed) -> None:
    found = one(changed("-15 to -5 F", "-18 to -5 F", "very_low: -25 F\n    ", ""))
    assert (found.kind, found.id, found.what) == ("limit", "case-air", "changed")
    assert found.lines == (
        "normal: -18.0 to -5.0 F, was -15.0 to -5.0 F", "very low below: none, was -25.0 F",
    )  # fmt: skip


def test_numbers_are_told_in_the_unit_system_asked_for(changed: Changed) -> None:
    found = one(changed("normal: 10 to 20 min", "normal: 10 to 25 min", system="si"))
    assert found.lines == ("normal: 10.0 to 25.0 min, was 10.0 to 20.0 min",)
    found = one(changed("very_high: 5 psi", "very_high: 6 psi", system="both"))
    assert found.lines == ("very high above: 6.0 psi (0.41 bar), was 5.0 psi (0.34 bar)",)


def test_a_changed_rule_tells_its_conditions_and_strengths(changed: Changed) -> None:
    found = one(
        changed(
            "[air_is_warm, case_fans is all stopped]\n    evidence_for: {fan-motor-dead: strong}",
            "[case_fans is all stopped, frost_pattern is bare]\n"
            "    evidence_for: {fan-motor-dead: weak}",
        )
    )
    assert found.lines == (
        "when, no longer: the case air is warm",
        "when, new: frost on the coil is bare",
        "speaks for, no longer: 'Case fan motor dead': strong",
        "speaks for, new: 'Case fan motor dead': weak",
    )


def test_an_added_and_a_removed_entry_are_told_in_a_line(changed: Changed) -> None:
    found = changed(
        "id: coil_starved, says: the coil is starved", "id: coil_full, says: it is full"
    )
    assert list(difference_lines(found)) == [
        "sign coil_starved removed: the coil is starved", "sign coil_full added: it is full",
    ]  # fmt: skip


def test_an_added_limit_tells_its_band(changed: Changed) -> None:
    text = "signs:\n  - {id: air"
    more = (
        "  - {id: long, of: defrost_time, applies: {defrost: electric}, normal: at most 40 min,\n"
    )
    found = one(changed(text, f"{more}     source: common practice}}\n{text}"))
    assert found.title == "limit of length of the defrost, at most 40.0 min"


def test_a_changed_cause_tells_its_lines(changed: Changed) -> None:
    found = one(changed("do: [Replace the motor.]", "do: [Look at the plug., Replace the motor.]"))
    assert found.lines == ("do, new: Look at the plug.",)


def test_the_order_of_what_to_do_counts(changed: Changed) -> None:
    found = one(
        changed("[running, some stopped, all stopped]", "[some stopped, running, all stopped]")
    )
    assert found.lines == ("choices: in another order",)


def test_a_changed_scale_of_evidence_is_told(changed: Changed) -> None:
    found = changed("strong: 0.75", "strong: 0.8")
    assert found[0].lines == ("strengths, no longer: strong 0.75", "strengths, new: strong 0.8")


def test_a_changed_quantity_caution_and_gate_are_told(changed: Changed) -> None:
    found = changed(
        "accuracy: 1 F", "accuracy: 2 F", "fitted with shut hoses?", "fitted?",
        "needs: [case_fans is not running]", "needs: [case_fans is all stopped]",
    )  # fmt: skip
    assert [(each.kind, each.lines) for each in found] == [
        ("quantity", ("accuracy: 2.0 F, was 1.0 F",)),
        ("caution", ("ask: Are the gauges fitted?, was Are the gauges fitted with shut hoses?",)),
        ("gate", ("needs, no longer: case fans is not running",
                  "needs, new: case fans is all stopped")),
    ]  # fmt: skip
