"""kill -9 at any moment of a run loses no answer that was acknowledged."""

from __future__ import annotations

import random
import time
from pathlib import Path

from budget import NIGHTLY

from expert.store.jobs import JobStore

from .small_job import LABEL, WALK, Child, Command, lines, resume_words, run_words

KILLS = 10 if NIGHTLY else 5
CLOSING = {"answer", "acknowledge", "done", "clock", "adjust", "sign"}


def _answers(folder: Path) -> list[tuple[str, object]]:
    """What closed each step, without its times."""
    with JobStore(folder / "jobs.db") as store:
        entries = store.entries(store.jobs()[0].id)
    shown = ("value", "answer", "what", "name", "clock", "opened", "restored")
    return [
        (entry.step, [entry.data.get(name) for name in shown])
        for entry in entries
        if entry.kind in CLOSING
    ]


def test_kills_lose_no_answer_and_each_resume_goes_on_at_the_same_step(
    command: Command, tmp_path: Path
) -> None:
    whole = tmp_path / "whole"
    done = command(*run_words(whole), typed=lines())
    expected = _answers(whole)
    labels = [label for label in LABEL.findall(done.out)]
    assert len(labels) == len(WALK) == len(expected)

    chance = random.Random(20260314)
    words, on_disk = run_words(tmp_path, "--plain"), 0
    for _ in range(KILLS):
        child = Child(*words)
        acknowledged = on_disk
        assert child.wait_for_label() == labels[on_disk]
        for group in WALK[on_disk : on_disk + chance.randrange(3)]:
            child.type(group)
            assert child.wait_for_label() == labels[acknowledged + 1]
            acknowledged += 1
        child.type(WALK[acknowledged])
        time.sleep(chance.uniform(0, 0.03))
        child.kill()
        kept = _answers(tmp_path)
        on_disk = len(kept)
        assert acknowledged <= on_disk <= acknowledged + 1
        assert kept == expected[:on_disk]
        words = resume_words(tmp_path, "--plain")
    child = Child(*words)
    assert child.wait_for_label() == labels[on_disk]
    for group in WALK[on_disk:]:
        child.type(group)
    assert child.wait() == 0, child.text
    assert _answers(tmp_path) == expected
