"""A photo is taken only where it is a picture by its bytes; several share a caption."""

from __future__ import annotations

from pathlib import Path

import pytest
from procedure_drive import go_to

from expert.errors import ReadingError
from expert.procedure import photo_file
from expert.procedure.photo_file import photo_files
from expert.procedure.session import Session

JPEG, PNG = b"\xff\xd8\xff\xe0 one", b"\x89PNG\r\n\x1a\n two"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "plate.jpg").write_bytes(JPEG)
    (tmp_path / "frost on coil.dat").write_bytes(PNG)
    (tmp_path / "page.webp").write_bytes(b"RIFF\x10\0\0\0WEBPVP8 ")
    (tmp_path / "notes.jpg").write_text("no picture", encoding="utf-8")
    return tmp_path


def test_the_bytes_say_what_it_is_and_not_the_ending(folder: Path) -> None:
    found = photo_files("plate.jpg; 'frost on coil.dat'; page.webp", folder)
    assert [each.media for each in found] == ["image/jpeg", "image/png", "image/webp"]
    assert all(Path(each.path).is_absolute() for each in found)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("notes.jpg", "no picture that a report can show"),
        ("plate.jpg; gone.jpg", "gone.jpg cannot be read"),
        ("~1.jpg", "cannot be read"),  # no user of that name, so it is no home either
        (".", "is a folder"),
        (" ; ", "No file is named"),
        ("a\0b", "cannot be read"),
    ],
)
def test_what_is_no_picture_is_refused(folder: Path, line: str, said: str) -> None:
    with pytest.raises(ReadingError, match=said):
        photo_files(line, folder)


def test_a_photo_that_is_too_large_is_refused(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photo_file, "MOST_BYTES", len(JPEG) - 1)
    with pytest.raises(ReadingError, match="Save it smaller"):
        photo_files("plate.jpg", folder)


def test_several_photos_have_one_caption_and_one_that_is_wrong_keeps_all_out(
    session: Session, folder: Path
) -> None:
    go_to(session, "hold-off")
    with pytest.raises(ReadingError):
        session.photo("plate.jpg; notes.jpg", "both", folder)
    assert session.picture.photos == ()
    assert session.photo("plate.jpg; frost on coil.dat", "nameplate, frost", folder) == 2
    assert [(each.step, each.text("caption")) for each in session.picture.photos] == [
        ("hold-off", "nameplate, frost")
    ] * 2
    assert session.current is not None and session.current.key == "hold-off"
