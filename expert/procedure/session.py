"""A job at work: the runner and a log. Every entry is on disk before the next step is asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from expert.errors import ReadingError
from expert.inference.evaluation_model import Evaluation
from expert.procedure.active import Active
from expert.procedure.answering import Accepted, NeedsConfirmation
from expert.procedure.entries import Draft, Entry
from expert.procedure.history import History, history_data
from expert.procedure.photo_file import photo_draft, photo_files
from expert.procedure.picture import Picture, fold
from expert.procedure.plan import AS_FOUND
from expert.procedure.runner import Runner


class Log(Protocol):
    """Where entries are kept. `append` returns only when the entry cannot be lost any more."""

    def append(self, job_id: str, entry: Entry) -> None:
        """Keep one entry."""
        ...

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Note that a job is finished, or (None) that it is open again."""
        ...


class WholeLog(Log, Protocol):
    """A log that takes several entries and the end of a job together or not at all."""

    def extend(self, job_id: str, entries: Iterable[Entry], finished: datetime | None) -> None:
        """Keep entries and note that the job is finished."""
        ...


Ending = Callable[[Picture], Iterable[Draft]]


def wall_clock() -> datetime:
    """The time of day, with its zone."""
    return datetime.now(UTC)


class Session:
    """One person at one job. `now` is asked for the time of each entry, `who` is in each.

    `ending` gives what a finished job notes of itself; it is kept together with the entry that
    finishes the job, by a log that can.
    """

    def __init__(
        self,
        runner: Runner,
        log: Log,
        job_id: str,
        entries: Iterable[Entry] = (),
        *,
        now: Callable[[], datetime] = wall_clock,
        who: str = "",
        ending: tuple[WholeLog, Ending] | None = None,
    ) -> None:
        self.who = who
        self._ending = ending
        self.runner = runner
        self.job_id = job_id
        self.now = now
        self._log = log
        self.picture: Picture = fold(entries)
        self._noted_finished: bool | None = None if self.picture.entries else False

    @property
    def current(self) -> Active | None:
        """The step that is asked now; None when the checklist is finished."""
        return self.runner.current(self.picture)

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do."""
        return self.current is None

    def answer(
        self, text: str, *, sure: bool = False, minute: float | None = None
    ) -> Accepted | NeedsConfirmation:
        """Answer the current step. Raises ReadingError; then nothing was entered."""
        now = self.now()
        outcome = self.runner.accept(
            self.picture, self._asked(), text, now, sure=sure, minute=minute
        )
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

    def note(self, text: str) -> None:
        """Keep a note at the current step."""
        self._append([self.runner.note(self.current, text)])

    def photo(self, paths: str, caption: str = "", folder: Path | None = None) -> int:
        """Keep photos at the current step, with ';' between their paths; how many there were.

        `folder` is where relative paths begin. Raises ReadingError; then nothing was entered.
        """
        found = photo_files(paths, folder)
        self._append([photo_draft(self.current, photo, caption) for photo in found])
        return len(found)

    def back(self) -> None:
        """Reopen the step before the current one."""
        self._append([self.runner.back(self.picture, self.current)])

    def reopen(self, key: str, why: str = "") -> None:
        """Reopen any closed step; `why` says what was wrong with what stood there."""
        self._append([self.runner.reopen(self.picture, key, why)])

    def take_in(self, history: History) -> None:
        """Keep what earlier jobs left, as the first entry of a new job."""
        self._append([Draft("history", "", history_data(history))])

    def stop(self) -> None:
        """Note that the person left the job; it goes on at the same step."""
        self._append([Draft("stop", "", {})])

    def resume(self) -> None:
        """Note that the person came back."""
        self._append([Draft("resume", "", {})])

    def evaluation(self, stage: str = AS_FOUND, subject: str = "") -> Evaluation:
        """What follows from the readings of a stage so far, for a member or the subject ('')."""
        return self.runner.evaluation(self.picture, stage, subject=subject)

    def _asked(self) -> Active:
        if (active := self.current) is None:
            raise ReadingError("The checklist is finished; go back to change something.")
        return active

    def _append(self, drafts: Iterable[Draft], at: datetime | None = None) -> None:
        added = [self._entry(draft, number, at) for number, draft in enumerate(drafts, 1)]
        after = fold((*self.picture.entries, *added))
        ending = None if self._noted_finished else self._ending
        if added and ending is not None and self.runner.current(after) is None:
            self._end(added, after, *ending)
            return
        for entry in added:
            self._log.append(self.job_id, entry)
            last = entry is added[-1]  # what it leads to is planned already
            self.picture = after if last else fold((*self.picture.entries, entry))
        if self.finished != self._noted_finished:
            self._noted_finished = self.finished
            self._log.finish(self.job_id, self.picture.entries[-1].at if self.finished else None)

    def _end(self, added: list[Entry], after: Picture, log: WholeLog, ending: Ending) -> None:
        """What finishes the job, and what the finished job notes of itself, in one."""
        at = added[-1].at
        noted = [
            self._entry(draft, number, at)
            for number, draft in enumerate(ending(after), len(added) + 1)
        ]
        log.extend(self.job_id, (*added, *noted), at)
        self.picture = fold((*after.entries, *noted))
        self._noted_finished = True

    def _entry(self, draft: Draft, number: int, at: datetime | None) -> Entry:
        """A draft with the number it has after so many, its time and its person."""
        seq, now = len(self.picture.entries) + number, at or self.now()
        return Entry(seq, now, draft.kind, draft.step, dict(draft.data), self.who)
