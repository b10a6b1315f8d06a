"""The worked example of a company pack does what it is there to show."""

from __future__ import annotations

from pathlib import Path

import pytest
from shipped_knowledge import load_over_shipped

from expert.author.comparison.changed_knowledge import pack_lines
from expert.author.files.yaml_layout import format_text
from expert.author.rule_tests import run_rule_tests
from expert.inference.evaluate import Evaluator
from expert.inference.explain import find
from expert.inference.subject_file import accept
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject

FOLDER = Path(__file__).parents[1] / "packs" / "example-company"
FILES = sorted(FOLDER.rglob("*.yaml"))


@pytest.fixture(scope="module")
def pack() -> Rulebase:
    return load_over_shipped(FOLDER)


def test_it_adds_overrides_and_switches_off(pack: Rulebase) -> None:
    told = "\n".join(pack_lines(pack, FOLDER))
    assert "It adds to rackwalk-base" in told
    assert "normal 16.0 to 20.0 psi, was 15.0 to 23.0 psi" in told
    assert "- low-differential-before-it-shows:" in told


def test_its_own_rules_pass_their_tests(pack: Rulebase) -> None:
    own = run_rule_tests(pack, "plain", only=FOLDER.name)
    assert len(own) >= 6
    assert [str(each) for each in own if not each.passed] == []


def test_it_finds_what_the_base_does_not_know(pack: Rulebase, circuit: Subject) -> None:
    readings = [
        accept(pack.quantities[name], text, 101325.0)
        for name, text in (
            ("snow_at_condenser", "buried"), ("outdoor_temperature", "10 F"),
            ("discharge_header_pressure_at_rest", "180 psig"),
        )
    ]  # fmt: skip
    finding = find(
        Evaluator(pack, circuit, backend="plain").evaluate(readings), "condenser-snowed-in"
    )
    assert finding is not None
    assert any("snow" in line.lower() for line in finding.because)


def test_every_invented_thing_is_marked(pack: Rulebase) -> None:
    assert "(invented)" in pack.info.title
    for change in (*pack.overrides, *pack.switched_off):
        assert "(invented)" in change.author
    own = [limit for limit in pack.limits if str(FOLDER) in limit.place.path]
    assert own
    assert all("(invented)" in str(limit.source) for limit in own)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_its_files_stand_in_the_usual_layout(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert format_text(text, str(path)) == text
