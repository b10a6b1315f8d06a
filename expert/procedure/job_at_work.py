"""A job as it stands, and how an entry is kept: on disk before the picture goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime

from expert.errors import MovedOnError, ReadingError
from expert.inference.evaluation_model import Evaluation
from expert.knowledge.where import ROOMS
from expert.procedure.active import Active
from expert.procedure.by_itself import by_itself
from expert.procedure.entries import ONCE, Draft, Entry
from expert.procedure.log import Ending, Log, WholeLog
from expert.procedure.people import asked_in, others_at
from expert.procedure.picture import Picture, fold
from expert.procedure.runner import Runner
from expert.procedure.screens import LEARNING
from expert.procedure.world import AS_FOUND

Others = Callable[[int], Iterable[Entry]]


def _is_depth(entry: Entry) -> bool:
    return entry.kind == "depth"


def wall_clock() -> datetime:
    """The time of day, with its zone."""
    return datetime.now(UTC)


class JobAtWork:
    """One job and the person at it. `now` is asked for the time of each entry, `who` is in each.

    `ending` gives what a finished job notes of itself; it is kept together with the entry that
    finishes the job, by a log that can. `others` gives the entries that are kept after so many:
    what another face entered.
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
        others: Others | None = None,
    ) -> None:
        self.who = who
        self.at: tuple[str, ...] = ()
        self.divided = True
        self._others = others
        self._ending = ending
        self.runner = runner
        self.job_id = job_id
        self.now = now
        self._log = log
        self.picture: Picture = fold(entries)
        self._singly: set[str] = set()
        self._once = ""
        self._noted_finished: bool | None = None if self.picture.entries else False

    @property
    def current(self) -> Active | None:
        """The step that is asked now; None when the checklist is finished.

        Where somebody else is at the job it is the next one of the own rooms, None also while
        all of them wait for what is done elsewhere.
        """
        rooms = self.rooms
        if len(rooms) == len(ROOMS):
            return self.runner.current(self.picture)
        return asked_in(self.runner.plan(self.picture), rooms, self.runner)

    @property
    def others_at(self) -> Mapping[str, str]:
        """The rooms where others are at this job, with who each is."""
        return others_at(self.picture.entries, self.who)

    @property
    def rooms(self) -> tuple[str, ...]:
        """The rooms whose steps are asked here: `at`, else those where nobody else is.

        With `divided` off all of them are.
        """
        taken = self.others_at if self.divided else {}
        own = self.at if self.divided else ()
        return own or tuple(room for room in ROOMS if room not in taken)

    @property
    def depth(self) -> str:
        """How the person is led, one of `screens.DEPTHS`: the last that was chosen."""
        chosen = (each.text("depth") for each in reversed(self.picture.entries) if _is_depth(each))
        return next(chosen, LEARNING)

    @property
    def depth_chosen(self) -> bool:
        """Whether a depth was chosen in this job."""
        return any(map(_is_depth, self.picture.entries))

    @property
    def finished(self) -> bool:
        """Whether nothing is left to do."""
        return self.runner.current(self.picture) is None

    def mark(self, once: str) -> bool:
        """Give what is entered next a mark; False where something has it: that has arrived."""
        self._once = once
        return not any(each.text(ONCE) == once for each in self.picture.entries if once)

    def coming(self) -> tuple[Entry, ...]:
        """What others have entered that is not taken in yet."""
        return tuple(self._others(len(self.picture.entries))) if self._others else ()

    def catch_up(self) -> tuple[Entry, ...]:
        """Take in what another face has entered since; what it was.

        A face calls it before each question, and again with the answer before it is entered: an
        answer to a step that is closed meanwhile is told and not entered. What still comes
        between is refused by the log (MovedOnError), and nothing of it is entered.
        """
        added = self.coming()
        if added:
            self.picture = fold((*self.picture.entries, *added))
            self._noted_finished = self.finished
        return added

    def settle(self) -> None:
        """Close what needs no answer at this depth."""
        while (active := self.current) is not None:
            draft = by_itself(self.runner, self.picture, active, self.depth)
            if draft is None:
                return
            try:
                self._keep([self.runner.on(active, draft)])
            except MovedOnError:
                if not self.catch_up():
                    raise

    def evaluation(self, stage: str = AS_FOUND, subject: str = "") -> Evaluation:
        """What follows from the readings of a stage so far, for a member or the subject ('')."""
        return self.runner.evaluation(self.picture, stage, subject=subject)

    def _asked(self) -> Active:
        if (active := self.current) is None:
            if not self.finished:
                raise ReadingError("What is left here waits for what is done elsewhere.")
            raise ReadingError("The checklist is finished; go back to change something.")
        return active

    def _append(self, drafts: Iterable[Draft], at: datetime | None = None) -> None:
        self._keep(drafts, at)
        self.settle()

    def _keep(self, drafts: Iterable[Draft], at: datetime | None = None) -> None:
        added = [self._entry(draft, number, at) for number, draft in enumerate(drafts, 1)]
        after = fold((*self.picture.entries, *added))
        ending = None if self._noted_finished else self._ending
        if added and ending is not None and self.runner.current(after) is None:
            self._end(added, after, *ending)
            return
        if added:
            self._log.append(self.job_id, *added)
            self.picture, self._once = after, ""
        if self.finished != self._noted_finished:
            self._noted_finished = self.finished
            self._log.finish(self.job_id, self.picture.entries[-1].at if self.finished else None)

    def _end(self, added: list[Entry], after: Picture, log: WholeLog, ending: Ending) -> None:
        """What finishes the job, and what the finished job notes of itself, in one."""
        at, told = added[-1].at, ending(after)
        noted = [
            self._entry(draft, number, at)
            for number, draft in enumerate(told.drafts, len(added) + 1)
        ]
        log.extend(self.job_id, (*added, *noted), at, told.known)
        self._once = ""
        self.picture = fold((*after.entries, *noted))
        self._noted_finished = True

    def _entry(self, draft: Draft, number: int, at: datetime | None) -> Entry:
        """A draft with the number it has after so many, its time and its person."""
        seq, now = len(self.picture.entries) + number, at or self.now()
        marked = {ONCE: self._once} if self._once and number == 1 else {}
        return Entry(seq, now, draft.kind, draft.step, {**draft.data, **marked}, self.who)
