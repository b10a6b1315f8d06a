"""A program that enters answers as fast as it can and says each one once it is kept.

Run as `killed_writer.py PLACE JOB`; it is killed from outside.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

from expert.procedure.entries import Entry
from expert.store.jobs import JobStore


def main(path: str, job_id: str) -> None:
    store = JobStore(path if "://" in path else Path(path))
    seq = len(store.entries(job_id))
    while True:
        seq += 1
        data = {"text": f"{seq} psig", "value": float(seq)}
        store.append(job_id, Entry(seq, datetime.now(UTC), "answer", f"step-{seq}", data))
        sys.stdout.write(f"{seq}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(*sys.argv[1:])
