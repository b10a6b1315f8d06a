"""What is shown around the steps: the opening, what an answer gave, and the end."""

from __future__ import annotations

from expert.inference.evaluate import Evaluator
from expert.inference.sentences import first_up
from expert.procedure.active import Active
from expert.procedure.contradictions import contradictions
from expert.procedure.entries import Entry
from expert.procedure.picture import Picture, reading_of
from expert.procedure.runner import Runner
from expert.procedure.screens import LEARNING
from expert.procedure.session import Session
from expert.terminal.calls_and_members import needs_lines
from expert.terminal.clock_line import clock_line
from expert.terminal.commands import MEANING
from expert.terminal.diagnosis_so_far import (
    found_in_short,
    found_on,
)
from expert.terminal.layout import Layout
from expert.terminal.standing import Standing
from expert.terminal.step_texts import StepTexts
from expert.terminal.step_view import StepView


class Texts(StepTexts):
    """Everything that is shown, as plain lines; what has been told once is not told again."""

    def __init__(self, runner: Runner, evaluator: Evaluator, *, depth: str = LEARNING):
        super().__init__(runner, evaluator, depth=depth)
        self._told: set[tuple[str, str, str]] = set()

    def opening(self, site: str, layout: Layout) -> list[str]:
        """What is about to be done, on what, and what must be at hand."""
        checklist, subject = self.runner.checklist, self.runner.subject
        facts = ", ".join(
            subject.facts[key] for key in ("refrigerant", "application", "defrost")
            if key in subject.facts
        )  # fmt: skip
        lines = layout.text(checklist.title)
        name = f"{first_up(subject.kind)} {subject.id}"
        lines += layout.named(name, f"{subject.title} ({facts})")
        lines += layout.named("Site", site)
        if self.newer:
            lines += layout.named("Purpose", checklist.purpose)
        if checklist.made_for:
            lines += layout.named("Made for", checklist.made_for)
        lines += needs_lines(checklist, layout)
        keys = "; ".join(f"{key} {meaning}" for key, meaning in MEANING.items())
        return [*lines, *layout.named("Instead of an answer, a letter and Enter", f"{keys}.")]

    def after(self, before: Standing, at: StepView) -> list[str]:
        """What an answer gave: the value as it was taken, and what was computed again; what
        closed by itself behind it is passed over."""
        entries = at.picture.entries
        entry = next((e for e in reversed(entries) if e.step == at.active.key), entries[-1])
        if entry.kind == "skip":
            return at.layout.text("Skipped.")
        if entry.kind == "clock":
            started = entry.time("started") or entry.at
            message = f"Clock '{entry.text('clock')}' runs since {started.astimezone():%H:%M:%S}."
            return at.layout.text(message)
        if entry.kind != "answer":
            return []
        now = self.standing(at)
        values = self._values(at.active)
        lines = values.answered(entry, now, at.layout)
        lines += self.past.drifted(at.active, reading_of(entry), at.layout)
        lines += values.changed(before, now, at.layout, only_odd=not self.newer)
        return lines + self._contradictions(at)

    def _contradictions(self, at: StepView) -> list[str]:
        """Readings that cannot all be right, told once, with what can be done about it."""
        lines: list[str] = []
        for rule in contradictions(self.runner, at.picture, at.active):
            if (rule.id, at.active.stage, at.active.subject) in self._told:
                continue
            self._told.add((rule.id, at.active.stage, at.active.subject))
            titles = ", ".join(self.rulebase.quantities[name].title for name in rule.doubts)
            message = (
                f"{rule.because} Read one of these again and type it with its name: {titles}. "
                "Or go on; the report says so."
            )
            lines += at.layout.named("Contradiction", message)
        return lines

    def taken(self, title: str, entry: Entry, at: StepView) -> list[str]:
        """What a reading that was typed by name was taken as, and its state."""
        now, values = self.standing(at), self._values(at.active)
        lines = values.answered(entry, now, at.layout, name=first_up(title))
        lines += self._contradictions(at)
        when = entry.time("taken")
        return lines + (
            at.layout.named("Read at", f"{when.astimezone():%H:%M:%S}", 2) if when else []
        )

    def view(self, session: Session, active: Active, layout: Layout) -> StepView:
        """The view of a step as the session stands now."""
        return StepView(session.picture, active, session.now(), layout)

    def ending(self, picture: Picture, layout: Layout) -> list[str]:
        """What the finished checklist comes to: the findings as found, and as left if adjusted."""
        lines: list[str] = []
        stages = ["as found", "as left"] if picture.adjustments else ["as found"]
        for stage in stages:
            found = self.runner.evaluation(picture, stage)
            lines += found_in_short(found, stage, layout)
            lines += found_on(self.runner.found_on_members(picture, stage), layout)
        return lines

    def status(self, at: StepView) -> str:
        """Where we are and what the clock says, in a few signs, for a status line."""
        running = clock_line(self.runner, at.picture, at.active, at.now)
        return f"{at.active.number}/{at.active.total}{f' {running}' if running else ''}"
