"""Guided searches on plants of the model, from a complaint in plain words to the cause.

The plant answers what it is asked; what it does not know of is skipped as not available.
"""

from __future__ import annotations

from budget import step
from shipped_knowledge import shipped_checklists

from expert.knowledge.model import Rulebase
from expert.plant.cases import every_fault, make_cases
from expert.procedure.checklist import Checklist
from expert.procedure.search import handed_to
from plant.judge import PlantJudge, accepted_for
from plant.searching import SearchPlayed, play, session_on

COMPLAINTS = {
    "evaporator-fan-failed": "the milk case is warm",
    "coil-iced-over": "there is ice on the coil",
    "condenser-fan-failed": "high head",
    "dirty-condenser": "high-pressure trips",
    "head-not-held-in-cold": "low head",
    "hot-gas-solenoid-not-opening": "defrost is not clearing",
    "stocked-past-load-line": "warm case",
    "drier-restricted": "bubbles in the glass",
    "undercharge": "low-pressure trips",
}
ASKED = [*COMPLAINTS][:: step(6)]
LEAST = 0.75  # of these; the plants are drawn, and one of them may show too little


def played(rules: Rulebase, checklist: Checklist) -> dict[str, tuple[SearchPlayed, set[str]]]:
    judge = PlantJudge(rules)
    found = {}
    for case in make_cases(5, every_fault(1, 7, 0.5, 1.0, only=tuple(ASKED))):
        readings = judge.readings(case.readings, case.altitude)
        session = session_on(case, checklist, rules)
        found[case.name] = play(session, readings, COMPLAINTS[case.name]), accepted_for(case.faults)
    return found


def test_complaints_are_brought_to_their_cause(shipped_rulebase: Rulebase) -> None:
    checklist = shipped_checklists()["find-the-fault"]
    found = played(shipped_rulebase, checklist)
    assert set(found) == set(ASKED)
    right = {name for name, (search, causes) in found.items() if search.leading in causes}
    told = {name: (search.leading, search.asked) for name, (search, _) in found.items()}
    assert len(right) >= int(LEAST * len(ASKED)), told
    assert len([name for name, (search, _) in found.items() if search.leading]) - len(right) <= 1
    for name in right:
        search, _ = found[name]
        session = search.session
        both = [*search.asked, *search.skipped]
        assert len(both) == len(set(both)), f"{name}: asked twice"
        end = session.current
        assert end is not None and end.step.type == "search"
        cause = shipped_rulebase.causes[search.leading]
        assert handed_to(end.step, cause, session.runner.subject), f"{name}: handed to nobody"
