"""Jobs of 400 invented stores on plants of the model, with all that is known in them, in columns.

Plants are drawn with a fault or in order (invented, from a fixed seed), placed in stores, and
visited: of some of the readings a technician could take, as found and at times as left. What is
known follows from the readings by the program's own derivation (`base` jobs). Each holds what it
was told by the rulebase of the making, and most of them how that turned out. Each of these is then
repeated with other errors of the instruments, on all numbers from which nothing is derived, until
there are as many as are wanted; so all jobs are different, and each is whole. Stores follow one
another over the files, as they do where the command has made them.
"""

from __future__ import annotations

import hashlib
import pickle
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from drawn_readings import DrawnJob

import expert.plant
from expert.author.scenarios.from_plants import readings_of
from expert.columns import parquet
from expert.columns.batch import Batch
from expert.columns.column_judge import ColumnJudge
from expert.columns.flat_value import READ
from expert.columns.frame import Frame
from expert.columns.known_values import Became, JobHead, JobValues, ToldThen, values_from
from expert.columns.said import AllSaid
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.plant.cases import Case, Wanted, every_fault, make_cases
from expert.procedure.world import AS_FOUND, AS_LEFT
from expert.report.outcomes import ANOTHER, CONFIRMED, NOT_KNOWN, NOT_SO
from expert.units.measure import Measure

JobSaid = tuple[tuple[ToldThen, ...], tuple[Became, ...]]
STORES, SEED = 400, 20261130
IN_A_FILE = 5  # blocks
LEFT_TOO = 0.4  # so many jobs changed something and were read again
CURED = 0.8  # of these so many were put right, the others read like before
SAID = 0.6  # of so many jobs somebody said how it turned out
UNKNOWN = 0.1  # of these so many that it is not known


def drawn_plants(folder: Path, count: int) -> list[Case]:
    """So many plants, drawn once by the same model."""
    sources = sorted(Path(*expert.plant.__path__).glob("*.*"))
    text = b"".join(each.read_bytes() for each in sources) + f"{count} {SEED}".encode()
    file = folder / f"plants-{hashlib.sha256(text).hexdigest()[:12]}.pickle"
    if not file.exists():
        file.write_bytes(pickle.dumps(plants(count)))
    found: list[Case] = pickle.loads(file.read_bytes())
    return found


def plants(count: int) -> list[Case]:
    """So many plants that were called for, a fifth of them in order."""
    faults = every_fault(1, SEED, low=0.2)
    wishes = [faults[n % len(faults)] if n % 5 else Wanted((), ()) for n in range(count)]
    return list(make_cases(SEED, wishes))


def site_text(store: int, cases: list[Case]) -> str:
    """An invented store with a rack and two like circuits for each of its plants."""
    lines = [f"site: {{name: Store {store} (invented), invented: yes, altitude: 0 ft}}", "racks:"]
    for number, case in enumerate(cases):
        lines += [
            f"  - id: R{number}", f"    title: Rack {number}",
            f"    refrigerant: {case.refrigerant}", f"    application: {case.application}",
            f"    defrost: {case.defrost}", "    circuits:",
        ]  # fmt: skip
        lines += [
            f"      - {{id: R{number}C{n}, title: Circuit {n}, case_type: {case.case_type}, "
            f"has: [{', '.join(case.has)}]}}"
            for n in (1, 2)
        ]
    return "\n".join(lines) + "\n"


class BaseJobs:
    """The base jobs of a folder, with the sites they are in."""

    def __init__(self, rules: Rulebase, cases: list[Case], visits: int) -> None:
        self._rules = rules
        self._chance = Random(SEED)
        self._visits = visits
        self._cases: list[list[Case]] = [[] for _ in range(STORES)]
        for number, case in enumerate(cases):
            self._cases[number % STORES].append(case)
        self.sites = {f"s{n}": site_text(n, cases) for n, cases in enumerate(self._cases) if cases}
        self.jobs: list[tuple[str, DrawnJob, str]] = []  # site, readings, fault

    def values(self, frame: str) -> Iterator[JobValues]:
        """What is known in each."""
        for store, cases in enumerate(self._cases):
            if not cases:
                continue
            name = f"s{store}"
            site = parse_site(self.sites[name], name, self._rules)
            for number, case in enumerate(cases):
                subject = f"R{number}" if case.complaint == "rack" else f"R{number}C1"
                on = site.subjects[subject]
                evaluator = Evaluator(self._rules, on, members=site.members(on), backend="plain")
                for _ in range(self._visits):
                    job = self._job(case, subject)
                    head = JobHead(f"b{len(self.jobs)}", "", name, subject)
                    self.jobs.append((name, job, "".join(case.faults)))
                    yield replace(values_from(head, evaluator, job.found, job.left), frame=frame)

    def _job(self, case: Case, subject: str) -> DrawnJob:
        found = self._read(case.readings, case, AS_FOUND)
        left = None
        if self._chance.random() < LEFT_TOO:
            cured = self._chance.random() < CURED
            left = self._read(case.usual if cured else case.readings, case, AS_LEFT)
        return DrawnJob(subject, found, left)

    def _read(self, told: dict[str, object], case: Case, stage: str) -> tuple[Reading, ...]:
        share = self._chance.uniform(0.15, 0.6)
        some = {name: value for name, value in told.items() if self._chance.random() < share}
        made = readings_of(some, 0.0, self._rules.quantities)  # type: ignore[arg-type]
        return tuple(
            self._another(replace(each, stage=stage, round=int(stage == AS_LEFT)))
            for several in made.values()
            for each in several
        )

    def _another(self, reading: Reading) -> Reading:
        if not isinstance(reading.value, Measure) or not reading.value.plus_minus:
            return reading
        moved = reading.value.value + self._chance.gauss(0, reading.value.plus_minus / 2)
        return replace(reading, value=replace(reading.value, value=moved))


def outcomes(folder: Path, rules: Rulebase, faults: list[str]) -> dict[str, JobSaid]:
    """What each base job was told as found, and of most how it turned out (by lot, fixed seed)."""
    judge, chance = ColumnJudge(rules, AllSaid()), Random(SEED + 1)
    told: dict[str, JobSaid] = {}
    for batch in parquet.batches(folder / "base.parquet"):
        found = judge.judge(batch)
        subjects = batch.names.of["subject"]
        for view in np.flatnonzero(batch.home & (batch.group % 2 == 0)).tolist():
            job = batch.jobs[batch.group[view] // 2][0]
            causes = judge.said.said[int(found.said[view])].found
            on = subjects[batch.lists["view_subject"][view]]
            then = tuple(ToldThen(on, e.cause, e.words) for e in causes if not e.under)
            lead = causes[0].cause if causes else ""
            became = _became(on, lead, faults[int(job[1:])], chance)
            told[job] = then, became
    return told


def _became(on: str, lead: str, fault: str, chance: Random) -> tuple[Became, ...]:
    if chance.random() > SAID or not (lead or fault):
        return ()
    if chance.random() < UNKNOWN:
        return (Became(on, lead, "", NOT_KNOWN),)
    answer = CONFIRMED if lead == fault else ANOTHER if fault else NOT_SO
    return (Became(on, lead, fault, answer),)


def free_quantities(rules: Rulebase) -> set[str]:
    """The quantities from which nothing is derived."""
    inputs = {
        name
        for each in rules.quantities.values() if each.derivation
        for name in each.derivation.rests_on
    }  # fmt: skip
    return set(rules.quantities) - inputs


def repeated(folder: Path, count: int, rules: Rulebase) -> int:
    """The base jobs again and again with other errors, about so many; how many they are."""
    base = folder / "base.parquet"
    meta, table = parquet.meta_of(base), pq.read_table(base)
    free = np.array([name in free_quantities(rules) for name in meta["names"]["quantity"]])
    ends = table.column("job").combine_chunks().value_lengths().to_pylist()
    turns = -(-count // sum(ends))
    rng = np.random.default_rng(SEED)
    number = 0
    for row in range(table.num_rows):
        one = table.slice(row, 1).combine_chunks()
        jobs = one.column("job").chunk(0).values.to_pylist()
        blocks = [
            _varied(one, [f"{job}-{turn}" for job in jobs], free, rng) for turn in range(turns)
        ]
        for first in range(0, turns, IN_A_FILE):
            part = pa.concat_tables(blocks[first : first + IN_A_FILE])
            parquet.write_table(folder / f"{number:06d}.parquet", part, meta)
            number += 1
    return turns * sum(ends)


def _varied(one: pa.Table, jobs: list[str], free: np.ndarray, rng: np.random.Generator) -> pa.Table:
    def numbers(name: str) -> np.ndarray:
        return one.column(name).chunk(0).values.to_numpy(zero_copy_only=False)

    counts, value = numbers("number_counts"), numbers("number").copy()
    moves = np.repeat(free[: len(counts)], counts) & (numbers("number_origin") == READ)
    value[moves] += rng.normal(0, 0.5, int(moves.sum())) * numbers("number_plus_minus")[moves]
    for name, kept, kind in (("number", value, pa.float64()), ("job", jobs, pa.string())):
        place = one.schema.get_field_index(name)
        column = pa.array([kept], type=pa.list_(kind))
        one = one.set_column(place, one.schema.field(place), column)
    return one


def sampled(batch: Batch, job: int, base: DrawnJob, free: set[str]) -> DrawnJob:
    """The readings of a repeated job: those of the base job with the values of its columns."""
    first, last = np.searchsorted(batch.group, [2 * job, 2 * job + 2])
    values = {}
    for name in free & batch.numbers.keys():
        column = batch.numbers[name]
        for row in np.flatnonzero((column.view >= first) & (column.view < last)):
            if column.origin[row] == READ:
                stage = AS_LEFT if batch.group[column.view[row]] % 2 else AS_FOUND
                values[name, stage] = float(column.value[row])

    def moved(readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
        return tuple(
            replace(each, value=replace(each.value, value=values[each.quantity, each.stage]))
            if (each.quantity, each.stage) in values and isinstance(each.value, Measure)
            else each
            for each in readings
        )

    left = None if base.left is None else moved(base.left)
    return DrawnJob(base.subject, moved(base.found), left)


def made_now(folder: Path, frame: Frame) -> bool:
    """Whether the jobs of a folder hold under a frame; what was made in another is not settled."""
    return all(
        Frame(**each).holds_under(frame)
        for each in parquet.meta_of(folder / "base.parquet")["frames"].values()
    )


def prepare(
    folder: Path, rules: Rulebase, frame: Frame, *, jobs: int, plants: int, visits: int
) -> Iterator[str]:
    """Make what a folder does not hold; tells how long it took."""
    folder.mkdir(parents=True, exist_ok=True)
    base_file = folder / "base.parquet"
    if base_file.exists() and not made_now(folder, frame):
        yield "what the folder holds was made by another program or checklist: it is made anew"
        for path in folder.glob("*.parquet"):
            path.unlink()
    if not base_file.exists():
        start = time.process_time()
        base = BaseJobs(rules, drawn_plants(folder, plants), visits)
        drawn = time.process_time() - start
        values = list(base.values(frame.name))
        start = time.process_time() - drawn - start
        frames = {frame.name: frame}
        parquet.write(base_file, values, base.sites, frames)
        told = outcomes(folder, rules, [fault for _, _, fault in base.jobs])
        values = [
            replace(each, told=told[each.head.job][0], became=told[each.head.job][1])
            for each in values
        ]
        parquet.write(base_file, values, base.sites, frames)
        (folder / "base.pickle").write_bytes(pickle.dumps((base.jobs, base.sites)))
        yield (
            f"{len(values)} base jobs: plants drawn in {drawn:.0f} s, known values derived in "
            f"{start:.0f} s ({1000 * start / len(values):.1f} ms a job)"
        )
    if not (folder / "000000.parquet").exists():
        start = time.process_time()
        made = repeated(folder, jobs, rules)
        yield f"repeated to {made} jobs in {time.process_time() - start:.0f} s"
