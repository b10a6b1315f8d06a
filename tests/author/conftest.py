"""The tiny rulebase with more in it, scenarios in a few lines, a company pack over a small base."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from expert.author.scenarios.read import ScenarioRunner, read_scenario
from expert.author.scenarios.verdict import ScenarioOutcome, judge_scenario
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase

BASE = Path(__file__).parent / "base"
HEAD = "pack: {name: our-pack, version: 1.0.0, over: small-base, base: ../base}\n"

LoadTiny = Callable[..., Rulebase]
WritePack = Callable[..., Path]
END_OF_RULES = "cautions:\n  - {id: hot"


@pytest.fixture
def with_rules(load_tiny: LoadTiny) -> LoadTiny:
    """Loads the tiny rulebase with the text of more rules, and other changes (old, new ...)."""
    return lambda rules, *changes: load_tiny(END_OF_RULES, rules + END_OF_RULES, *changes)


@pytest.fixture
def write_scenario(tmp_path: Path) -> Callable[..., Path]:
    """Writes a scenario of readings and an expectation; gives its path."""

    def write(expect: str, name: str = "case.yaml", **readings: str) -> Path:
        folder = tmp_path / "scenarios"
        folder.mkdir(exist_ok=True)
        lines = ["application: low temperature", "defrost: hot gas", "refrigerant: R-449A"]
        lines += ["readings:", *(f"  {key}: {value}" for key, value in readings.items())]
        lines += ["scenario:", "  title: A case", "  source: from memory", f"  expect: {expect}"]
        path = folder / name
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return path

    return write


@pytest.fixture
def judged(tiny: Rulebase, write_scenario: Callable[..., Path]) -> Callable[..., ScenarioOutcome]:
    """Judges a scenario of the tiny rulebase, given its expectation and readings."""

    def judge(expect: str, rulebase: Rulebase | None = None, **readings: str) -> ScenarioOutcome:
        base = rulebase or tiny
        scenario = read_scenario(write_scenario(expect, **readings), base)
        return judge_scenario(scenario, ScenarioRunner(base, "plain"))

    return judge


@pytest.fixture(scope="session")
def nightly() -> bool:
    """Whether the long tests were asked for."""
    return os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"


@pytest.fixture(scope="session")
def small_base() -> Rulebase:
    """The small rulebase."""
    return load_rulebase(BASE)


@pytest.fixture
def write_pack(tmp_path: Path) -> WritePack:
    """Writes a company pack over the small rulebase from the texts of its files."""

    def write(*texts: str, name: str = "pack") -> Path:
        if not (tmp_path / "base").exists():
            shutil.copytree(BASE, tmp_path / "base")
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        (folder / "pack.yaml").write_text(HEAD, encoding="utf-8")
        for number, text in enumerate(texts):
            (folder / f"file-{number}.yaml").write_text(text, encoding="utf-8")
        return folder

    return write
