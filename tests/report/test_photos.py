"""Photos stand inside the HTML page, and the page says why one does not."""

from __future__ import annotations

import base64
from datetime import UTC, datetime
from pathlib import Path

import pytest

from expert.procedure.entries import Entry
from expert.procedure.photo_file import photo_files
from expert.report import photos as photos_module
from expert.report.photos import photos

PNG = b"\x89PNG\r\n\x1a\n and more"


def entry(path: Path, caption: str = "frost <b>") -> Entry:
    (found,) = photo_files(str(path))
    data = {"path": found.path, "media": found.media, "hash": found.hash, "caption": caption}
    return Entry(1, datetime(2026, 3, 14, tzinfo=UTC), "photo", "", data)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "a coil.png"
    path.write_bytes(PNG)
    return path


def test_the_bytes_of_the_file_are_in_the_page(file: Path) -> None:
    (shown,) = photos([entry(file)])
    head, _, tail = shown.data.partition(",")
    assert head == "data:image/png;base64" and base64.b64decode(tail) == PNG
    assert shown.link.startswith("file:///") and shown.link.endswith("a%20coil.png")


def test_a_file_that_is_gone_or_was_changed_is_not_shown(file: Path) -> None:
    made = entry(file)
    file.write_bytes(PNG + b"!")
    (shown,) = photos([made])
    assert shown.data == "" and "changed" in shown.why_not
    file.unlink()
    (shown,) = photos([made])
    assert shown.data == "" and "not here" in shown.why_not


def test_what_makes_the_page_too_large_is_only_linked(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photos_module, "MOST_ON_A_PAGE", len(PNG))
    first, second = photos([entry(file), entry(file)])
    assert first.data and not second.data and "too large" in second.why_not


def test_a_path_of_an_older_job_is_never_looked_up_here() -> None:
    old = Entry(1, datetime(2026, 3, 14, tzinfo=UTC), "photo", "", {"path": "x>](y\n.jpg"})
    (shown,) = photos([old])
    assert shown.data == "" and not set(shown.link) & set(">]( \n")
