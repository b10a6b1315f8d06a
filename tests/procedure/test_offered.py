"""What Enter takes: the row of the store's sheet for today."""

from __future__ import annotations

from pathlib import Path

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock

from expert.errors import PackError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.sheet_model import StoreSheetRow
from expert.knowledge.site import Subject
from expert.procedure.load_checklists import parse_checklist
from expert.procedure.runner import runner_for
from expert.procedure.session import Session

MORE = """
  - {id: outdoor, title: outdoor air, subject: rack, kind: temperature, source: from memory}
  - {id: mode, title: mode, subject: rack, kind: choice, choices: [full, split],
     source: from memory}
  - {id: level, title: level, subject: rack, kind: share, source: from memory}
  - {id: on_sheet, title: level on the sheet, subject: rack, kind: share, accuracy: 3 %,
     sheet: {of: level, weather: outdoor, within: 10 F, same: [mode]}, source: from memory}
ways_of_reading:
"""
PHASES = """
checklist:
  id: sheets
  title: Sheets
  revision: 1
  purpose: For the tests.
  subject: rack
  source: from memory
  phases:
    - id: found
      title: As found
      stage: as found
      steps:
        - ask: outdoor
        - observe: mode
        - ask: on_sheet
        - sign: Name
"""
ROWS = (
    StoreSheetRow(293.15, (("mode", "full"),), 0.45, "68 F", "45 %"),
    StoreSheetRow(291.0, (("mode", "split"),), 0.30, "64 F", "30 %"),
    StoreSheetRow(277.6, (("mode", "full"),), 0.60, "40 F", "60 %"),
)


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory, rulebase_text: str) -> Rulebase:
    folder: Path = tmp_path_factory.mktemp("sheets")
    text = rulebase_text.replace("\nways_of_reading:\n", MORE, 1)
    (folder / "all.yaml").write_text(text, encoding="utf-8")
    return load_rulebase(folder)


def session(rules: Rulebase) -> Session:
    rack = Subject(
        "A", "Rack A", "rack", "A", {"refrigerant": "R-449A"}, 0.0,
        sheets={"on_sheet": ROWS},
    )  # fmt: skip
    checklist = parse_checklist(PHASES, "sheets.yaml", rules)
    runner = runner_for(checklist, Evaluator(rules, rack, backend="plain"))
    return Session(runner, MemoryLog(), "job", now=StandingClock())


def offered(rules: Rulebase, *typed: str) -> tuple[Session, str]:
    made = session(rules)
    for text in typed:
        made.answer(text)
    return made, made.default()


@pytest.mark.parametrize(
    ("outdoor", "mode", "row"),
    [
        ("66 F", "full", "45 %"),
        ("66 F", "split", "30 %"),
        ("44 F", "full", "60 %"),
        ("54 F", "full", ""),  # 14 F from either row: no row of today
        ("44 F", "split", ""),  # the only split row is of warmer weather
    ],
)
def test_the_row_of_this_weather_and_state_is_offered(
    rules: Rulebase, outdoor: str, mode: str, row: str
) -> None:
    assert offered(rules, outdoor, mode)[1] == row


def test_enter_takes_the_row_and_the_entry_says_where_it_is_from(rules: Rulebase) -> None:
    made, _ = offered(rules, "66 F", "full")
    made.answer("")
    (entry,) = [each for each in made.picture.entries if each.step == "on-sheet"]
    assert (entry.data["value"], entry.data["from_sheet"]) == (0.45, "68 F")


@pytest.mark.parametrize(
    ("was", "wrong", "says"),
    [
        ("weather: outdoor", "weather: level", "must be a temperature"),
        ("same: [mode]", "same: [modes]", "modes"),
    ],
)
def test_a_name_that_does_not_fit_is_told(
    tmp_path: Path, rulebase_text: str, was: str, wrong: str, says: str
) -> None:
    text = rulebase_text.replace("\nways_of_reading:\n", MORE.replace(was, wrong), 1)
    (tmp_path / "all.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(PackError, match=says):
        load_rulebase(tmp_path)
