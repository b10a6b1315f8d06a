"""Plants of the model walked through whole checklists at each depth: the same is found."""

from __future__ import annotations

import pytest
from budget import NIGHTLY
from shipped_knowledge import shipped_checklists

from expert.errors import ReadingError
from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Rulebase
from expert.plant.cases import Case, every_fault, make_cases
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.checklist import MEASURING, Checklist
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.fitting import why_not
from expert.procedure.open_now import takeable
from expert.procedure.screens import BRIEF, DEPTHS, HAZARDS, LOOKS, STEP, Screen
from expert.procedure.session import Session
from plant.judge import PlantJudge
from plant.searching import session_on

# Nothing of these can be read off the model: another refrigerant or defrost, a system that is
# empty, a book that is written.
NOT_MODELLED = (
    "co2-rack-basics", "electric-defrost-checkout", "evacuation", "nitrogen-test",
    "refrigerant-log-entry",
)  # fmt: skip
BY_DAY = {  # all faults on all lists take minutes
    "warm-case-triage": ("evaporator-fan-failed",),
    "receiver-level-and-charge": ("undercharge",),
    "compressor-check": ("compressor-valve-leakage",),
}
MOST = 1500
Known = dict[str, tuple[Reading, ...]]


class PlantVisit:
    """Somebody who reads off a plant whatever a checklist asks; the rest is not available."""

    def __init__(self, session: Session, readings: Known) -> None:
        self.session, self.readings = session, readings

    def walk(self, depth: str) -> list[tuple[str, str]]:
        """What is found, cause and words, after the whole list at a depth."""
        self.session.lead(depth)
        self.session.settle()
        for _ in range(MOST):
            if (screen := self.session.screen) is None:
                break
            if depth == BRIEF and self._table():
                continue
            if screen.kind == STEP:
                self._one(screen.first)
            else:
                self._several(screen)
        assert self.session.finished, self.session.current
        found = self.session.evaluation().findings
        return [(each.cause.id, each.words) for each in found]

    def _several(self, screen: Screen) -> None:
        so = [screen.kind != LOOKS or self._text(part) == part.step.usual for part in screen.parts]
        named = [each == (screen.kind == HAZARDS) for each in so]
        self.session.tick(" ".join(str(n) for n, each in enumerate(named, 1) if each))

    def _table(self) -> bool:
        taken = False
        for offer in takeable(self.session.open_now()):
            text = self._text(offer.active)
            now = {each.active.key for each in takeable(self.session.open_now())}
            if text and offer.active.key in now and not offer.active.sample:
                try:
                    self.session.take_at(offer.active.key, text, sure=True)
                except ReadingError:
                    continue
                taken = taken or offer.active.key in self.session.picture.closed
        return taken

    def _text(self, active: Active) -> str:
        found = self.readings.get(active.quantity)
        return found[-1].text if found and active.step.type in MEASURING else ""

    def _one(self, active: Active) -> None:
        step = active.step
        if active.loop:
            self.session.answer("no")
        elif step.type == "caution" and not active.quantity:
            self.session.answer("yes")
        elif step.type == CLOSE:
            self.session.close("stopped early: a plant of the model")
        elif step.type == "sign":
            self.session.answer("A. Sample")
        elif text := self._text(active):
            try:
                if isinstance(self.session.answer(text), NeedsConfirmation):
                    self.session.answer(text, sure=True)
            except ReadingError:
                self.session.skip("refused here")
        elif active.quantity or step.type in ("stop", "members"):
            self.session.skip("not available here")
        else:
            self.session.answer("")


def walked(
    case: Case, readings: Known, checklist: Checklist, rules: Rulebase, kind: str
) -> list[object]:
    return [
        PlantVisit(session_on(case, checklist, rules, kind), readings).walk(depth)
        for depth in DEPTHS
    ]


def test_what_is_left_out_is_what_the_model_does_not_know() -> None:
    names = set(shipped_checklists())
    assert {*NOT_MODELLED, *BY_DAY} <= names
    assert not {*NOT_MODELLED} & {*BY_DAY}


@pytest.mark.parametrize(
    "name",
    [each for each in shipped_checklists() if each not in NOT_MODELLED] if NIGHTLY else BY_DAY,
)
def test_the_same_is_found_on_a_plant_at_every_depth(name: str, shipped_rulebase: Rulebase) -> None:
    checklist = shipped_checklists()[name]
    kind = checklist.subject if checklist.subject in ("rack", "compressor") else "circuit"
    judge, walks, something = PlantJudge(shipped_rulebase), 0, 0
    only = () if NIGHTLY else BY_DAY[name]
    for case in make_cases(11, every_fault(1, 31, 0.5, 1.0, only=only)):
        readings = judge.readings(case.readings, case.altitude)
        session = session_on(case, checklist, shipped_rulebase, kind)
        if why_not(checklist, session.runner.subject):
            continue
        learning, working, brief = walked(case, readings, checklist, shipped_rulebase, kind)
        assert learning == working == brief, case.name
        walks += 1
        something += bool(learning)
    assert walks and something
