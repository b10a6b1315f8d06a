"""A file is written whole or not at all, and never in the place of a device."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from expert.whole_file import write_whole


def test_what_was_there_before_stays_where_it_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "new folder" / "report.md"
    write_whole(path, "first")
    assert path.read_text(encoding="utf-8") == "first"

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="No space left"):
        write_whole(path, "second")
    assert path.read_text(encoding="utf-8") == "first"
    assert [each.name for each in path.parent.iterdir()] == ["report.md"]


@pytest.mark.skipif(os.name != "posix", reason="devices of POSIX")
def test_a_pipe_is_written_to_and_stays_a_pipe(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    reading = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
    write_whole(path, "text")
    assert os.read(reading, 10) == b"text"
    os.close(reading)
    assert stat.S_ISFIFO(path.stat().st_mode)


@pytest.mark.skipif(not Path("/dev/stdout").exists(), reason="there is no /dev/stdout")
def test_ones_own_output_is_no_file_to_be_replaced(capfd: pytest.CaptureFixture[str]) -> None:
    write_whole(Path("/dev/stdout"), "text")
    assert capfd.readouterr().out == "text"
    assert Path("/dev/stdout").is_symlink()
