"""Something is run again whenever a file changes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

from expert.author.scenarios.watch import stamps, watch


def interrupted_after(steps: list[Callable[[], object]]) -> Callable[[float], None]:
    """A sleep that does one step at a time, and is interrupted after the last."""
    waiting: Iterator[Callable[[], object]] = iter(steps)

    def sleep(seconds: float) -> None:
        step = next(waiting, None)
        if step is None:
            raise KeyboardInterrupt
        step()

    return sleep


def watched(folder: Path, *steps: Callable[[], object]) -> tuple[list[str], int, int]:
    said: list[str] = []
    runs = 0

    def run() -> int:
        nonlocal runs
        runs += 1
        return runs

    result = watch([folder], run, said.append, interrupted_after(list(steps)))
    return said, runs, result


def test_it_runs_once_and_then_only_after_a_change(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_text("a: 1\n", encoding="utf-8")
    said, runs, result = watched(tmp_path, lambda: None, lambda: path.write_text("a: 12\n"))
    assert (runs, result) == (2, 2)
    assert said[-1] == "Changed: a.yaml"


def test_new_and_deleted_files_count_as_changes(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "b.yaml"
    path.parent.mkdir()
    said, runs, _ = watched(tmp_path, lambda: path.write_text("b: 1\n"), path.unlink)
    assert runs == 3
    assert said[1:] == ["Changed: b.yaml", "Changed: b.yaml"]


def test_other_files_are_not_watched(tmp_path: Path) -> None:
    _, runs, _ = watched(tmp_path, lambda: (tmp_path / "notes.txt").write_text("x"))
    assert runs == 1


def test_a_folder_that_is_not_there_has_no_files(tmp_path: Path) -> None:
    assert stamps([tmp_path / "nowhere"]) == {}
