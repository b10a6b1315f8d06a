"""A million jobs judged again from columns: python tests/benchmarks/bench_columns.py FOLDER

The jobs are those of `jobs_drawn.py`. Options: --jobs 1000000 --plants 2000 --visits 10
--sample 10000. What FOLDER holds already is used again, unless it was made by another program.
Prints seconds of the processor, the largest memory of the process, how often the sample is judged
as the engine judges it, and the wanted figure beside each; with --only workers the time on the
clock with one process of Dask and with two.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from dataclasses import fields
from functools import partial
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(TOP), str(TOP / "tests" / "columns"), str(TOP / "tests" / "benchmarks")]

from jobs_drawn import prepare  # noqa: E402
from other_rules import other_rules  # noqa: E402
from sample_by_engine import equality  # noqa: E402

from expert.author.comparison.backtest import JudgedBy  # noqa: E402
from expert.author.comparison.by_columns import ColumnComparison  # noqa: E402
from expert.cli.job.load_knowledge import load_all_checklists, load_rules  # noqa: E402
from expert.columns import parquet  # noqa: E402
from expert.columns.figures_again import CauseAgain, FiguresAgain  # noqa: E402
from expert.columns.frame import frame_of  # noqa: E402
from expert.columns.judged_again import JudgedAgain  # noqa: E402
from expert.knowledge.model import Rulebase  # noqa: E402
from expert.report.outcomes import ANOTHER, CONFIRMED, NOT_SO  # noqa: E402

SUMS = tuple(each.name for each in fields(CauseAgain))
WANTED_SECONDS, WANTED_RATE, WANTED_MEMORY = 60, 20_000, 500


def memory() -> float:
    """The most memory of this process so far [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


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
            settled += found.count
            different += len(found.different)
    spent, wall = time.process_time() - begun[0], time.monotonic() - begun[1]
    say(f"{jobs} jobs under both rulebases: {settled} settled, {different} judged differently")
    say(
        f"  processor {spent:.0f} s, on the clock {wall:.0f} s (wanted: {WANTED_SECONDS} s)\n"
        f"  {jobs / spent:,.0f} jobs a second and core, judged twice (wanted: {WANTED_RATE:,})\n"
        f"  memory {memory():.0f} MB (wanted: at most {WANTED_MEMORY} MB)"
    )


def on_workers(folder: Path, rules: Rulebase, after: Rulebase) -> None:
    """The same on one process of Dask and on two, with the time in which they are made ready.

    On the clock only a quiet machine tells the efficiency. What two processes would come to on two
    cores of their own follows from the processor: they share with what gathers and schedules here.
    """
    from distributed import LocalCluster

    from expert.author.comparison.on_workers import settled_on_workers

    files = sorted(folder.glob("0*.parquet"))
    checklists = partial(load_all_checklists, None)
    both = JudgedBy(rules, checklists), JudgedBy(after, checklists)
    alone = alone_busy = 0.0
    for count in (1, 2):
        begun, here, there = time.monotonic(), time.process_time(), of_children()
        with LocalCluster(
            n_workers=count, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster:
            jobs = different = 0
            for file in settled_on_workers(cluster.scheduler_address, files, both):
                for heads, each in zip(parquet.block_heads(file.path), file.blocks, strict=True):
                    jobs += len(each.of(heads))  # as the command asks which are as they were
                    different += len(each.different)
        wall = time.monotonic() - begun
        here, there = time.process_time() - here, of_children() - there
        alone, alone_busy = alone or wall, alone_busy or there
        say(
            f"{count} processes: {jobs} jobs, {different} judged differently, {wall:.0f} s on the "
            f"clock (wanted: {WANTED_SECONDS} s), efficiency {alone / wall / count:.0%}\n"
            f"  processor: workers {there:.1f} s, here {here:.1f} s; one process over all that "
            f"this takes {alone_busy / (there + here):.0%}"
        )


def of_children() -> float:
    """Processor time of processes that were started here and have ended [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def one_side(folder: Path, rules: Rulebase) -> None:
    """All jobs under one rulebase alone: the figures of outcomes."""
    answers = (CONFIRMED, ANOTHER, NOT_SO)
    again = JudgedAgain(rules, load_all_checklists(None, rules), answers)
    begun, figures = time.process_time(), FiguresAgain()
    for path in sorted(folder.glob("0*.parquet")):
        for batch in parquet.batches(path):
            again.add(batch, [True] * len(batch.jobs), figures)
    spent, jobs = time.process_time() - begun, figures.jobs
    sums = {name: sum(getattr(each, name) for each in figures.causes.values()) for name in SUMS}
    say(
        f"{jobs} jobs by one rulebase, with the figures of outcomes: {spent:.0f} s, "
        f"{jobs / spent:,.0f} a second and core (wanted: {WANTED_RATE:,}); memory {memory():.0f} MB"
    )
    say("  " + ", ".join(f"{name.replace('_', ' ')} {count}" for name, count in sums.items()))


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
    counts = {"jobs": options.jobs, "plants": options.plants, "visits": options.visits}
    for told in prepare(options.folder, rules, frame, **counts):
        say(told)
    after = other_rules(rules)
    if options.only in (None, "both"):
        run_through(options.folder, rules, after)
    if options.only == "workers":
        on_workers(options.folder, rules, after)
    if options.only in (None, "one"):
        one_side(options.folder, rules)
    if options.only in (None, "sample"):
        say(equality(options.folder, after, options.sample, options.seconds))


if __name__ == "__main__":
    main()
