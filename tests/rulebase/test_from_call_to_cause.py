"""Searches on invented plants, from the call to the cause: see calls.yaml."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from budget import step
from plant.searching import play, session_of
from shipped_knowledge import shipped_checklists

from expert.inference.evaluation_model import Reading
from expert.inference.subject_file import accept
from expert.knowledge.model import Rulebase
from expert.knowledge.site import SiteValue, Subject
from expert.procedure.search import handed_to
from expert.units.measure import Measure

FILE = Path(__file__).parent / "calls.yaml"
KIND = {"condenser_kind": "air cooled", "receiver_fitted": "yes", "plant_kind": "parallel rack"}
BAROMETER = 101325.0
FACTS = {"application": "medium temperature", "refrigerant": "R-449A", "defrost": "off cycle"}
CALLS = [
    (call["cause"], {**group["shared"], **call["found"]}, call.get("within", group["within"]),
     group.get("on", "rack"), group.get("papers", {}))
    for group in yaml.safe_load(FILE.read_text(encoding="utf-8"))
    for call in group["calls"]
]  # fmt: skip


@pytest.mark.parametrize(("cause", "found", "within", "kind", "papers"), CALLS[:: step(7)])
def test_a_call_is_brought_to_its_cause(
    cause: str, found: dict[str, str], within: int, kind: str, papers: dict[str, str],
    shipped_rulebase: Rulebase,
) -> None:  # fmt: skip
    known = {name: SiteValue(name, value, value) for name, value in KIND.items()}
    for name, text in papers.items():
        measure = accept(shipped_rulebase.quantities[name], text, BAROMETER).value
        assert isinstance(measure, Measure)
        known[name] = SiteValue(name, measure.value, text)
    subject = Subject("call", "a call", kind, "R", FACTS, 150.0, known)
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
