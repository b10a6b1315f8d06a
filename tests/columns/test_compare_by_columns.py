"""`rules compare --jobs` tells the same from columns as from the entries of the jobs."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

pytest.importorskip("pyarrow", reason="the extra 'columns' is not installed")

import pyarrow.parquet as pq
from cli.small_job import SMALL, Command, Printed, lines, run_words

from expert.author.comparison import by_columns
from expert.cli.job.job_columns import ColumnMaker, columns_folder
from expert.columns.batch import Batch
from expert.columns.known_values import JobValues
from expert.columns.parquet import files_in, heads
from expert.store.jobs import JobStore
from expert.store.paths import job_file

Compare = Callable[..., Printed]
# what is changed in the small rulebase, and how many jobs its columns then settle
CHANGES = {
    "nothing": ((), 1),
    "a strength": (("strong: 0.75", "strong: 0.6"), 1),
    "a limit that no step asks": (("at most 18 min", "at most 30 min"), 1),
    "a limit that a step asks, with the same answer": (("15 to 20 psi", "14 to 20 psi"), 1),
    "a limit that a step asks": (("15 to 20 psi", "5 to 12 psi"), 0),
    "how a value is derived": (("upper: upper_pressure, lower: lower_pressure",
                                "upper: lower_pressure, lower: upper_pressure"), 0),
}  # fmt: skip


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    monkeypatch.setenv("RACKWALK_NO_CACHE", "1")
    return Command(monkeypatch, capsys)


@pytest.fixture
def jobs(tmp_path: Path, command: Command) -> Path:
    """A folder with a finished job and one that is not, and the columns of that which is.

    The checklist at hand asks for the time only where the push is low.
    """
    folder = tmp_path / "jobs"
    assert command(*run_words(folder), typed=lines()).code == 0
    command(*run_words(folder, subject="A2"), typed="y\n\n190\n")
    (tmp_path / "checklists").mkdir()
    text = (SMALL / "checkout.yaml").read_text(encoding="utf-8")
    asks = "- time: clearing_time\n          when: [push is low]"
    text = text.replace("- time: clearing_time", asks)
    (tmp_path / "checklists" / "checkout.yaml").write_text(text, encoding="utf-8")
    assert make(command, tmp_path).out.startswith("1 jobs are now in columns")
    return folder


def make(command: Command, folder: Path) -> Printed:
    return command(
        "jobs", "columns", "--jobs", str(folder / "jobs"), "--rulebase", str(SMALL / "rules"),
        "--checklists", str(folder / "checklists"),
    )  # fmt: skip


@pytest.fixture
def compare(tmp_path: Path, command: Command, jobs: Path) -> Compare:
    """Compares the small rulebase with a copy in which texts are replaced (old, new ...)."""

    def told(*texts: str) -> Printed:
        after = tmp_path / "after"
        shutil.rmtree(after, ignore_errors=True)
        shutil.copytree(SMALL / "rules", after)
        for path in after.glob("*.yaml"):
            text = path.read_text(encoding="utf-8")
            for old, new in zip(texts[::2], texts[1::2], strict=True):
                text = text.replace(old, new)
            path.write_text(text, encoding="utf-8")
        return command(
            "rules", "compare", str(SMALL / "rules"), str(after), "--jobs", str(jobs),
            "--checklists", str(tmp_path / "checklists"), "--workers", "1",
        )  # fmt: skip

    return told


@pytest.fixture
def settled(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many jobs the columns settled, block after block."""
    counts: list[int] = []
    usual = by_columns.ColumnComparison.settled

    def counting(self: by_columns.ColumnComparison, batch: Batch) -> by_columns.Settled:
        found = usual(self, batch)
        counts.append(found.count)
        return found

    monkeypatch.setattr(by_columns.ColumnComparison, "settled", counting)
    return counts


@pytest.mark.parametrize("change", CHANGES)
def test_the_same_is_told_with_columns_and_without(
    compare: Compare, jobs: Path, settled: list[int], change: str
) -> None:
    texts, count = CHANGES[change]
    with_columns = compare(*texts)
    assert settled == [count]
    shutil.rmtree(columns_folder(job_file(jobs)))
    assert with_columns == compare(*texts)
    assert "2 cases judged by both" in with_columns.out


def test_a_job_that_went_on_is_no_longer_judged_from_its_columns(
    compare: Compare, command: Command, tmp_path: Path, jobs: Path
) -> None:
    with JobStore(job_file(jobs)) as store:
        gone_on = next(each for each in store.jobs() if each.finished)
        store.database.run("UPDATE job SET chain = 'other' WHERE id = :id", {"id": gone_on.id})
    assert "2 cases judged by both" in compare().out
    assert make(command, tmp_path).out.startswith("1 jobs are now in columns")
    assert "2 cases judged by both" in compare().out


def test_columns_are_made_once_and_again_where_they_were_deleted(
    command: Command, tmp_path: Path, jobs: Path
) -> None:
    assert make(command, tmp_path).out.startswith("0 jobs are now in columns")
    folder = columns_folder(job_file(jobs))
    (made,) = files_in(folder)
    before = sorted(heads(made))
    shutil.rmtree(folder)
    assert make(command, tmp_path).out.startswith("1 jobs are now in columns")
    (made,) = files_in(folder)
    assert sorted(heads(made)) == before


def spoilt(text: bytes, how: str) -> bytes:
    """The bytes of a file that was cut off, emptied, or changed at one place."""
    names = text.index(b"ARROW:schema")  # what a file says of itself stands in it too, coded
    places = {"names": names + 5000, "block": len(text) // 8}
    if how in places:
        at = places[how]
        return text[:at] + bytes([text[at] ^ 0x15]) + text[at + 1 :]
    return {"half": text[: len(text) // 2], "empty": b"", "another": b"what is this"}[how]


@pytest.mark.parametrize("how", ["half", "empty", "another", "names", "block"])
def test_a_damaged_file_is_told_and_made_anew(
    compare: Compare, command: Command, tmp_path: Path, jobs: Path, how: str
) -> None:
    whole = compare(*CHANGES["a strength"][0])
    (made,) = files_in(columns_folder(job_file(jobs)))
    made.write_bytes(spoilt(made.read_bytes(), how))
    done = compare(*CHANGES["a strength"][0])
    assert (done.code, done.out) == (0, whole.out)
    assert f"Columns {made.name} cannot be read" in done.err
    assert make(command, tmp_path).out.startswith("1 jobs are now in columns")
    assert compare(*CHANGES["a strength"][0]) == whole


def test_what_a_killed_program_left_is_not_read_and_cleared_away(
    compare: Compare, command: Command, tmp_path: Path, jobs: Path
) -> None:
    whole = compare()
    folder = columns_folder(job_file(jobs))
    for name, age in (("000002-a.parquet.77.part", 7200), ("000003-b.parquet.78.part", 60)):
        (folder / name).write_bytes(b"PAR1")
        os.utime(folder / name, (time.time() - age,) * 2)
    assert compare() == whole
    make(command, tmp_path)
    assert [each.name for each in folder.glob("*.part")] == ["000003-b.parquet.78.part"]


def test_a_file_that_another_version_wrote_is_read(
    compare: Compare, command: Command, tmp_path: Path, jobs: Path, settled: list[int]
) -> None:
    whole = compare()
    (made,) = files_in(columns_folder(job_file(jobs)))
    table = pq.read_table(made)
    for version, compression in (("1.0", "none"), ("2.6", "gzip")):
        pq.write_table(table, made, version=version, compression=compression, row_group_size=1)
        assert compare() == whole
        assert make(command, tmp_path).out.startswith("0 jobs are now in columns")
    assert settled == [1, 1, 1]


def test_two_programs_that_make_columns_at_once_spoil_nothing(
    compare: Compare, command: Command, tmp_path: Path, jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = compare()
    folder = columns_folder(job_file(jobs))
    shutil.rmtree(folder)
    usual, inside = ColumnMaker._values, list[int]()

    def beside(self: ColumnMaker, missing: list[str]) -> Iterator[JobValues]:
        if not inside:  # the other one begins and ends while this one is at work
            inside.append(1)
            assert make(command, tmp_path).out.startswith("1 jobs are now in columns")
        yield from usual(self, missing)

    monkeypatch.setattr(ColumnMaker, "_values", beside)
    assert make(command, tmp_path).out.startswith("1 jobs are now in columns")
    assert len(files_in(folder)) == 2
    assert compare() == whole
    assert make(command, tmp_path).out.startswith("0 jobs are now in columns")
    assert len(files_in(folder)) == 1
    assert compare() == whole
