"""Hazards belong to the refrigerant and the work: a checklist need not name them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock

from expert.errors import PackError, ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.procedure.fitting import why_not
from expert.procedure.load_checklists import parse_checklist
from expert.procedure.read_answers import parse_answers
from expert.procedure.runner import runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session

RULES = """
pack: {name: small, version: 1.0}
certainty:
  strengths: {strong: 0.75}
  words: [{from: 0, say: possible}]
  threshold: 0.2
  source: from memory
quantities:
  - {id: pressure, title: pressure, subject: rack, kind: gauge_pressure, cautions: [eyes],
     refuse: "below 0 psig, above 600 psig", source: from memory,
     ranges: [{applies: {refrigerant: R-744}, refuse: "below 50 psig, above 2200 psig",
               source: from memory}]}
  - {id: volts, title: volts, subject: rack, kind: voltage, cautions: [live], source: from memory}
  - {id: wanted, title: change something, subject: rack, kind: choice, choices: ["yes", "no"],
     source: from memory}
cautions:
  - {id: eyes, title: Eyes, say: [Look out.], ask: Ready?, for: [gauges, opening-up],
     access: gauges, source: from memory}
  - {id: live, title: Live, say: [Look out.], ask: Ready?, for: [live-work],
     access: gauges, source: from memory}
  - {id: co2, title: Carbon dioxide, say: [Rated hoses.], ask: Rated?,
     on: {refrigerant: R-744}, before: [gauges, opening-up], source: from memory}
  - {id: fire, title: Flammable, say: [No flame.], ask: No flame?,
     on: {safety_class: [A2L, A3]}, before: [gauges], source: from memory}
"""
HEAD = """
checklist:
  id: small
  title: Small
  revision: 1
  purpose: For the tests.
  subject: rack
  source: from memory
"""
STEPS = """
  phases:
    - id: first
      title: First
      stage: as found
      steps:
        - caution: live
        - ask: volts
        - caution: eyes
        - instruct: Fit it.
          id: fit
          does: [gauges]
          opens: gauges
        - ask: pressure
    - id: again
      title: Again
      stage: as left
      repeat: {ask: wanted, while: "yes", at_most: 3}
      steps:
        - caution: eyes
          id: eyes-again
        - instruct: Open it.
          id: open-it
          does: [opening-up]
        - ask: pressure
          id: left-pressure
    - id: last
      title: Last
      stage: as left
      steps:
        - restore: gauges
"""


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Rulebase:
    folder = tmp_path_factory.mktemp("rules")
    (folder / "all.yaml").write_text(RULES, encoding="utf-8")
    return load_rulebase(folder)


def rack(refrigerant: str) -> Subject:
    facts = {"refrigerant": refrigerant} if refrigerant else {}
    return Subject("A", "Rack A", "rack", "A", facts)


def session(rules: Rulebase, refrigerant: str, text: str = HEAD + STEPS) -> Session:
    checklist = parse_checklist(text, "small.yaml", rules)
    runner = runner_for(checklist, Evaluator(rules, rack(refrigerant), backend="plain"))
    return Session(runner, MemoryLog(), "job", now=StandingClock())


def walk(at: Session, rounds: int = 1) -> list[str]:
    """The keys in the order in which they are asked, with `rounds` of changing something."""
    keys = []
    while (active := at.current) is not None:
        keys.append(active.key)
        if active.loop:
            at.answer("yes" if active.turn <= rounds else "no")
        elif active.quantity:
            at.answer("100", sure=True)
        else:
            at.answer("yes")
    return keys


PLAIN = ["live", "volts", "eyes", "fit", "pressure"]


@pytest.mark.parametrize("refrigerant", ["R-449A", "R-404A"])
def test_an_ordinary_plant_gets_nothing_more(refrigerant: str, rules: Rulebase) -> None:
    assert walk(session(rules, refrigerant))[:5] == PLAIN


@pytest.mark.parametrize(
    ("refrigerant", "caution"),
    [
        ("R-744", "co2"),
        ("R-454C", "fire"),
        ("R-454A", "fire"),
        ("R-455A", "fire"),
        ("R-290", "fire"),
    ],
)
def test_the_caution_of_the_refrigerant_comes_before_gauges_and_not_before_volts(
    refrigerant: str, caution: str, rules: Rulebase
) -> None:
    keys = walk(session(rules, refrigerant))
    assert keys[:6] == ["live", "volts", "eyes", f"fit.{caution}", "fit", "pressure"]


def test_what_opens_gets_it_anew_in_each_round(rules: Rulebase) -> None:
    keys = walk(session(rules, "R-744"), rounds=2)
    assert [key for key in keys if "co2" in key] == [
        "fit.co2", "open-it.co2@1", "open-it.co2@2",
    ]  # fmt: skip
    assert keys[keys.index("open-it.co2@2") + 1] == "open-it@2"


def test_a_plant_that_is_not_known_gets_the_cautions_of_all_that_it_may_be(rules: Rulebase) -> None:
    assert {"fit.co2", "fit.fire"} <= {*walk(session(rules, ""))}


def test_a_reading_alone_brings_it_too(rules: Rulebase) -> None:
    text = (HEAD + STEPS).replace("          does: [gauges]\n", "")
    assert walk(session(rules, "R-744", text))[:6] == [
        "live", "volts", "eyes", "fit", "pressure.co2", "pressure",
    ]  # fmt: skip


def test_a_caution_that_the_author_put_there_counts(rules: Rulebase) -> None:
    first = "        - caution: live\n"
    text = (HEAD + STEPS).replace(first, "        - caution: co2\n" + first)
    keys = walk(session(rules, "R-744", text), rounds=0)
    assert [key for key in keys if "co2" in key] == ["co2"]


def test_skipping_it_is_a_no_that_leaves_out_what_it_guards(rules: Rulebase) -> None:
    at = session(rules, "R-744")
    for text in ("yes", "230", "yes"):
        at.answer(text)
    assert at.current is not None and at.current.key == "fit.co2"
    at.skip("no meter here")
    assert at.current is not None
    assert at.current.key not in ("fit", "pressure")
    left = [each.step.id for each in at.runner.left_out(at.picture)]
    assert "fit" in left


def test_what_protects_is_shown_after_a_no_and_not_done(rules: Rulebase) -> None:
    text = HEAD + STEPS.replace(
        "          does: [opening-up]\n", "          does: [opening-up]\n          protects: yes\n"
    )
    at = session(rules, "R-744", text)
    while at.current is not None and at.current.step.id != "open-it":
        if at.current.step.type == "caution" and at.current.step.id.startswith("open-it."):
            at.skip("the room meter is flat")
        elif at.current.loop:
            at.answer("yes")
        else:
            at.answer({"caution": "yes", "ask": "200"}.get(at.current.step.type, ""))
    assert at.current is not None
    with pytest.raises(ReadingError, match="Go back and answer it with yes") as refused:
        at.answer("")
    assert str(refused.value) == at.runner.expected(at.current)
    assert at.current.step.id == "open-it"
    at.skip("nobody opens it today")
    assert at.current.step.id != "open-it"


def test_nothing_is_put_back_after_a_no_to_the_hazard_of_the_plant(rules: Rulebase) -> None:
    text = (HEAD + STEPS).replace(
        "        - restore: gauges\n", "        - restore: gauges\n          does: [gauges]\n"
    )
    at = session(rules, "R-744", text)
    for answer in ("yes", "230", "yes", "yes", ""):
        at.answer(answer)
    assert at.current is not None and at.current.key == "pressure"
    at.back()
    at.back()
    at.skip("the room meter is flat")
    while at.current is not None and at.current.step.type != "restore":
        if at.current.key == "restore-gauges.co2":
            break
        at.answer("no" if at.current.loop else "yes")
    assert at.current is not None and at.current.key == "restore-gauges.co2"
    at.skip("flat still")
    assert at.current.key == "restore-gauges"
    with pytest.raises(ReadingError, match="Go back and answer it with yes"):
        at.answer("")
    at.back()
    at.answer("yes")
    at.answer("")
    assert at.picture.still_open == ()


def test_an_answers_file_answers_it_under_the_step(rules: Rulebase) -> None:
    at = session(rules, "R-744")
    answers = """
answers: {live: yes, volts: 230, eyes: yes, fit.co2: yes, fit: done, pressure: 410, gauges: done,
          restore-gauges: done}
"""
    with pytest.raises(ReadingError, match=r"Unknown|no key|unknown"):
        parse_answers(answers, "a.yaml", at.runner.checklist)
    answers = answers.replace("gauges: done,\n          ", "")
    for _ in play(at, parse_answers(answers, "a.yaml", at.runner.checklist)):
        pass
    assert at.finished
    assert len(at.picture.acknowledged) == 3


def test_the_range_follows_the_refrigerant(rules: Rulebase) -> None:
    for refrigerant, taken, refused in (("R-744", "1350", "20"), ("R-449A", "20", "1350")):
        at = session(rules, refrigerant)
        while at.current is not None and at.current.quantity != "pressure":
            at.answer("230" if at.current.quantity else "yes")
        with pytest.raises(ReadingError, match="cannot be"):
            at.answer(refused)
        at.answer(taken)
        assert at.runner.readings(at.picture)[-1].text == taken


def test_a_step_may_be_for_one_plant_only_and_shows_where_that_is_unknown(rules: Rulebase) -> None:
    text = (HEAD + STEPS).replace("        - ask: volts\n", (
        "        - instruct: Tee.\n          id: tee\n          not_for: {refrigerant: R-744}\n"
        "        - instruct: Rated.\n          id: rated\n          applies: {refrigerant: R-744}\n"
    ))  # fmt: skip
    for refrigerant, shown in (
        ("R-744", ["rated"]), ("R-449A", ["tee"]), ("", ["tee", "rated"]),
    ):  # fmt: skip
        keys = walk(session(rules, refrigerant, text))
        assert [key for key in keys if key in ("tee", "rated")] == shown


def test_a_caution_for_one_plant_does_not_stand_for_all(rules: Rulebase) -> None:
    text = (HEAD + STEPS).replace(
        "        - caution: eyes\n        - instruct: Fit",
        "        - caution: eyes\n          applies: {refrigerant: R-744}\n        - instruct: Fit",
    )
    with pytest.raises(PackError, match="'fit' needs the caution 'eyes'"):
        parse_checklist(text, "small.yaml", rules)


def test_a_checklist_says_for_which_plants_it_is(rules: Rulebase) -> None:
    more = "  made_for: racks with a receiver\n  not_for: {refrigerant: R-744}\n"
    checklist = parse_checklist(HEAD + more + STEPS, "small.yaml", rules)
    assert why_not(checklist, rack("R-449A")) == ""
    told = why_not(checklist, rack("R-744"))
    assert told == "it is not for refrigerant R-744; it is for racks with a receiver"
    by_class = replace(checklist, not_for={"safety_class": ("A2L", "A3")})
    assert why_not(by_class, rack("R-290")).startswith("it is not for safety class A3")


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ("on: {refrigerant: R-744}, before: [gagues]", "There is no work 'gagues'"),
        ("on: {refrigerant: R-7444}, before: [gauges]", "There is no refrigerant 'R-7444'"),
        ("on: {safety_class: A5}, before: [gauges]", "There is no safety_class 'A5'"),
        ("before: [gauges]", "needs both 'on:' and 'before:'"),
    ],
)
def test_a_hazard_of_a_plant_that_cannot_work_is_refused(
    wrong: str, told: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("wrong")
    text = RULES.replace("on: {refrigerant: R-744}, before: [gauges, opening-up]", wrong)
    (folder / "all.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(PackError) as caught:
        load_rulebase(folder)
    assert told in str(caught.value)
