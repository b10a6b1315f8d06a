"""Readings in any allowed order give the same findings, none before its hazards."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta
from random import Random

import pytest
from budget import NIGHTLY
from found_in_walk import found
from large_rack import large_site, large_visit
from typed_walk import type_through
from walked_job import DEMO, HERE, NoLog, begun, job_of

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.procedure.answers import Answers
from expert.procedure.checklist import Checklist
from expert.procedure.left_out import guards
from expert.procedure.open_now import takeable
from expert.procedure.runner import runner_for
from expert.procedure.screens import BRIEF, DEPTHS, HAZARDS, WORKING, ticked
from expert.procedure.scripted import _enter
from expert.procedure.session import Session
from expert.procedure.wait_guard import too_early
from expert.report.render import gather, render
from expert.report.views import VIEWS

WALKS = [
    "hot-gas-defrost-checkout.a4-low-differential",
    "preventive-maintenance-walk.a-dirty-condenser",
    "hot-gas-defrost-checkout.a6-suction-stop-leaking",
    "warm-case-triage.a5-plugged-screen",
    "electric-defrost-checkout.a8-element-open",
]
EVERY = [path.name.removesuffix(".answers.yaml") for path in sorted(DEMO.glob("*.answers.yaml"))]
# What is read decides there what is asked next, so another order is another search.
IN_ORDER = ("find-the-fault",)
FREE = [name for name in EVERY if name not in WALKS and not name.startswith(IN_ORDER)]
ORDERS = [(name, seed) for seed in range(8) for name in WALKS] + [(name, 0) for name in FREE]
Checklists = dict[str, Checklist]
TIMES = re.compile(r"\d{4}-\d\d-\d\d|\b\d\d:\d\d(:\d\d)?\b|\b(\d+ h )?\d+ min\. These")


@pytest.fixture(scope="module")
def site(shipped_rulebase: Rulebase) -> Site:
    return load_site(DEMO / "site.yaml", shipped_rulebase)


def told(session: Session, site: Site, view: str) -> str:
    """What a view of the job says, without times: these follow the order of entry."""
    report = gather(job_of(session, site), session.picture.entries, session.runner, backend="plain")
    return TIMES.sub("TIME", render(report, view, "markdown"))


def jump_about(session: Session, answers: Answers, random: Random) -> int:
    """Walks a file, at each step perhaps first giving readings that are asked later; how many."""
    ahead = 0
    while (active := session.current) is not None:
        offered = [each for each in takeable(session.open_now()) if each.active.step.type != "time"]
        for offer in random.sample(offered, min(len(offered), random.choice((0, 0, 1, 3)))):
            now = {each.active.key for each in takeable(session.open_now())}
            given = answers.find(offer.active, "")
            if offer.active.key not in now or given is None or given.text is None or given.minute:
                continue
            if too_early(session.runner, session.picture, offer.active, given.text, session.now()):
                continue  # its clock has not run yet: it would be kept as a note as well
            plan = session.runner.plan(session.picture)
            above = plan[: [each.key for each in plan].index(offer.active.key)]
            unanswered = {
                each.step.text for each in above if each.step.type == "caution" and not each.closed
            }
            assert not guards(offer.active.step, session.runner.rulebase) & unanswered
            session.take_at(offer.active.key, given.text, sure=True)
            ahead += 1
        active = session.current
        if active is None:
            break
        given = answers.find(active, "no")
        if active.searched:
            given = answers.in_search(active, session.picture.closed)
        if given is None:
            session.answer("")
        else:
            _enter(session, active, given)
    return ahead


@pytest.mark.parametrize(("name", "seed"), ORDERS if NIGHTLY else ORDERS[3:4])
def test_any_order_that_is_allowed_gives_the_same_findings(
    name: str, seed: int, site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    in_order, answers = begun(name, site, shipped_rulebase, checklists)
    jump_about(in_order, answers, _Never())
    about, answers = begun(name, site, shipped_rulebase, checklists)
    assert jump_about(about, answers, Random(seed)) > 5
    assert found(about) == found(in_order)
    for view in VIEWS if NIGHTLY else VIEWS[:1]:
        assert told(about, site, view) == told(in_order, site, view)


class _Never(Random):
    """Never jumps ahead."""

    def choice(self, seq: object) -> int:  # type: ignore[override]
        return 0


@pytest.mark.parametrize("name", EVERY if NIGHTLY else EVERY[32::32])
def test_the_same_is_found_at_every_depth_and_with_tables(
    name: str, site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    told = []
    for depth in DEPTHS:
        session, answers = begun(name, site, shipped_rulebase, checklists)
        type_through(session, answers, depth, tables=depth == BRIEF)
        assert session.finished
        told.append(found(session))
    assert told[0] == told[1] == told[2]


def test_the_counts_of_a_healthy_checkout_hold(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    name = "hot-gas-defrost-checkout.a4-healthy"
    session, answers = begun(name, site, shipped_rulebase, checklists)
    typed = type_through(session, answers, WORKING)
    assert (typed.prompts <= 58, typed.others <= 11) == (True, True), typed
    session, answers = begun(name, site, shipped_rulebase, checklists)
    assert type_through(session, answers, BRIEF, tables=True).prompts <= 32


def test_the_counts_of_a_preventive_walk_hold(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    name = "preventive-maintenance-walk.a-healthy"
    session, answers = begun(name, site, shipped_rulebase, checklists)
    assert type_through(session, answers, WORKING).prompts <= 90


def test_a_triage_of_healthy_looks_takes_little_more_than_half_of_its_prompts(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    session, answers = begun("warm-case-triage.a3-healthy", site, shipped_rulebase, checklists)
    assert type_through(session, answers, WORKING).prompts <= 32  # 57 when each step was one


def test_a_fan_that_stands_leads_to_its_repair_and_not_through_the_motor_room(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    session, _ = begun("warm-case-triage.a3-healthy", site, shipped_rulebase, checklists)

    def in_the_motor_room() -> list[str]:
        plan = session.runner.plan(session.picture)
        return [e.quantity for e in plan if e.phase.id == "motor-room" and e.quantity]

    assert len(in_the_motor_room()) > 10
    for caution in ("job-hazard", "food-safety"):
        session.confirm(caution, "yes")
    session.take_at("circuit-mode", "cooling")
    session.take_at("fans-in-cooling", "one or more stopped", sure=True)
    assert in_the_motor_room() == []


def test_a_heater_that_is_warm_while_it_cools_is_locked_out_and_no_defrost_is_started(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    name = "electric-defrost-checkout.a8-healthy"
    session, answers = begun(name, site, shipped_rulebase, checklists)

    def to_come() -> list[str]:
        return [each.step.id for each in session.runner.plan(session.picture) if not each.closed]

    while (active := session.current) is not None and active.step.id != "heaters-in-cooling":
        given = answers.find(active, "no")
        assert given is not None
        _enter(session, active, given)
    assert "clock-defrost" in to_come()
    session.answer("warm", sure=True)
    assert to_come()[:2] == ["lockout-now", "lock-it-out-now"]
    assert not {"clock-defrost", "defrost-time", "heater-elements"} & {*to_come()}
    assert "panel-on" in to_come()


@pytest.mark.skipif(not NIGHTLY, reason="every walk at two depths: nightly")
def test_every_list_takes_about_half_of_its_prompts_with_tables(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    before = json.loads((HERE / "prompts_before.json").read_text(encoding="utf-8"))
    for name, (prompts, _) in before.items():
        if name.startswith("find-the-fault"):  # each reading is chosen by the one before
            continue
        counts = []
        for depth in (WORKING, BRIEF):
            session, answers = begun(name, site, shipped_rulebase, checklists)
            counts.append(type_through(session, answers, depth, tables=depth == BRIEF).prompts)
        assert counts[0] <= prompts, name
        # a short list with moments takes more: what is read as cooling comes back is no row before
        assert counts[1] <= 0.65 * prompts, name


@pytest.mark.skipif(not NIGHTLY, reason="a visit of a large rack takes seconds: nightly")
def test_a_rack_of_twenty_five_circuits_is_walked_by_its_exceptions(
    shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    checklist = checklists["preventive-maintenance-walk"]
    healthy = (DEMO / f"{checklist.id}.a-healthy.answers.yaml").read_text(encoding="utf-8")
    on = large_site(25, 6, shipped_rulebase)
    subject = on.subjects["L"]
    evaluator = Evaluator(shipped_rulebase, subject, members=on.members(subject), backend="plain")
    start = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)
    times = iter(start + timedelta(seconds=20 * n) for n in range(1_000_000))
    session = Session(runner_for(checklist, evaluator), NoLog(), "job", now=lambda: next(times))
    typed = type_through(session, large_visit(25, 6, healthy, checklist), WORKING)
    assert session.finished
    assert typed.prompts <= 150, typed


def test_a_short_name_means_the_reading_that_can_be_taken_now(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    session, answers = begun(
        "hot-gas-defrost-checkout.a4-healthy", site, shipped_rulebase, checklists
    )
    for key, typed, meant in (
        ("circuit-pressure-before", "circuit pressure 13.7", "circuit-pressure-before"),
        ("hot-gas-header-pressure", "liquid header 138.9", "liquid-header-pressure"),
        ("suction-header-pressure", "suction header 8.6", "suction-header-pressure"),
    ):
        while (active := session.current) is not None and active.step.id != key:
            given = answers.find(active, "no")
            if given is None:  # values that are shown
                session.answer("")
            else:
                _enter(session, active, given)
        took = session.take(typed)
        assert took is not None
        assert took.active is not None
        assert (took.active.key, took.question, took.message) == (meant, "", "")


def test_each_hazard_of_a_screen_is_its_own_entry(
    site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    name = "hot-gas-defrost-checkout.a4-healthy"
    session, _ = begun(name, site, shipped_rulebase, checklists)
    session.lead(WORKING)
    screen = session.screen
    assert screen is not None and screen.kind == HAZARDS
    session.tick("2")
    acknowledged = [entry.text("caution") for entry in session.picture.acknowledged]
    assert acknowledged == [screen.parts[1].step.text]
    left = session.screen
    assert left is not None
    assert (left.kind, left.first.key) == ("step", screen.parts[0].key)
    with pytest.raises(ReadingError, match="Type the number of each"):
        ticked(screen, "y")
