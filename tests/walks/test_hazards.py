"""No step and no remedy that can hurt comes before its caution."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from telltale import cautions_in
from walked_job import DEMO, Walked

from expert.errors import PackError
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.load_checklists import parse_checklist
from expert.terminal.layout import Layout
from expert.terminal.step_view import StepView
from expert.terminal.texts import Texts

Walk = Callable[[Path], Walked]

# The hazards of the job, each with the caution that says it.
HAZARDS = {
    "job hazard look": "job-hazard",
    "lockout and stored energy": "lockout",
    "charge left in drives": "stored-charge",
    "shock and arc flash": "electrical",
    "pressure": "stored-pressure",
    "oil under pressure": "oil-under-pressure",
    "hot surfaces": "hot-surfaces",
    "cold burns and freezer rooms": "cold-burns",
    "refrigerant in the air, lack of oxygen": "refrigerant-exposure",
    "flammable refrigerant": "flammable-refrigerant",
    "carbon dioxide": "carbon-dioxide",
    "nitrogen": "nitrogen-pressure",
    "cylinders and recovery": "cylinders-and-recovery",
    "brazing and hot work": "brazing-and-hot-work",
    "ladders, roof and weather": "ladders-and-roof",
    "rotating parts": "moving-fans",
    "food": "food-safety",
    "cleaner, oil and acid": "chemicals-and-acid",
    "lifting": "manual-handling",
    "restart and leaving": "restart",
    "venting and the law": "venting",
    "poison": "toxic-refrigerant",
}
BY_THE_PLANT = {"toxic-refrigerant"}  # no checklist names it: the plant brings it before the work
# Work that a step must declare, and the cautions it cannot go without.
WORK = {
    "gauges": {"stored-pressure"},
    "stems": {"stored-pressure"},
    "open-circuit": {"stored-pressure", "venting", "refrigerant-exposure", "lockout"},
    "add-refrigerant": {"stored-pressure", "venting", "cylinders-and-recovery", "cold-burns"},
    "recover-refrigerant": {"stored-pressure", "venting", "cylinders-and-recovery"},
    "live-electrics": {"electrical"},
    "dead-electrics": {"lockout"},
    "hands-in": {"lockout"},
    "drives": {"stored-charge"},
    "hot-work": {"brazing-and-hot-work", "refrigerant-exposure"},
    "nitrogen": {"nitrogen-pressure", "refrigerant-exposure"},
    "ladder": {"ladders-and-roof"},
    "fans": {"moving-fans"},
    "hot-lines": {"hot-surfaces"},
    "freezer": {"cold-burns"},
    "food": {"food-safety"},
    "chemicals": {"chemicals-and-acid"},
    "oil": {"oil-under-pressure"},
    "lift": {"manual-handling"},
    "carbon-dioxide": {"carbon-dioxide"},
}
OPENING = {"open-circuit", "hot-work", "add-refrigerant", "recover-refrigerant"}


def steps_of(checklist: Checklist) -> list[tuple[Phase, Step]]:
    """The steps of a checklist itself, without those it calls."""
    return [(phase, step) for phase in checklist.phases for step in phase.steps]


def above(checklist: Checklist, step: Step, phase: Phase) -> set[str]:
    """The cautions that were answered when a step is reached, under whatever conditions."""
    found = set()
    for within, each in steps_of(checklist):
        if each is step:
            return found
        if each.type == "caution" and (within.once or within is phase):
            found.add(each.text)
    return found


def declared(step: Step, rulebase: Rulebase) -> set[str]:
    """The cautions that the program itself asks for before a step."""
    work = {name for each in step.does for name in rulebase.cautions_for(each)}
    return work | {name for q in step.quantities for name in rulebase.quantities[q].cautions}


def said(step: Step) -> str:
    return " ".join((step.text if step.type == "instruct" else "", step.say, step.how))


def test_each_hazard_has_its_caution_and_each_caution_stands_in_a_checklist(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    assert set(HAZARDS.values()) == set(shipped_rulebase.cautions)
    used = {s.text for c in checklists.values() for _, s in steps_of(c) if s.type == "caution"}
    assert used == set(HAZARDS.values()) - BY_THE_PLANT


def test_each_kind_of_work_has_its_cautions_and_some_step_that_does_it(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    for work, cautions in WORK.items():
        assert cautions <= set(shipped_rulebase.cautions_for(work)), work
    done = {work for c in checklists.values() for _, s in steps_of(c) for work in s.does}
    assert set(WORK) <= done


def test_each_checklist_begins_with_a_look_around_and_ends_with_the_restart(
    checklists: dict[str, Checklist],
) -> None:
    for checklist in checklists.values():
        if checklist.id == "refrigerant-log-entry":  # paper alone: nothing is touched
            continue
        steps = [step for _, step in steps_of(checklist)]
        first = 1 if steps[0].text == COMPLAINT else 0  # what the store says is heard before
        assert steps[first].text == "job-hazard", checklist.id
        signs = [n for n, step in enumerate(steps) if step.type == "sign"]
        restarts = [n for n, step in enumerate(steps) if step.text == "restart"]
        assert max(restarts) < max(signs), checklist.id


def test_no_words_of_a_step_give_away_a_hazard_that_was_not_said_before(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    wrong, hits = [], 0
    for checklist in checklists.values():
        for phase, step in steps_of(checklist):
            if step.type in ("caution", "stop") or step.called is not None or step.harmless:
                continue
            hinted = cautions_in(said(step), shipped_rulebase)
            hits += len(hinted)
            missing = hinted - above(checklist, step, phase)
            if step.type in ("instruct", "adjust", "restore"):
                missing |= hinted - declared(step, shipped_rulebase)
            wrong += [(checklist.id, step.id, name) for name in sorted(missing)]
    assert hits > 100
    assert wrong == []


def test_whatever_opens_a_circuit_asks_for_the_class_of_the_refrigerant_first(
    checklists: dict[str, Checklist],
) -> None:
    opening = [
        (checklist, phase, step)
        for checklist in checklists.values()
        for phase, step in steps_of(checklist)
        if OPENING & {*step.does}
    ]
    assert len(opening) > 10
    for checklist, phase, step in opening:
        assert "flammable-refrigerant" in above(checklist, step, phase), (checklist.id, step.id)


BAD = """
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
        - instruct: {text}
          id: do-it
          does: [{work}]
        - sign: Name
"""


@pytest.mark.parametrize("work", sorted(WORK))
def test_a_planted_step_without_its_caution_is_refused(
    work: str, shipped_rulebase: Rulebase
) -> None:
    text = BAD.replace("{text}", "Do it.").replace("{work}", work)
    with pytest.raises(PackError) as caught:
        parse_checklist(text, "planted.yaml", shipped_rulebase)
    told = str(caught.value)
    for caution in WORK[work]:
        assert f"'do-it' needs the caution '{caution}' to be answered before." in told
    lines = "".join(f"        - caution: {name}\n" for name in shipped_rulebase.cautions_for(work))
    mended = text.replace("        - instruct", f"{lines}        - instruct")
    assert parse_checklist(mended, "planted.yaml", shipped_rulebase).id == "planted"


def test_work_that_nobody_knows_is_refused_with_the_nearest_name(
    shipped_rulebase: Rulebase,
) -> None:
    text = BAD.replace("{text}", "Do it.").replace("{work}", "nitrogn")
    with pytest.raises(PackError, match=r"There is no work 'nitrogn'\.[\s\S]*nitrogen"):
        parse_checklist(text, "planted.yaml", shipped_rulebase)


def test_a_planted_step_that_declares_nothing_is_given_away_by_its_words(
    shipped_rulebase: Rulebase,
) -> None:
    text = BAD.replace("          does: [{work}]\n", "")
    text = text.replace("{text}", "Recover it, then braze the joint; brazing it takes a torch.")
    with pytest.raises(PackError) as caught:
        parse_checklist(text, "planted.yaml", shipped_rulebase)
    told = str(caught.value)
    assert "planted.yaml:15:" in told
    assert "'do-it' says 'brazing it' and does not declare the work." in told
    assert "does: [hot-work]" in told
    because = text.replace("          id: do-it\n", (
        "          id: do-it\n          harmless: it is said by the sheet of another trade\n"
    ))  # fmt: skip
    assert parse_checklist(because, "planted.yaml", shipped_rulebase).id == "planted"


def test_a_caution_of_the_first_round_does_not_count_for_the_second(
    shipped_rulebase: Rulebase,
) -> None:
    text = BAD.replace("      stage: as found\n", (
        "      stage: as left\n      repeat: {ask: adjustment_wanted, while: yes, at_most: 2}\n"
    )).replace("{text}", "Do it.").replace("{work}", "ladder")  # fmt: skip
    before = text.replace("    - id: first\n", (
        "    - id: before\n      title: Before\n      stage: as found\n      steps:\n"
        "        - caution: ladders-and-roof\n    - id: first\n"
    ))  # fmt: skip
    with pytest.raises(PackError, match="in this phase, for it repeats"):
        parse_checklist(before, "planted.yaml", shipped_rulebase)


def test_the_remedies_of_every_cause_come_with_the_cautions_their_words_ask_for(
    shipped_rulebase: Rulebase,
) -> None:
    wrong = {
        (cause.id, "do", name)
        for cause in shipped_rulebase.causes.values()
        for name in cautions_in(" ".join(each.text for each in cause.remedy), shipped_rulebase)
        if name not in cause.cautions
    }
    # carbon dioxide may lawfully be let go, so a cause of its charge needs no such caution
    assert wrong <= {("co2-short-of-charge", "do", "venting")}


@pytest.mark.parametrize("depth", ["newer", "experienced"])
@pytest.mark.parametrize("everything", [True, False])
def test_a_remedy_on_the_screen_comes_with_its_hazards(
    depth: str, everything: bool, walked: Walk, shipped_rulebase: Rulebase
) -> None:
    walk = walked(DEMO / "liquid-drier-check-and-change.a-plugged-cores.answers.yaml")
    runner, picture = walk.runner, walk.session.picture
    texts = Texts(runner, walk.evaluator, depth=depth)
    active = next(a for a in runner.plan(picture) if a.step.id == "think-as-found")
    at = StepView(picture, active, walk.session.now(), Layout(60))
    shown = " ".join(" ".join(texts.thinking(at, everything=everything)).split())
    cautions = shipped_rulebase.causes["drier-restricted"].cautions
    assert len(cautions) > 3
    for name in cautions:
        caution = shipped_rulebase.cautions[name]
        assert caution.title in shown
        assert (" ".join(" ".join(caution.say).split()) in shown) == everything
