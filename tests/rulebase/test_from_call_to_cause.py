"""Searches on racks that stand or trip on oil, from the call to the cause: see calls.yaml."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from budget import step
from plant.searching import play, session_of
from shipped_knowledge import shipped_checklists

from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Rulebase
from expert.knowledge.site import SiteValue, Subject
from expert.procedure.search import handed_to

FILE = Path(__file__).parent / "calls.yaml"
KIND = {"condenser_kind": "air cooled", "receiver_fitted": "yes", "plant_kind": "parallel rack"}
FACTS = {"application": "medium temperature", "refrigerant": "R-449A", "defrost": "off cycle"}
CALLS = [
    (call["cause"], {**group["shared"], **call["found"]}, call.get("within", group["within"]))
    for group in yaml.safe_load(FILE.read_text(encoding="utf-8"))
    for call in group["calls"]
]


@pytest.mark.parametrize(("cause", "found", "within"), CALLS[:: step(4)])
def test_a_call_is_brought_to_its_cause(
    cause: str, found: dict[str, str], within: int, shipped_rulebase: Rulebase
) -> None:
    papers = {name: SiteValue(name, value, value) for name, value in KIND.items()}
    subject = Subject("call", "a call", "rack", "R", FACTS, 150.0, papers)
    checklist = shipped_checklists()["find-the-fault"]
    session = session_of(subject, checklist, shipped_rulebase)
    readings = {name: (Reading(name, text, text),) for name, text in found.items()}
    search = play(session, readings, found["complaint"])
    asked = [name for name in (*search.asked, *search.skipped) if name != "what_changed"]
    assert search.leading == cause, (search.leading, search.asked, search.skipped)
    assert len(asked) <= within, asked
    end = search.session.current
    assert end is not None
    assert handed_to(end.step, shipped_rulebase.causes[cause], session.runner.subject)
