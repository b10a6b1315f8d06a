"""Jobs as lines: what is written comes back exactly, and what is wrong is told."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

import jsonschema
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from expert.procedure.entries import Entry
from expert.store.exchange import LineError, from_line, read_lines, schema, to_line, unreadable
from expert.store.job_row import Job
from expert.store.jobs import JobStore

MakeEntry = Callable[..., Entry]
NUMBERS = count(1)
JUDGE = jsonschema.Draft202012Validator(schema())
TEXTS = st.text(max_size=12)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**60), 2**60) | TEXTS
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=8,
)  # fmt: skip
TIMES = st.datetimes(
    datetime(2020, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)  # noqa: DTZ001
)  # fmt: skip
ENTRIES = st.lists(
    st.tuples(
        TIMES, st.sampled_from(("answer", "skip", "note", "reopen", "sign")), TEXTS,
        st.dictionaries(TEXTS, JSON, max_size=4),
    ),
    max_size=6,
)  # fmt: skip


@pytest.fixture(scope="module")
def some_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[JobStore]:
    with JobStore(tmp_path_factory.mktemp("lines") / "jobs.db") as opened:
        yield opened


def numbered(drafts: list[tuple[datetime, str, str, dict[str, object]]]) -> tuple[Entry, ...]:
    return tuple(Entry(seq, *draft) for seq, draft in enumerate(drafts, 1))


@given(drafts=ENTRIES, who=TEXTS, at=TIMES, finished=st.none() | TIMES)
def test_a_job_that_is_written_and_read_again_is_the_same(
    some_store: JobStore, drafts: list, who: str, at: datetime, finished: datetime | None
) -> None:
    job = Job(
        *("a", "b", "c", "d", "e", "f", "Store", "site text", "A4", "us"), who, at, finished,
        id=f"2026-01-01-A4-{next(NUMBERS)}", uid=f"u{next(NUMBERS)}",
    )  # fmt: skip
    entries = numbered(drafts)
    assume(not unreadable(entries))
    line = to_line(job, entries)
    assert from_line(line) == (job, entries)
    JUDGE.validate(json.loads(line))
    some_store.add_all([(job, entries)])
    kept = some_store.get(job.id)
    assert to_line(kept, some_store.entries(kept.id)) == line


def test_a_server_gives_the_same_lines_as_a_file(
    store: JobStore, job: Job, entry: MakeEntry, tmp_path: Path
) -> None:
    job_id = store.create(replace(job, who="Zo\u00eb \u201cZ\u201d"))
    store.append(job_id, entry(1, "-22 \u00b0C \x00 \U0001f321"))
    line = to_line(store.get(job_id), store.entries(job_id))
    with JobStore(tmp_path / "other.db") as other:
        other.add_all([from_line(line)])
        assert to_line(other.get(job_id), other.entries(job_id)) == line


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda text: text[:-20], "cut off"),
        (lambda text: "[]", "not a job"),
        (lambda text: text.replace('"form": 2', '"form": 7'), "form 7"),
        (lambda text: text.replace('"seq": 2', '"seq": 3'), "numbered 3"),
        (lambda text: text.replace('"units": "us"', '"units": 4'), "'units'"),
        (lambda text: text.replace('"units": "us"', '"unit": "us"'), "'units'"),
        (lambda text: text.replace("+00:00", ""), "zone"),
        (lambda text: text.replace('"data": {', '"dada": {'), "entry 1 must have"),
        (lambda text: text.replace("1420320.0", "NaN"), "not whole JSON"),
    ],
)
def test_a_line_that_is_no_job_says_why(
    job: Job, entry: MakeEntry, change: Callable[[str], str], told: str
) -> None:
    line = to_line(replace(job, id="x", uid="u"), [entry(1), entry(2)])
    with pytest.raises(LineError, match=told):
        from_line(change(line))
    whole, broken = read_lines([line, change(line)])
    assert whole.job is not None
    assert broken.number == 2
    assert broken.problem


def test_the_schema_refuses_what_the_reader_refuses(job: Job, entry: MakeEntry) -> None:
    document = json.loads(to_line(replace(job, id="x", uid="u"), [entry(1)]))
    jsonschema.Draft202012Validator.check_schema(schema())
    for broken in (
        {**document, "form": 3}, {**document, "more": 1},
        {**document, "entries": [{**document["entries"][0], "seq": 0}]},
        {**document, "job": {**document["job"], "uid": ""}},
    ):  # fmt: skip
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(broken, schema())
