"""A sample of very many jobs judged by columns and by the engine."""

from __future__ import annotations

import pickle
import time
from pathlib import Path
from random import Random

import numpy as np
import pyarrow.parquet as pq
from drawn_readings import told_by_engine
from jobs_drawn import SEED, free_quantities, sampled

from expert.columns import parquet
from expert.columns.column_judge import ColumnJudge
from expert.columns.said import AllSaid
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.procedure.world import AS_FOUND, AS_LEFT


def equality(folder: Path, after: Rulebase, count: int, seconds: float) -> str:
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
    return (
        f"{tried} of the sample of {count} judged by the engine too: {tried - other - left} alike, "
        f"{other} otherwise, {left} left open (wanted: none otherwise)"
    )
