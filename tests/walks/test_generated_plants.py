"""Generated walks on carbon dioxide, flammable and toxic plants: no gauge before its caution.

The oracle does not use the program's own idea of which step is hazardous: it goes by the kinds of
work, and by readings whose cautions speak of pressure, opening, nitrogen or a torch.

After a no at the caution such a step is not reached. Only what protects is shown all the same, a
stop or a step with `protects: yes`, so that nobody misses it; it is not done then.
"""

from __future__ import annotations

import os
import random
import re
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from walked_job import DEMO, NoLog

from expert.cli.frame.main import main
from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site, parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.plants import suited
from expert.knowledge.site import Site, Subject
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.checklist import Checklist
from expert.procedure.fitting import why_not
from expert.procedure.runner import runner_for
from expert.procedure.session import Session
from expert.report.handbook import render_handbook
from expert.terminal.layout import Layout
from expert.terminal.texts import Texts
from expert.units.kinds import Kind
from expert.units.measure import format_value

NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
# Of all checklists in turn; by day the three kinds of plant share them.
WALKS = 1000 if NIGHTLY else 3
LONGEST = 4000
WORK = {
    "gauges", "stems", "open-circuit", "add-refrigerant", "recover-refrigerant", "replace-charge",
    "replace-compressor", "charge-carbon-dioxide", "purge-non-condensables", "hot-work", "nitrogen",
    "oil",
}  # fmt: skip
READINGS = {"stored-pressure", "venting", "nitrogen-pressure", "oil-under-pressure"}
PAPER = "refrigerant-log-entry"


@pytest.fixture(scope="module")
def site_text() -> str:
    return (DEMO / "site.yaml").read_text(encoding="utf-8")


def plants(text: str, rulebase: Rulebase, refrigerants: tuple[str, str, str]) -> Site:
    """The demo site with other refrigerants in its three racks."""
    names = iter(refrigerants)
    text = re.sub(r"(?m)^    refrigerant: .*$", lambda _: f"    refrigerant: {next(names)}", text)
    site = parse_site(text, "site.yaml", rulebase)
    assert tuple(site.subjects[rack].facts["refrigerant"] for rack in "ABC") == refrigerants
    return site


def jobs(site: Site, checklists: dict[str, Checklist]) -> list[tuple[Checklist, Subject]]:
    """Every checklist with every subject it may be run on."""
    return [
        (checklist, subject)
        for checklist in checklists.values()
        for subject in site.subjects.values()
        if checklist.id != PAPER and not why_not(checklist, subject)
    ]


def hazardous(active: Active, rulebase: Rulebase) -> bool:
    if active.step.type == "caution":
        return False
    quantity = rulebase.quantities.get(active.quantity)
    read = set(quantity.cautions) & READINGS if quantity else set()
    return bool(WORK & {*active.step.does} or read)


class Walker:
    """Answers at random: yes to cautions, any value that is taken, skips and steps back."""

    def __init__(
        self,
        checklist: Checklist,
        subject: Subject,
        site: Site,
        rules: Rulebase,
        n: int,
        caution: str,
    ) -> None:
        self.chance = random.Random(f"{checklist.id} {subject.id} {n}")
        self.subject, self.rules, self.caution = subject, rules, caution
        self.done_without: list[tuple[str, str, int, str]] = []
        self.where = (checklist.id, subject.id, n)
        evaluator = Evaluator(rules, subject, members=site.members(subject), backend="plain")
        start = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)
        times = iter(start + timedelta(seconds=20 * k) for k in range(100_000))
        runner = runner_for(checklist, evaluator)
        self.session = Session(runner, NoLog(), "job", now=lambda: next(times))

    def reached(self) -> Iterator[Active]:
        """Each step as it is asked, until the job is done."""
        for _ in range(LONGEST):
            active = self.session.current
            if active is None:
                return
            yield active
            yes, _ = self.said(self.caution)
            self.act(active)
            if self.did(active) and hazardous(active, self.rules) and not yes:
                self.done_without.append((*self.where, active.key))
        raise AssertionError(f"no end after {LONGEST} entries: {active}")

    def act(self, active: Active) -> None:
        turn = self.chance.random()
        why = "no time for it today"
        try:
            if turn < 0.03 and len(self.session.picture.entries) > 3:
                self.session.back()
            elif turn < self.skips(active):
                self.session.skip(why, member=0.09 < turn < 0.11 and bool(active.subject))
            else:
                self.answer(active)
        except ReadingError:  # not to be skipped, left out already, or nothing to be asked again
            if active.step.type == "stop" or active.step.protects:
                self.session.skip(why)
            else:
                self.answer(active)

    def skips(self, active: Active) -> float:
        """How often a step is skipped. A no at a caution leaves out what it guards, so that a walk
        with many of them would reach nothing that has to be judged."""
        return {"caution": 0.05, "stop": 0.08}.get(active.step.type, 0.11)

    def did(self, active: Active) -> bool:
        """Whether the step was just answered as done or read."""
        last = self.session.picture.entries[-1]
        return last.step == active.key and last.kind in ("answer", "done", "adjust", "clock")

    def said(self, caution: str) -> tuple[bool, bool]:
        """Whether a caution is answered with yes, and whether it is answered at all."""
        picture = self.session.picture
        yes = any(entry.text("caution") == caution for entry in picture.acknowledged)
        return yes, yes or any(entry.text("caution") == caution for entry in picture.refused)

    def answer(self, active: Active) -> None:
        if active.step.type == "adjust":
            self.session.adjust("one thing", "as found", "a little")
        else:
            outcome = self.session.answer(self.text(active), sure=True)
            assert not isinstance(outcome, NeedsConfirmation)

    def text(self, active: Active) -> str:
        if active.loop:
            no = [each for each in self.rules.quantities[active.quantity].choices if each == "no"]
            if no and self.chance.random() < 0.6:
                return "no"
        if active.quantity:
            return self.value(active)
        if active.step.type == "members":
            return self.chance.choice(active.offers) if active.offers else ""
        by_type = {
            "caution": "yes",
            "sign": "A. Sample (invented)",
            "close": "stopped early: night",
        }
        return by_type.get(active.step.type, "")

    def value(self, active: Active) -> str:
        subject = self.session.runner.members.get(active.subject, self.subject)
        quantity = suited(self.rules.quantities[active.quantity], subject)
        if quantity.is_choice:
            # the first is mostly as it should be, and with it the walk gets further
            usual = self.chance.random() < 0.5
            return self.chance.choice(tuple(quantity.choices)[: 1 if usual else None])
        if quantity.kind is Kind.TEXT:
            return "4711"
        low = quantity.refuse_below if quantity.unusual_below is None else quantity.unusual_below
        high = quantity.refuse_above if quantity.unusual_above is None else quantity.unusual_above
        low = (high or 1.0) - abs(high or 1.0) if low is None else low
        high = low + max(abs(low), 1.0) if high is None else high
        at = low + (high - low) * self.chance.uniform(0.05, 0.95)
        return format_value(quantity.kind, at, digits=4)


@pytest.mark.parametrize(
    ("caution", "refrigerants", "first"),
    [
        ("carbon-dioxide", ("R-744", "R-744", "R-744"), 0),
        ("flammable-refrigerant", ("R-454C", "R-455A", "R-290"), 9),
        ("toxic-refrigerant", ("R-717", "R-717", "R-717"), 18),
    ],
)
def test_no_gauge_stem_opening_or_charge_is_reached_before_the_plants_caution(
    caution: str,
    refrigerants: tuple[str, str, str],
    first: int,
    site_text: str,
    shipped_rulebase: Rulebase,
    checklists: dict[str, Checklist],
) -> None:
    site = plants(site_text, shipped_rulebase, refrigerants)
    todo = jobs(site, checklists)
    # every checklist as often, and of each its subjects in turn
    by_checklist: dict[str, list[tuple[Checklist, Subject]]] = {}
    for job in todo:
        by_checklist.setdefault(job[0].id, []).append(job)
    turns = Counter[str]()
    reached, ends, without, done = 0, 0, [], []
    for n in range(first, first + WALKS):
        name = list(by_checklist)[n % len(by_checklist)]
        checklist, subject = by_checklist[name][turns[name] % len(by_checklist[name])]
        turns[name] += 1
        walker = Walker(checklist, subject, site, shipped_rulebase, n, caution)
        for active in walker.reached():
            if not hazardous(active, shipped_rulebase):
                continue
            reached += 1
            yes, answered = walker.said(caution)
            shown = active.step.type == "stop" or active.step.protects
            if not (yes or (answered and shown)):
                without.append((checklist.id, subject.id, n, active.key))
        ends += walker.session.finished
        done += walker.done_without
    assert without == done == []
    assert ends == WALKS
    assert reached > 5 * WALKS


def test_what_is_not_for_carbon_dioxide_is_refused_there_and_says_what_it_is_for(
    site_text: str, shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    site = plants(site_text, shipped_rulebase, ("R-744", "R-744", "R-744"))
    run = {checklist.id for checklist, _ in jobs(site, checklists)} | {PAPER}
    refused = set(checklists) - run
    assert refused == {
        "condenser-and-head-pressure-cold", "condenser-and-head-pressure-warm",
        "defrost-differential-setting", "evaporator-pressure-regulator", "heat-reclaim-check",
        "hot-gas-defrost-checkout", "liquid-drier-check-and-change", "liquid-quality",
        "receiver-level-and-charge", "suction-filter-and-line-drop", "suction-set-point-worksheet",
    }  # fmt: skip
    for name in refused:
        checklist = checklists[name]
        kind = next(each for each in site.subjects.values() if each.kind == checklist.subject)
        told = why_not(checklist, kind)
        assert "it is not for refrigerant R-744" in told, name
        assert checklist.made_for.removesuffix(".") in told


def test_every_checklist_says_for_which_plants_it_is(checklists: dict[str, Checklist]) -> None:
    for checklist in checklists.values():
        assert len(checklist.made_for) > 20, checklist.id


def test_it_is_told_where_a_person_chooses_and_begins(
    checklists: dict[str, Checklist], shipped_rulebase: Rulebase, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["list"]) == 0
    listed = " ".join(capsys.readouterr().out.split())
    book = render_handbook(shipped_rulebase, checklists.values()).replace("\\", "")
    site = load_site(DEMO / "site.yaml", shipped_rulebase)
    for checklist in checklists.values():
        told = " ".join(checklist.made_for.split())
        assert f"made for: {told}" in listed, checklist.id
        assert f"Made for {told}" in book, checklist.id
    evaluator = Evaluator(shipped_rulebase, site.subjects["A4"], backend="plain")
    runner = runner_for(checklists["hot-gas-defrost-checkout"], evaluator)
    opening = " ".join(" ".join(Texts(runner, evaluator).opening("a store", Layout(60))).split())
    assert " ".join(checklists["hot-gas-defrost-checkout"].made_for.split()) in opening
