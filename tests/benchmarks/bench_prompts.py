"""From Enter to the next prompt: five whole walks, each answer kept on disk.

Run: python tests/benchmarks/bench_prompts.py [--worst]. Processor time does not hang on what else
the machine does; the time of the clock is printed beside it.
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "walks"))
from typed_walk import _found, _is_so, _shortest  # noqa: E402
from walked_job import DEMO  # noqa: E402

from expert.inference.evaluate import Evaluator  # noqa: E402
from expert.knowledge.load_rulebase import load_rulebase  # noqa: E402
from expert.knowledge.load_site import load_site  # noqa: E402
from expert.places import shipped  # noqa: E402
from expert.procedure.answers import Answers  # noqa: E402
from expert.procedure.load_checklists import load_checklists  # noqa: E402
from expert.procedure.read_answers import load_answers  # noqa: E402
from expert.procedure.runner import runner_for  # noqa: E402
from expert.procedure.screens import HAZARDS, STEP, WORKING  # noqa: E402
from expert.procedure.session import Session  # noqa: E402
from expert.store.job_row import Job  # noqa: E402
from expert.store.jobs import JobStore  # noqa: E402
from expert.terminal.dialogue import Dialogue  # noqa: E402
from expert.terminal.front import LeaveError, Question  # noqa: E402
from expert.terminal.layout import Layout  # noqa: E402
from expert.terminal.texts import Texts  # noqa: E402

WALKS = (
    "hot-gas-defrost-checkout.a4-low-differential", "preventive-maintenance-walk.a-healthy",
    "preventive-maintenance-walk.a-dirty-condenser", "warm-case-triage.a5-plugged-screen",
    "case-commissioning.b3-draught",
)  # fmt: skip
START = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)


class Measured:
    """Types a file and measures from each line to the next question [ms]."""

    interactive = False
    layout = Layout(80)

    def __init__(self, session: Session, answers: Answers) -> None:
        self.session, self.answers = session, answers
        self.waiting: list[str] = []
        self.times: list[tuple[float, float, str]] = []
        self.began: tuple[float, float, str] | None = None

    def show(self, lines: Iterable[str]) -> None:
        for _ in lines:
            pass

    def ask(self, question: Question) -> str:
        if self.began is not None:
            cpu, clock, what = self.began
            took = (time.process_time() - cpu) * 1000, (time.perf_counter() - clock) * 1000
            self.times.append((*took, what))
        if len(self.times) > 2000:
            raise LeaveError
        text = self._line(question)
        current = self.session.current
        what = current.key if current else "end"
        self.began = time.process_time(), time.perf_counter(), f"{what} {text!r}"
        return text

    def interrupt(self) -> None:
        raise KeyboardInterrupt

    def leave(self) -> None:
        raise LeaveError

    def _line(self, question: Question) -> str:
        if self.waiting:
            return self.waiting.pop(0)
        if not question.label[0].isdigit() or "/" not in question.label:
            return "y" if question.label.startswith("y/n") else "as it was recorded"
        screen = self.session.screen
        assert screen is not None
        if screen.kind != STEP:
            so = [_is_so(self.answers.find(e, ""), e, screen.kind) for e in screen.parts]
            wanted = so if screen.kind == HAZARDS else [not each for each in so]
            line = " ".join(str(n) for n, each in enumerate(wanted, 1) if each)
            return line or ("s" if screen.kind == HAZARDS else "")
        found = _found(self.session, self.answers, screen.first)
        if found.skip is not None:
            self.waiting = [found.skip]
            return "s"
        if found.adjust is not None:
            return "; ".join(found.adjust)
        return _shortest(self.session, screen.first, found.text or "")


def main() -> None:
    """Prints a line a walk: prompts, and their 50th, 99th part of a hundred and greatest [ms]."""
    base = load_rulebase(shipped("rulebase"))
    checklists = load_checklists(shipped("checklists"), base)
    site = load_site(DEMO / "site.yaml", base)
    ids = {name.lower(): name for name in site.subjects}
    every: list[tuple[float, float, str]] = []
    for name in WALKS:
        checklist = checklists[name.partition(".")[0]]
        on = site.subjects[ids[name.partition(".")[2].partition("-")[0]]]
        evaluator = Evaluator(base, on, members=site.members(on))
        evaluator.prepare()  # as it is done beside the first question
        gc.collect()
        gc.freeze()
        times = iter(START + timedelta(seconds=20 * n) for n in range(1_000_000))
        with tempfile.TemporaryDirectory() as folder, JobStore(Path(folder) / "jobs.db") as store:
            job = Job(
                checklist.id, "1", "", "base", "1", "", site.name, site.text, on.id, "us",
                "A. Sample", START,
            )  # fmt: skip
            job_id = store.create(job)
            session = Session(
                runner_for(checklist, evaluator), store, job_id, now=lambda times=times: next(times)
            )
            answers = load_answers(DEMO / f"{name}.answers.yaml", checklist)
            front = Measured(session, answers)
            finished = Dialogue(session, Texts(session.runner, evaluator, depth=WORKING), front)
            done = finished.run(WORKING)
        every += front.times
        print(f"{name:48}{_line(front.times)}{'' if done else '  NOT FINISHED'}")
    print(f"{'all':48}{_line(every)}")
    if "--worst" in sys.argv:
        for cpu, clock, what in sorted(every, reverse=True)[:15]:
            print(f"{cpu:8.1f} {clock:8.1f}  {what}")


def _line(times: list[tuple[float, float, str]]) -> str:
    cpu, clock = sorted(each[0] for each in times), sorted(each[1] for each in times)
    parts = [f"{len(times)} prompts"]
    for what, values in (("processor", cpu), ("clock", clock)):
        at = [values[int(share * (len(values) - 1))] for share in (0.5, 0.99, 1.0)]
        parts.append(f"{what} {at[0]:.0f} {at[1]:.0f} {at[2]:.0f}")
    return ", ".join(parts)


if __name__ == "__main__":
    main()
