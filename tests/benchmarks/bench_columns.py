"""A million jobs judged again from columns: python tests/benchmarks/bench_columns.py FOLDER

Plants are drawn with a fault or in order (invented, from a fixed seed), placed in 400 invented
stores, and visited: of some of the readings a technician could take, as found and at times as left.
What is known follows from the readings by the program's own derivation (`base` jobs). Each of these
is then repeated with other errors of the instruments, on all numbers from which nothing is derived,
until there are JOBS of them; so all jobs are different, and each is whole.

Options: --jobs 1000000 --plants 2000 --visits 10 --sample 10000. What FOLDER holds already is used
again, unless it was made by another program. Prints seconds of the processor, the largest memory of
the process, how often the sample is judged as the engine judges it, and the wanted figure beside
each; with --only workers the time on the clock with one process of Dask and with two.
"""

from __future__ import annotations

import argparse
import pickle
import resource
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from random import Random

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

TOP = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(TOP), str(TOP / "tests" / "columns")]

from drawn_readings import DrawnJob, told_by_engine  # noqa: E402
from other_rules import other_rules  # noqa: E402

from expert.author.comparison.backtest import JudgedBy  # noqa: E402
from expert.author.comparison.by_columns import ColumnComparison  # noqa: E402
from expert.author.scenarios.from_plants import readings_of  # noqa: E402
from expert.cli.job.load_knowledge import load_all_checklists, load_rules  # noqa: E402
from expert.columns import parquet  # noqa: E402
from expert.columns.batch import Batch  # noqa: E402
from expert.columns.column_judge import ColumnJudge  # noqa: E402
from expert.columns.flat_value import READ  # noqa: E402
from expert.columns.frame import Frame, frame_of  # noqa: E402
from expert.columns.known_values import JobHead, JobValues, values_from  # noqa: E402
from expert.columns.said import AllSaid  # noqa: E402
from expert.inference.evaluate import Evaluator  # noqa: E402
from expert.inference.evaluation_model import Reading  # noqa: E402
from expert.knowledge.load_site import parse_site  # noqa: E402
from expert.knowledge.model import Rulebase  # noqa: E402
from expert.plant.cases import Case, Wanted, every_fault, make_cases  # noqa: E402
from expert.procedure.world import AS_FOUND, AS_LEFT  # noqa: E402
from expert.units.measure import Measure  # noqa: E402

STORES, SEED = 400, 20261130
WANTED_SECONDS, WANTED_RATE, WANTED_MEMORY = 60, 20_000, 500
LEFT_TOO = 0.4  # so many jobs changed something and were read again


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

    def __init__(self, rules: Rulebase, count: int, visits: int) -> None:
        self._rules = rules
        self._chance = Random(SEED)
        self._visits = visits
        self._cases: list[list[Case]] = [[] for _ in range(STORES)]
        for number, case in enumerate(plants(count)):
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
            left = self._read(case.usual, case, AS_LEFT)
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


def free_quantities(rules: Rulebase) -> set[str]:
    """The quantities from which nothing is derived."""
    inputs = {
        name
        for each in rules.quantities.values() if each.derivation
        for name in each.derivation.rests_on
    }  # fmt: skip
    return set(rules.quantities) - inputs


def repeated(folder: Path, count: int, rules: Rulebase) -> None:
    """The base jobs again and again with other errors, until there are so many jobs."""
    meta = parquet.meta_of(base := folder / "base.parquet")
    free = np.array([name in free_quantities(rules) for name in meta["names"]["quantity"]])
    table = pq.read_table(base)
    made = turn = 0
    rng = np.random.default_rng(SEED)
    while made < count:
        blocks = []
        for row in range(table.num_rows):
            one = table.slice(row, 1).combine_chunks()
            jobs = one.column("job").chunk(0).values.to_pylist()[: count - made]
            whole = len(jobs) == len(one.column("job").chunk(0).values)
            if not whole or made >= count:
                made = count
                break
            made += len(jobs)
            blocks.append(_varied(one, [f"{job}-{turn}" for job in jobs], free, rng))
        if blocks:
            parquet.write_table(folder / f"{turn:06d}.parquet", pa.concat_tables(blocks), meta)
        turn += 1


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


def memory() -> float:
    """The most memory of this process so far [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def made_now(folder: Path, frame: Frame) -> bool:
    """Whether the jobs of a folder hold under a frame; what was made in another is not settled."""
    return all(
        Frame(**each).holds_under(frame)
        for each in parquet.meta_of(folder / "base.parquet")["frames"].values()
    )


def prepare(options: argparse.Namespace, rules: Rulebase, frame: Frame) -> None:
    folder: Path = options.folder
    folder.mkdir(parents=True, exist_ok=True)
    if (folder / "base.parquet").exists() and not made_now(folder, frame):
        say("what the folder holds was made by another program or checklist: it is made anew")
        for path in folder.glob("*.parquet"):
            path.unlink()
    if not (folder / "base.parquet").exists():
        start = time.process_time()
        base = BaseJobs(rules, options.plants, options.visits)
        drawn = time.process_time() - start
        values = list(base.values(frame.name))
        start = time.process_time() - drawn - start
        parquet.write(folder / "base.parquet", values, base.sites, {frame.name: frame})
        (folder / "base.pickle").write_bytes(pickle.dumps((base.jobs, base.sites)))
        say(
            f"{len(values)} base jobs: plants drawn in {drawn:.0f} s, known values derived in "
            f"{start:.0f} s ({1000 * start / len(values):.1f} ms a job)"
        )
    if not (folder / "000000.parquet").exists():
        start = time.process_time()
        repeated(folder, options.jobs, rules)
        say(f"repeated in {time.process_time() - start:.0f} s")


def run_through(folder: Path, rules: Rulebase, after: Rulebase) -> None:
    """All jobs under both rulebases: the figures."""
    checklists = load_all_checklists(None, rules)
    sides = [JudgedBy(each, lambda _: checklists) for each in (rules, after)]
    begun, comparison = (time.process_time(), time.monotonic()), ColumnComparison(*sides)
    jobs = different = settled = 0
    for path in sorted(folder.glob("0*.parquet")):
        for batch in parquet.batches(path):
            found = comparison.settled(batch)
            jobs += len(batch.jobs)
            settled += len(found.jobs)
            different += sum(bool(each.lines) for _, each in found.different)
    spent, wall = time.process_time() - begun[0], time.monotonic() - begun[1]
    say(f"{jobs} jobs under both rulebases: {settled} settled, {different} judged differently")
    say(
        f"  processor {spent:.0f} s, on the clock {wall:.0f} s (wanted: {WANTED_SECONDS} s)\n"
        f"  {jobs / spent:,.0f} jobs a second and core, judged twice (wanted: {WANTED_RATE:,})\n"
        f"  memory {memory():.0f} MB (wanted: at most {WANTED_MEMORY} MB)"
    )


def on_workers(folder: Path, rules: Rulebase, after: Rulebase) -> None:
    """The same on one process of Dask and on two, with the time in which they are made ready."""
    from distributed import LocalCluster

    from expert.author.comparison.on_workers import settled_on_workers

    files = sorted(folder.glob("0*.parquet"))
    checklists = partial(load_all_checklists, None)
    both = JudgedBy(rules, checklists), JudgedBy(after, checklists)
    alone = 0.0
    for count in (1, 2):
        with LocalCluster(
            n_workers=count, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster:
            begun = time.monotonic()
            jobs = different = 0
            for each in settled_on_workers(cluster.scheduler_address, files, both):
                jobs += len(each.jobs)
                different += sum(bool(judged.lines) for _, judged in each.different)
            wall = time.monotonic() - begun
        alone = alone or wall
        say(
            f"{count} processes: {jobs} jobs, {different} judged differently, {wall:.0f} s on the "
            f"clock (wanted: {WANTED_SECONDS} s), efficiency {alone / wall / count:.0%}"
        )


def one_side(folder: Path, rules: Rulebase) -> None:
    """All jobs under one rulebase alone, and how often the fault that was there leads."""
    faults = [fault for _, _, fault in pickle.loads((folder / "base.pickle").read_bytes())[0]]
    judge = ColumnJudge(rules, AllSaid())
    begun = time.process_time()
    jobs = right = faulty = 0
    for path in sorted(folder.glob("0*.parquet")):
        for batch in parquet.batches(path):
            judge.said.bound()
            found = judge.judge(batch)
            jobs += len(batch.jobs)
            leads = [said.found[0].cause if said.found else "" for said in judge.said.said]
            home = np.flatnonzero(batch.home & (batch.group % 2 == 0))
            for view, said in zip(home.tolist(), found.said[home].tolist(), strict=True):
                fault = faults[int(batch.jobs[batch.group[view] // 2][0].partition("-")[0][1:])]
                faulty += bool(fault)
                right += bool(fault) and leads[said] == fault
    spent = time.process_time() - begun
    say(
        f"{jobs} jobs by one rulebase: {spent:.0f} s, {jobs / spent:,.0f} a second and core "
        f"(wanted: {WANTED_RATE:,}); {len(judge.said.said)} different verdicts; the fault leads in "
        f"{right / max(faulty, 1):.1%} of {faulty}"
    )


def equality(folder: Path, after: Rulebase, count: int, seconds: float) -> None:
    """A sample judged by the engine too, under the changed rulebase."""
    base, sites = pickle.loads((folder / "base.pickle").read_bytes())
    free, chance = free_quantities(after), Random(SEED)
    files = sorted(folder.glob("0*.parquet"))
    blocks = [(path, n) for path in files for n in range(pq.ParquetFile(path).num_row_groups)]
    judge = ColumnJudge(after, AllSaid())
    made: dict[tuple[str, str], Evaluator] = {}
    tried = other = left = 0
    end = time.monotonic() + seconds
    share = -(-count // len(blocks))
    chance.shuffle(blocks)
    for path, wanted in blocks:
        if tried >= count or time.monotonic() > end:
            break
        batch = next(each for n, each in enumerate(parquet.batches(path)) if n == wanted)
        judge.said.bound()
        found = judge.judge(batch)
        for job in sorted(chance.sample(range(len(batch.jobs)), min(share, len(batch.jobs)))):
            if tried >= count or time.monotonic() > end:
                break
            name, drawn, _ = base[int(batch.jobs[job][0].partition("-")[0][1:])]
            key = (name, drawn.subject)
            if key not in made:
                if len(made) > 300:
                    made.clear()
                site = parse_site(sites[name], name, after)
                on = site.subjects[drawn.subject]
                made[key] = Evaluator(after, on, members=site.members(on), backend="plain")
            told = told_by_engine(made[key], sampled(batch, job, drawn, free))
            tried += 1
            if found.open_jobs[job]:
                left += 1
                continue
            first, last = np.searchsorted(batch.group, [2 * job, 2 * job + 2])
            mine = {}
            for view in range(first, last):
                if batch.judged[view]:
                    said = judge.said.said[int(found.said[view])]
                    subject = batch.names.of["subject"][batch.lists["view_subject"][view]]
                    stage = AS_LEFT if batch.group[view] % 2 else AS_FOUND
                    mine[stage, subject] = said.found, said.held_back
            other += mine != told
    say(
        f"{tried} of the sample of {count} judged by the engine too: {tried - other - left} alike, "
        f"{other} otherwise, {left} left open (wanted: none otherwise)"
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--jobs", type=int, default=1_000_000)
    parser.add_argument("--plants", type=int, default=2_000)
    parser.add_argument("--visits", type=int, default=10)
    parser.add_argument("--sample", type=int, default=10_000)
    parser.add_argument("--seconds", type=float, default=3_600, help="for the sample, at most")
    parser.add_argument("--only", choices=("make", "both", "one", "sample", "workers"))
    options = parser.parse_args()
    rules = load_rules(None)
    frame = frame_of(load_all_checklists(None, rules)["warm-case-triage"], rules)
    prepare(options, rules, frame)
    after = other_rules(rules)
    if options.only in (None, "both"):
        run_through(options.folder, rules, after)
    if options.only == "workers":
        on_workers(options.folder, rules, after)
    if options.only in (None, "one"):
        one_side(options.folder, rules)
    if options.only in (None, "sample"):
        equality(options.folder, after, options.sample, options.seconds)


if __name__ == "__main__":
    main()
