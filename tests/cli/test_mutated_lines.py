"""Jobs from elsewhere with something odd in them: left out with a sentence, or read to the end."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from expert.store.jobs import JobStore
from tests.budget import examples

from .small_job import SMALL, Command, lines, run_words

ODD = (None, "", 0, -1, 1e308, True, [], {}, ["a"], {"a": 1}, "x" * 50, "../../x", "\x1b[2J",
       "2026-13-45", "NaN", "=cmd", "low", "a: &a [x]\nb: [*a, *a]")  # fmt: skip
OPTIONS = ("--rulebase", str(SMALL / "rules"), "--engine", "plain")
CRASH = 70


@pytest.fixture
def line(command: Command, tmp_path: Path) -> dict[str, Any]:
    """A whole job as a line of the form before hashes, so that anybody could have written it."""
    assert command(*run_words(tmp_path / "jobs", "--who", "A. Sample"), typed=lines()).code == 0
    file = tmp_path / "job.jsonl"
    command("jobs", "export", "--jobs", str(tmp_path / "jobs"), "--output", str(file))
    found: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    found["form"] = 1
    for entry in found["entries"]:
        del entry["hash"], entry["who"]
    return found


def places(value: object, above: tuple[object, ...] = ()) -> Iterator[tuple[object, ...]]:
    """The way to every value of a document."""
    if above:
        yield above
    pairs: list[tuple[object, object]] = []
    if isinstance(value, dict):
        pairs = list(value.items())
    elif isinstance(value, list):
        pairs = list(enumerate(value))
    for key, below in pairs:
        yield from places(below, (*above, key))


def mutated(line: dict[str, Any], rng: random.Random) -> tuple[str, str]:
    """A line with one value odd or gone, and which."""
    copy: Any = json.loads(json.dumps(line))
    way = rng.choice(list(places(copy)))
    part = copy
    for key in way[:-1]:
        part = part[key]
    if rng.random() < 0.2 and isinstance(part, dict):
        del part[way[-1]]
        return json.dumps(copy), f"{way} gone"
    part[way[-1]] = odd = rng.choice(ODD)
    return json.dumps(copy), f"{way} is {odd!r}"


def test_no_line_ends_a_command_with_an_error_of_the_program(
    command: Command, line: dict[str, Any], tmp_path: Path
) -> None:
    rng, taken = random.Random(14), 0
    file, jobs = tmp_path / "odd.jsonl", tmp_path / "odd"
    place = ("--jobs", str(jobs))
    for _ in range(examples(100)):
        text, what = mutated(line, rng)
        file.write_text(text + "\n", encoding="utf-8")
        shutil.rmtree(jobs, ignore_errors=True)
        assert command("jobs", "import", str(file), *place).code in (0, 3), what
        if not (jobs / "jobs.db").exists():
            continue
        with JobStore(jobs / "jobs.db") as store:
            ids = [job.id for job in store.jobs()]
        taken += len(ids)
        for words in [*(("report", each, "--output", "-", *OPTIONS) for each in ids),
                      ("audit", *OPTIONS), ("jobs", "open"), ("jobs", "check")]:  # fmt: skip
            done = command(*words, *place)
            assert done.code != CRASH, f"{what}: {words}: {done.err}"
    assert taken > examples(100) // 5
