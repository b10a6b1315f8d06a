"""What a report says, gathered from a job's entries; the template only lays it out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Protocol

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Finding, Reading
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.procedure.active import Active
from expert.procedure.closing import in_words
from expert.procedure.corrections import Correction, corrections, same_name
from expert.procedure.entries import Entry
from expert.procedure.picture import Adjustment, Picture, fold
from expert.procedure.runner import Runner
from expert.procedure.world import AS_FOUND, AS_LEFT
from expert.report.outcomes import TurnedOut, outcomes_in
from expert.report.parts import Attention, Part
from expert.report.photos import Photo, photos
from expert.report.stages import BOTH, StageWriter, step_title
from expert.report.told import Told, told_in
from expert.units.kinds import SYSTEMS, Kind
from expert.units.measure import format_value


@dataclass(frozen=True)
class _Round:
    """The readings of one stage and round, those as found before it, and what all of it shows."""

    stage: str
    round: int
    readings: tuple[Reading, ...]
    found: tuple[Reading, ...] | None
    whole: Evaluation


@dataclass(frozen=True)
class No:
    """A no at a caution or a stop: at what, why, and the titles of what was left out for it."""

    what: str
    entry: Entry
    left: tuple[str, ...]


@dataclass(frozen=True)
class Seal:
    """The hash of a job's last entry, and in a sentence what is not as it was written."""

    chain: str = ""
    altered: str = ""


NO_SEAL = Seal()


@dataclass(frozen=True)
class Heading:
    """What a company puts to a report: its lines, the number of the work order, its pack.

    The plain words of the pack are those of the customer page.
    """

    letterhead: tuple[str, ...] = ()
    order: str = ""
    pack: Path | None = None


NO_HEADING = Heading()


class JobFacts(Protocol):
    """What a report needs to know of a job beside its entries."""

    @property
    def id(self) -> str:
        """Its id."""
        ...

    @property
    def site(self) -> str:
        """Name of the site."""
        ...

    @property
    def who(self) -> str:
        """Name of the technician."""
        ...

    @property
    def created(self) -> datetime:
        """When it was started."""
        ...

    @property
    def rulebase_hash(self) -> str:
        """Content hash of the rulebase it was started with."""
        ...


class ReportContext:
    """Everything the template asks for."""

    def __init__(
        self,
        job: JobFacts,
        entries: Sequence[Entry],
        runner: Runner,
        evaluator: Evaluator,
        seal: Seal = NO_SEAL,
        heading: Heading = NO_HEADING,
    ) -> None:
        self.heading = heading
        self.job = job
        self.runner = runner
        self.evaluator = evaluator
        self.system = evaluator.system
        self.rulebase: Rulebase = runner.rulebase
        self.subject = runner.subject
        self.checklist = runner.checklist
        self.picture: Picture = fold(entries)
        self.unfinished = runner.current(self.picture)
        self.signed_by = runner.signed_by(self.picture)
        self.seal = seal
        readings = [r for r in runner.readings(self.picture) if "?" not in r.step]
        self._rounds = tuple(self._by_round(readings))
        read = {reading.subject for reading in readings}
        self.own = self._part(runner.subject, "")
        self.members = tuple(
            self._part(member, name) for name, member in runner.members.items() if name in read
        )

    @property
    def parts(self) -> tuple[Part, ...]:
        """The job's own subject, then every member on which something was read."""
        return (self.own, *self.members)

    @property
    def altitude(self) -> str:
        """Of the site."""
        height = self.subject.altitude
        systems = SYSTEMS if self.system == BOTH else (self.system,)
        first, *more = (format_value(Kind.LENGTH, height, each, digits=0) for each in systems)
        return f"{first} ({more[0]})" if more else first

    @property
    def ended(self) -> datetime | None:
        """Time of the last entry."""
        return self.picture.entries[-1].at if self.picture.entries else None

    @property
    def wrong(self) -> tuple[tuple[Part, Finding], ...]:
        """What was found before any change, and on what."""
        return tuple((part, finding) for part in self.parts for finding in part.wrong)

    @property
    def put_right(self) -> tuple[tuple[Part, Finding], ...]:
        """Findings that were measured again and no longer show."""
        return tuple((part, finding) for part in self.parts for finding in part.put_right)

    @cached_property
    def photos(self) -> tuple[Photo, ...]:
        """Every photo, as it can be shown now."""
        return tuple(photos(self.picture.photos))

    @property
    def adjustments(self) -> tuple[Adjustment, ...]:
        """What was changed."""
        return self.picture.adjustments

    @property
    def attention(self) -> tuple[tuple[Part, Attention], ...]:
        """Findings that still stand, or that were not measured again."""
        return tuple((part, item) for part in self.parts for item in part.attention)

    @property
    def watch_for(self) -> tuple[tuple[Part, str], ...]:
        """What to keep an eye on; what is told of the job's own subject is not told again."""
        own = self.own.watch_for
        return tuple(
            (part, line)
            for part in self.parts
            for line in part.watch_for
            if part is self.own or line not in own
        )

    @property
    def corrections(self) -> tuple[Correction, ...]:
        """Every answer that replaced another one."""
        return corrections(self.picture.entries)

    @property
    def told_otherwise(self) -> Told | None:
        """What was told when the job was finished, where the rules of now say it otherwise."""
        told = told_in(self.picture.entries)
        if told is None or told.rules_hash == self.rulebase.info.hash:
            return None
        now = [(part.subject.id, found.cause.id, found.words) for part, found in self.wrong]
        then = [(each.subject, each.cause, each.words) for each in told.findings]
        return None if now == then else told

    @property
    def outcomes(self) -> tuple[TurnedOut, ...]:
        """What the findings turned out to be, as far as somebody said it."""
        return outcomes_in(self.picture.entries)

    @property
    def people(self) -> str:
        """Who began the job and everybody who entered something, as far as the entries say."""
        named = dict.fromkeys([self.job.who, *(each.who for each in self.picture.entries)])
        return ", ".join(filter(None, named)) or self.signed_by

    @property
    def signed_for(self) -> str:
        """Who entered the signature, where that is somebody else than it names."""
        signs = [each for each in self.picture.closed.values() if each.kind == "sign"]
        last = max(signs, key=lambda each: each.seq, default=None)
        if last is None or not last.who or same_name(last.who, self.signed_by):
            return ""
        return last.who

    @property
    def not_chosen(self) -> tuple[tuple[str, str, Entry], ...]:
        """The members that were not looked at: title of the phase, their ids, the entry."""
        return tuple(
            (active.phase.title, ", ".join(left), active.entry)
            for active in self.runner.plan(self.picture)
            if active.entry is not None and active.entry.kind == "choose"
            if (left := [name for name in active.offers if name not in active.entry.members])
        )

    @property
    def closed_as(self) -> str:
        """'waiting for a part: which', empty for a job that was not closed undone."""
        return in_words(self.picture.closed_as)

    @property
    def noes(self) -> tuple[No, ...]:
        """Each no at a caution or a stop, with what was left out because of it."""
        return tuple(
            No(self._title_of(active), active.entry, self._left_by(active.entry))
            for active in self.runner.plan(self.picture)
            if active.entry is not None and (active.entry.refuses or active.entry.kind == "leave")
        )

    @property
    def left_by_closing(self) -> tuple[str, ...]:
        """Titles of what was still to be done when the job was closed."""
        return self._left_by(self.picture.closed_as)

    def _left_by(self, entry: Entry | None) -> tuple[str, ...]:
        titles = (
            self.step_title(each.step.id) + (f" ({each.subject})" if each.subject else "")
            for each in self.runner.left_out(self.picture)
            if entry is not None and each.because.seq == entry.seq
        )
        return tuple(dict.fromkeys(titles))

    def _title_of(self, active: Active) -> str:
        if active.step.type == "caution":
            return self.rulebase.cautions[active.step.text].title
        return active.step.text

    def caution_title(self, entry: Entry) -> str:
        """Title of the caution an entry acknowledges."""
        caution = self.rulebase.cautions.get(entry.text("caution"))
        return caution.title if caution else entry.text("caution")

    def step_title(self, key: str) -> str:
        """What a step is about, from its key."""
        return step_title(key, self.checklist, self.rulebase)

    def _by_round(self, readings: Iterable[Reading]) -> Iterator[_Round]:
        """The rounds in their order, evaluated from the same readings as in the runner."""
        groups: dict[tuple[str, int], list[Reading]] = {}
        for reading in readings:
            key = (AS_LEFT, reading.round) if reading.stage == AS_LEFT else (AS_FOUND, 0)
            groups.setdefault(key, []).append(reading)
        found = tuple(groups.get((AS_FOUND, 0), ()))
        for stage, round_ in sorted(groups, key=lambda key: (key[0] == AS_LEFT, key[1])):
            group = tuple(groups[stage, round_])
            before = None if stage == AS_FOUND else found
            yield _Round(stage, round_, group, before, self.evaluator.evaluate(group, before))

    def _part(self, subject: Subject, member: str) -> Part:
        """What was read on a member, or ('') on the job's own subject, and what follows from it."""
        evaluator = self.evaluator.member(member)
        writer = StageWriter(self.checklist, self.rulebase, evaluator.limits, member, self.system)
        stages = []
        for each in self._rounds:
            if not member:
                stages.append(writer.stage(each.stage, each.round, each.readings, each.whole))
            elif any(reading.subject == member for reading in each.readings):
                own = evaluator.evaluate(each.readings, each.found)
                stages.append(writer.stage(each.stage, each.round, each.readings, own, each.whole))
        return Part(
            subject, bool(member), tuple(stages), self.rulebase, evaluator.limits, self.system
        )
