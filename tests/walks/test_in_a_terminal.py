"""A whole hot-gas checkout in a real terminal: readings by name and out of order, some from a sheet
that was filled in on a phone without a network."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from budget import NIGHTLY
from typed_walk import _found, _is_so, _shortest
from walked_job import DEMO

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.procedure.answers import Answers
from expert.procedure.checklist import Checklist
from expert.procedure.open_now import takeable
from expert.procedure.read_answers import load_answers
from expert.procedure.runner import runner_for
from expert.procedure.screens import HAZARDS, STEP
from expert.procedure.session import Session
from expert.store.jobs import JobStore

if sys.platform == "win32":
    pytest.skip("needs a pseudo-terminal", allow_module_level=True)
if not NIGHTLY:
    pytest.skip("a whole walk in a terminal: nightly", allow_module_level=True)

sys.path += [str(Path(__file__).parents[1] / each) for each in ("terminal", "report")]
from browser import browser  # noqa: E402
from pty_child import PtyChild  # noqa: E402

NAME = "hot-gas-defrost-checkout.a4-healthy"
FROM_THE_SHEET = ("discharge-air-before", "warmest-product-before")
ASKS = ("Type y to keep it", "Why now", "As the name of", "Why: ", "Expected: ", "is no ")
WIDE, NARROW = (80, 24), (40, 20)


class Typist:
    """Types an answers file into a terminal; a session beside it says what is asked there."""

    def __init__(self, child: PtyChild, store: JobStore, session: Session, answers: Answers):
        self.child, self.store, self.session, self.answers = child, store, session, answers
        self.at = 0
        self.by_name = 0

    def line(self, text: str) -> str:
        """Types a line and waits until it was entered or asked about; what was shown."""
        self.child.type(f"{text}\r")
        end, shown, entered = time.monotonic() + 8, "", False
        while time.monotonic() < end and self.child.process.poll() is None:
            self.child.read(0.2)
            shown = self.child.text[self.at :]
            entered = bool(self.session.catch_up()) or entered
            done = entered or any(each in shown for each in ASKS)
            if done and shown.rstrip().endswith(">"):
                break
        self.at = len(self.child.text)
        if "Type y to keep it" in shown:
            return shown + self.line("y")
        return shown + self.line("a walk without a plant") if "Why now" in shown else shown

    def ahead(self, random: Random) -> None:
        """Sometimes types a reading that is asked later, by its name."""
        offered = [
            each for each in takeable(self.session.open_now())
            if each.active.step.type == "ask" and each.active.key not in FROM_THE_SHEET
        ]  # fmt: skip
        if not offered or random.random() < 0.6:
            return
        active = random.choice(offered).active
        found = self.answers.find(active, "")
        if found is not None and found.text:
            title = self.session.runner.rulebase.quantities[active.quantity].title
            self.line(f"{title} {found.text}")
            self.by_name += active.key in self.session.picture.closed

    def step(self) -> None:
        """Answers what is asked."""
        screen = self.session.screen
        assert screen is not None
        if screen.kind == STEP:
            found = _found(self.session, self.answers, screen.first)
            self.line(_shortest(self.session, screen.first, found.text or ""))
            return
        so = [_is_so(self.answers.find(e, ""), e, screen.kind) for e in screen.parts]
        wanted = so if screen.kind == HAZARDS else [not each for each in so]
        self.line(" ".join(str(n) for n, each in enumerate(wanted, 1) if each))


@pytest.fixture(params=[WIDE, NARROW], ids=["80x24", "40x20"])
def child(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[PtyChild]:
    columns, rows = request.param
    one = PtyChild(
        "run", NAME.partition(".")[0], "--site", str(DEMO / "site.yaml"), "--subject", "A4",
        "--jobs", str(tmp_path), "--who", "A. Sample", columns=columns, rows=rows,
        extra={"RACKWALK_HOME": str(tmp_path), "NO_COLOR": "1"},
    )  # fmt: skip
    try:
        one.wait_for("leaves>", seconds=60)
        yield one
    finally:
        one.end()


def sheet_filled_in(folder: Path, job: str, answers: dict[str, str]) -> Path:
    """What a sheet of a job hands back after it was filled in on a phone."""
    from expert.cli.frame.main import main

    page, text = folder / "sheet.html", folder / "readings.txt"
    assert main(["sheet", job, "--jobs", str(folder), "--output", str(page)]) == 0
    with browser() as phone:
        phone.open(page)
        phone.tab.set_viewport_size({"width": 390, "height": 844})
        for caution in phone.tab.query_selector_all(".caution select"):
            caution.select_option("yes")
        for key, value in answers.items():
            phone.tab.fill(f'[data-key="{key}"]', value)
        assert phone.ask("document.documentElement.scrollWidth") <= 390
        text.write_text(phone.tab.input_value("#text"), encoding="utf-8")
    return text


def test_a_whole_checkout_out_of_order_by_name_and_from_a_sheet(
    child: PtyChild, tmp_path: Path, shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    from expert.cli.frame.main import main

    checklist = checklists[NAME.partition(".")[0]]
    answers = load_answers(DEMO / f"{NAME}.answers.yaml", checklist)
    on = load_site(DEMO / "site.yaml", shipped_rulebase).subjects["A4"]
    members = load_site(DEMO / "site.yaml", shipped_rulebase).members(on)
    evaluator = Evaluator(shipped_rulebase, on, members=members, backend="plain")
    store = JobStore(tmp_path / "jobs.db")
    (job,) = store.jobs()
    session = Session(
        runner_for(checklist, evaluator), store, job.id, store.entries(job.id),
        others=lambda seq: store.entries(job.id, after=seq),
    )  # fmt: skip
    typist, random, from_sheet = Typist(child, store, session, answers), Random(7), False
    typist.line("")
    while not session.finished:
        now = session.current
        assert now is not None
        if now.phase.id == "at-the-case" and not from_sheet:
            given = {key: str(_text(answers, session, key)) for key in FROM_THE_SHEET}
            read = sheet_filled_in(tmp_path, job.id, given)
            words = ["take-in", job.id, str(read), "--jobs", str(tmp_path), "--who", "B. Sample"]
            assert main(words) == 0
            from_sheet = True
            typist.line("?")
            continue
        before = len(session.picture.entries)
        typist.ahead(random)
        typist.step()
        assert len(session.picture.entries) > before, child.text[-1500:]
    child.wait_for("Report:", max(0, typist.at - 3000), seconds=60)
    store.close()
    by_sheet = [e for e in session.picture.entries if e.who == "B. Sample" and e.kind == "answer"]
    assert {entry.step for entry in by_sheet} == {*FROM_THE_SHEET}
    assert typist.by_name >= 3
    assert session.evaluation().findings == ()
    assert "Traceback" not in child.text


def _text(answers: Answers, session: Session, key: str) -> str:
    active = next(e for e in session.runner.plan(session.picture) if e.key == key)
    found = answers.find(active, "")
    assert found is not None
    return str(found.text)
