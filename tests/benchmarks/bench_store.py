"""How quickly a store of two years of jobs opens, lists and looks back, beside a bare interpreter.

    python tests/benchmarks/bench_store.py [JOBS] [FOLDER]

The jobs are invented (tests/store/many_jobs.py). A FOLDER that holds so many is used again.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "store"))
sys.path.insert(1, str(Path(__file__).parents[2]))

from many_jobs import STORES, fill  # noqa: E402
from recorded import site_text  # noqa: E402

from expert.cli.job.load_knowledge import load_rules  # noqa: E402
from expert.cli.job.open_job import find_checklist  # noqa: E402
from expert.knowledge.load_site import parse_site  # noqa: E402
from expert.store.find_history import gather, last_readings, open_items  # noqa: E402
from expert.store.jobs import JobStore  # noqa: E402

TIMES = 15


def timed(what: Callable[[], object], times: int = TIMES) -> tuple[float, float]:
    """The middle of some runs: time on the clock and of the processor [s], children too."""
    clock, processor = [], []
    for _ in range(times):
        began, used = time.perf_counter(), _used()
        what()
        clock.append(time.perf_counter() - began)
        processor.append(_used() - used)
    return statistics.median(clock), statistics.median(processor)


def _used() -> float:
    return sum(os.times()[:4])


def command(*words: str) -> None:
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)


def main(count: int, folder: Path) -> None:
    path = folder / "jobs.db"
    began = time.perf_counter()
    with JobStore(path) as store:
        have = len(store.jobs())
        if have < count:
            fill(store, count)
            print(f"filled in {time.perf_counter() - began:.0f} s")
    JobStore(path).close()  # today's copy is made here and not in what is timed
    rules = load_rules(None)
    name = STORES[0]
    text = site_text().replace("Tamarack Hollow Market (invented)", name)
    site = parse_site(text, "site.yaml", rules)
    subject = site.subjects["A4"]
    checklist = find_checklist("hot-gas-defrost-checkout", rules)
    bare = timed(lambda: command("-c", ""), 7)
    with JobStore(path) as store:
        jobs = store.jobs()
        entries = sum(job.entries for job in jobs)
        one = ("hot_gas_header_pressure",)
        found, _ = gather(store, site, subject, checklist, rules.quantities)
        figures = {
            "open and close": timed(lambda: JobStore(path).close()),
            "list of all jobs": timed(store.jobs, 5),
            "one look-up": timed(
                lambda: last_readings(store, site, subject, one, rules.quantities)
            ),
            "open items of a site": timed(lambda: open_items(store, name)),
            "all a new job is given": timed(
                lambda: gather(store, site, subject, checklist, rules.quantities)
            ),
            "rackwalk jobs": timed(
                lambda: command("-m", "expert", "jobs", "--jobs", str(folder)), 5
            ),
        }
    size = path.stat().st_size / 1e6
    print(f"{len(jobs)} jobs, {entries} entries, {size:.0f} MB")
    print(f"a new job is given {len(found.readings)} readings, {len(found.open)} open items")
    for what, (clock, processor) in {"bare interpreter": bare, **figures}.items():
        print(
            f"{what:<23}{clock * 1000:8.1f} ms, processor {processor * 1000:7.1f} ms, "
            f"{clock / bare[0]:6.2f} times the interpreter"
        )


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    if len(sys.argv) > 2:
        main(wanted, Path(sys.argv[2]))
    else:
        with TemporaryDirectory() as temporary:
            main(wanted, Path(temporary))
