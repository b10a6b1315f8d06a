"""Audit of many jobs, as a whole command: python tests/benchmarks/bench_records.py [COUNT] [FOLDER]

COUNT (10,000) invented jobs are made in FOLDER (else a temporary one) with the short record that
every finished job leaves; their findings are those of the recorded jobs they were made from, since
judging ten thousand jobs is not what is measured. Prints seconds and, to compare between machines,
the ratio to an interpreter that does nothing in the same run.
"""

from __future__ import annotations

import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(TOP / "tests" / "store"))
sys.path.insert(1, str(TOP))

from many_jobs import many_jobs  # noqa: E402
from recorded import recorded, site_text  # noqa: E402

from expert.inference.evaluate import Evaluator  # noqa: E402
from expert.knowledge.load_site import parse_site  # noqa: E402
from expert.procedure.runner import runner_for  # noqa: E402
from expert.records.job_summary import VERSION, RecordedFinding, from_entries, summarize, to_text  # noqa: E402
from expert.report.context import ReportContext  # noqa: E402
from expert.store.job_row import Job  # noqa: E402
from expert.store.jobs import JobStore  # noqa: E402
from expert.store.summaries import keep_summaries  # noqa: E402

RUNS = 5
BATCH = 200


def found_by_checklist() -> dict[str, list[tuple[RecordedFinding, ...]]]:
    """What the rules find in each recorded job."""
    rules, models = recorded()
    site = parse_site(site_text(), "site.yaml", rules)
    result: dict[str, list[tuple[RecordedFinding, ...]]] = {}
    for model in models:
        subject = site.subjects[model.subject]
        evaluator = Evaluator(rules, subject, members=site.members(subject), backend="plain")
        job = Job(
            model.checklist.id, "", "", "", "", "", site.name, "", subject.id, "us", "",
            model.entries[0].at,
        )  # fmt: skip
        report = ReportContext(
            job, model.entries, runner_for(model.checklist, evaluator), evaluator
        )
        result.setdefault(model.checklist.id, []).append(summarize(report).found)
    return result


def fill(store: JobStore, count: int) -> int:
    """Jobs with their summaries; gives the number of entries."""
    chance, findings = random.Random(1), found_by_checklist()
    jobs = many_jobs(count)
    added = number = 0
    while batch := list(islice(jobs, BATCH)):
        rows = []
        for index, (job, entries) in enumerate(batch):
            named = replace(job, id=f"{number:06d}-{job.subject}")
            batch[index] = (named, entries)
            found = tuple(
                replace(each, subject=job.subject)
                for each in chance.choice(findings[job.checklist])
                if chance.random() < 0.9
            )
            short = from_entries(entries, job.finished, job.checklist)
            rows.append((named.id, len(entries), to_text(replace(short, judged=True, found=found))))
            number += 1
        added += store.add_all(batch)
        keep_summaries(store.database, rows, VERSION, datetime.now(UTC))
    return added


def seconds(*words: str, folder: str = "") -> list[float]:
    """Of whole processes, one after the other."""
    environment = {**os.environ, "PYTHONPATH": str(TOP), "RACKWALK_HOME": folder}
    taken = []
    for _ in range(RUNS):
        start = time.perf_counter()
        done = subprocess.run([sys.executable, *words], env=environment, capture_output=True)
        taken.append(time.perf_counter() - start)
        assert done.returncode == 0, done.stderr.decode()
    return sorted(taken)


def main() -> None:
    """Fill where the folder is empty, then measure."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as temporary:
        folder = sys.argv[2] if len(sys.argv) > 2 else temporary
        path = Path(folder) / "jobs.db"
        if not path.is_file():
            with JobStore(path) as store:
                print(f"{count} jobs, {fill(store, count)} entries")
        site = Path(temporary) / "site.yaml"
        site.write_text(site_text().replace("Tamarack Hollow Market", "Larch Bend Market"), "utf-8")
        bare = statistics.median(seconds("-c", "pass"))
        for words in (("audit",), ("audit", "--json"), ("refrigerant", "log", "--site", str(site))):
            taken = seconds("-m", "expert", *words, folder=folder)
            print(
                f"{' '.join(words[:2])}: median {statistics.median(taken):.2f} s, worst "
                f"{taken[-1]:.2f} s, {statistics.median(taken) / bare:.0f} x an interpreter that "
                f"does nothing ({bare * 1000:.0f} ms)"
            )


if __name__ == "__main__":
    main()
