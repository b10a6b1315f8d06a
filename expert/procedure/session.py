"""The calls by which a face answers, takes, corrects and leaves; nothing is decided in a face."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from expert.errors import ReadingError
from expert.knowledge import judge
from expert.procedure.answering import Accepted, NeedsConfirmation
from expert.procedure.by_itself import started_with
from expert.procedure.entries import EARLY, Draft
from expert.procedure.history import History, history_data
from expert.procedure.job_at_work import JobAtWork
from expert.procedure.open_now import Offer, held_back
from expert.procedure.people import AT, BESIDE
from expert.procedure.photo_file import photo_draft, photo_files
from expert.procedure.picture import fold
from expert.procedure.screens import DONE, HAZARDS, Screen, Ticked, screen_at, ticked
from expert.procedure.taking import Took, nearest_reading, offers_of, take, take_at, waits
from expert.procedure.wait_guard import too_early

_AS_LISTED = {HAZARDS: "yes", DONE: "done"}
_WHY_NOW = "Type in a few words why it is answered before its time."


class Session(JobAtWork):
    """One person at one job: the calls by which a face answers, takes and corrects."""

    def lead(self, depth: str) -> None:
        """Lead at another depth from here on; a job that is resumed goes on with it."""
        if depth != self.depth or not self.depth_chosen:
            self._append([Draft("depth", "", {"depth": depth})])

    @property
    def screen(self) -> Screen | None:
        """What is asked now, at the depth of the job; None when the checklist is finished."""
        if (current := self.current) is None:
            return None
        plan, rules = self.runner.plan(self.picture), self.runner.rulebase
        return screen_at(plan, current, self.depth, frozenset(self._singly), rules)

    def tick(self, text: str) -> Ticked:
        """Answer a screen of several. What is not so is then asked by itself.

        Raises ReadingError; then nothing was entered.
        """
        screen = self.screen
        assert screen is not None
        found = ticked(screen, text)
        self._singly |= {each.key for each in found.singly}
        now, drafts = self.now(), list[Draft]()
        for active in found.so:
            answer = _AS_LISTED.get(screen.kind, active.step.usual)
            outcome = self.runner.accept(self.picture, active, answer, now)
            if isinstance(outcome, Accepted):
                drafts += outcome.drafts
        self._append(drafts, now)  # one line, so all of it is kept or nothing
        return found

    def apart(self) -> None:
        """Ask every part of the screen by itself."""
        if (screen := self.screen) is not None:
            self._singly |= {each.key for each in screen.parts}

    def open_now(self) -> tuple[Offer, ...]:
        """Every reading of the checklist with its place, and why it cannot be taken yet."""
        return offers_of(self.runner, self.picture)

    def take(self, text: str, *, sure: bool = False) -> Took | None:
        """Take one reading typed with its name, wherever it is asked: 'head 215 at 11:42'.

        None where the text names none. Raises ReadingError where it is refused; with a question
        in what is given back nothing was entered either.
        """
        now = self.now()
        took = take(self.runner, self.picture, text, now, sure=sure)
        if took is not None and took.drafts:
            self._append(took.drafts, now)
        return took

    def as_they_can_be(self, parts: Sequence[str]) -> Iterator[str]:
        """The readings of a line in their order, behind the others those that wait for one."""
        held = []
        for part in parts:
            if len(parts) > 1 and waits(self.runner, self.picture, part):
                held.append(part)
            else:
                yield part
        yield from held

    def nearest_reading(self, text: str) -> str:
        """'Did you mean x?' for a text whose name of a reading was typed wrong; else nothing."""
        return nearest_reading(self.runner, self.picture, text)

    def take_at(
        self, key: str, text: str, *, sure: bool = False, taken: datetime | None = None
    ) -> Took:
        """Take a value for the reading of a key, in any order: '112 psig at 8:00'.

        `taken` is when it was read, where another clock has told that. Raises ReadingError as
        `take` does, KeyError where the key has no reading.
        """
        now = self.now()
        took = take_at(self.runner, self.picture, key, text, now, sure=sure, taken=taken)
        self._append(took.drafts, now)
        return took

    def start(self, key: str, text: str = "") -> str:
        """Start a clock of the checklist, wherever it stands, perhaps '12 min' ago.

        What has to come first instead; nothing where it was started. Raises ReadingError.
        """
        now, plan = self.now(), self.runner.whole_plan(self.picture)
        clocks = (each for each in plan.steps if each.step.type == "clock")
        active = next((each for each in clocks if each.key == key), None)
        if active is None or active.closed:
            return "it runs already" if active else "the checklist does not ask it now"
        if not (why_not := held_back(plan, active, self.runner)):
            outcome = self.runner.accept(self.picture, active, text, now)
            self._append(outcome.drafts if isinstance(outcome, Accepted) else (), now)
        return why_not

    def confirm(self, key: str, text: str) -> bool:
        """Answer an open caution of the checklist, wherever it stands; False where there is none.

        Raises ReadingError for what is neither yes nor no.
        """
        now = self.now()
        for active in self.runner.plan(self.picture):
            if active.key == key and active.step.type == "caution" and not active.quantity:
                if active.closed:
                    return True
                outcome = self.runner.accept(self.picture, active, text, now)
                assert isinstance(outcome, Accepted)
                self._append(outcome.drafts, now)
                return True
        return False

    def too_early(self, text: str) -> str:
        """Why an answer at the current step cannot be yet by its clock; nothing where it can.

        A face asks for the reason then, and hands it to `answer` as `why`.
        """
        return too_early(self.runner, self.picture, self._asked(), text, self.now())

    def answer(
        self, text: str, *, sure: bool = False, minute: float | None = None, why: str = ""
    ) -> Accepted | NeedsConfirmation:
        """Answer the current step. Raises ReadingError; then nothing was entered.

        `why` says why it is answered before its time, where it is; it is kept as a note too.
        """
        now, asked = self.now(), self._asked()
        outcome = self.runner.accept(self.picture, asked, text, now, sure=sure, minute=minute)
        if isinstance(outcome, Accepted) and why:
            early = {EARLY: judge.reason(why, _WHY_NOW)}
            drafts = [replace(each, data={**each.data, **early}) for each in outcome.drafts]
            note = Draft("note", asked.key, {"text": f"Before its time: {why}"})
            outcome = replace(outcome, drafts=(note, *drafts))
        if isinstance(outcome, Accepted):
            signs = [each for each in outcome.drafts if each.kind == "sign"]
            if signs and not self.who:
                self.who = str(signs[0].data.get("name", ""))
            self._append(outcome.drafts, now)
        return outcome

    def adjust(self, what: str, before: str, after: str) -> None:
        """Answer the current adjust step from its three parts."""
        self._append(self.runner.adjust(self._asked(), what, before, after).drafts)

    def default(self) -> str:
        """What Enter alone answers now, as text."""
        return self.runner.default(self.picture, self._asked(), self.now())

    def skip(self, reason: str, *, rest: bool = False, member: bool = False) -> None:
        """Leave the current step out; `rest` ends a whole watch, `member` leaves out a member."""
        asked = self._asked()
        if member and asked.member_key in self.picture.closed:
            raise ReadingError(f"{asked.subject} is left out already; this must still be done.")
        self._append([self.runner.skip(asked, reason, rest=rest, member=member)])

    def close(self, text: str) -> None:
        """Close the job without its being done, like 'handed over: the night crew'."""
        self._asked()
        self._append([self.runner.close(text)])

    def enter(self, draft: Draft) -> None:
        """Keep what was made from this picture elsewhere, like a second answer to a step."""
        self._append([draft])

    def note(self, text: str) -> None:
        """Keep a note at the current step."""
        self._append([self.runner.note(self.current, text)])

    def work_order(self, number: str) -> None:
        """Keep the number of the work order, where it is another than the one kept last."""
        number = " ".join(number.split())
        if number and number != self.picture.work_order:
            text = f"Work order {number}"
            self._append([Draft("note", "", {"text": text, "order": number})])

    def photo(self, paths: str, caption: str = "", folder: Path | None = None) -> int:
        """Keep photos at the current step, with ';' between their paths; how many there were.

        `folder` is where relative paths begin. Raises ReadingError; then nothing was entered.
        """
        found = photo_files(paths, folder)
        self._append([photo_draft(self.current, photo, caption) for photo in found])
        return len(found)

    def back(self) -> None:
        """Reopen the step before the current one, of those that are asked here."""
        self._open_again(self.runner.back(self.picture, self.current, self.rooms))

    def reopen(self, key: str, why: str = "") -> None:
        """Reopen any closed step; `why` says what was wrong with what stood there."""
        self._open_again(self.runner.reopen(self.picture, key, why))

    def _open_again(self, reopened: Draft) -> None:
        """Reopen a step, with the clocks that started with what it measured."""
        plan = self.runner.plan(self.picture)
        clocks = started_with(plan, reopened.step)
        self._append([reopened, *(Draft("reopen", each.key, {}) for each in clocks)])

    def take_in(self, history: History) -> None:
        """Keep what earlier jobs left, as the first entry of a new job; nothing is planned yet."""
        entry = self._entry(Draft("history", "", history_data(history)), 1, None)
        self._log.append(self.job_id, entry)
        self.picture = fold((*self.picture.entries, entry))

    def stop(self) -> None:
        """Note that the person left the job; it goes on at the same step."""
        self._append([Draft("stop", "", {})])

    def resume(self, at: Sequence[str] = (), *, beside: bool = False) -> None:
        """Note that the person came back; with `beside` others at the job stay, each in their
        own rooms, and `at` are those of this one."""
        self.at = tuple(at)
        data: dict[str, object] = {BESIDE: True, AT: list(at)} if beside else {}
        self._append([Draft("resume", "", data)])
