"""Photos from a camera: only pictures, never a name or a path of the sender, shown as they are."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path

import pytest
from small_server import Running, Visitor, begun, served

from expert.procedure.photo_file import MOST_BYTES
from expert.web.limits import RateLimit

PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
EVIL = "../../../../tmp/x.html"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    with served(tmp_path) as one:
        one.service.known = RateLimit(1e9, 1e9)
        yield one


def send(visitor: Visitor, job: str, *files: tuple[str, bytes, str], caption: str = "") -> str:
    """A form with photos, as a browser sends it."""
    visitor.go(f"/jobs/{job}")
    form = visitor.form("/photo")
    edge = "edge-of-a-part"
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode()
        for name, value in [*form.fields, ("caption", caption)]
    ]
    for name, content, kind in files:
        head = f'--{edge}\r\nContent-Disposition: form-data; name="photo"; filename="{name}"\r\n'
        parts.append(f"{head}Content-Type: {kind}\r\n\r\n".encode() + content + b"\r\n")
    body = b"".join(parts) + f"--{edge}--\r\n".encode()
    visitor.ask("POST", form.action, body, Content_Type=f"multipart/form-data; boundary={edge}")
    if visitor.status == 303:
        visitor.go(visitor.told["location"])
    return visitor.page


def test_a_photo_is_kept_by_its_content_and_stands_in_the_report(
    server: Running, tmp_path: Path
) -> None:
    visitor = server.visitor()
    job = begun(visitor)
    send(visitor, job, (EVIL, PIXEL, "text/html"), caption="<b>plate</b>")
    assert "The photo is kept." in visitor.text()
    kept = [path for path in (tmp_path / "photos").rglob("*") if path.is_file()]
    assert [path.suffix for path in kept] == [".png"]
    assert kept[0].read_bytes() == PIXEL and kept[0].stat().st_mode & 0o077 == 0
    with server.service.companies[""].desk.store() as store:
        photo = next(each for each in store.entries(job) if each.kind == "photo")
    visitor.ask("GET", f"/jobs/{job}/photos/{photo.seq}")
    assert (visitor.status, visitor.told["content-type"]) == (200, "image/png")
    visitor.go(f"/jobs/{job}/report/technical")
    assert "data:image/png;base64," in visitor.page and "<b>plate</b>" not in visitor.page


@pytest.mark.parametrize(
    "content",
    [b"<script>alert(1)</script>", b"", b"%PDF-1.7", b"<svg onload=alert(1)>", b"\x00" * 64],
)
def test_what_is_no_picture_is_not_kept(server: Running, tmp_path: Path, content: bytes) -> None:
    visitor = server.visitor()
    job = begun(visitor)
    send(visitor, job, ("photo.png", content, "image/png"))
    assert "The photo is kept" not in visitor.text()
    assert not [path for path in (tmp_path / "photos").rglob("*") if path.is_file()]


def test_too_large_a_photo_and_too_many_at_once_are_refused(server: Running) -> None:
    visitor = server.visitor()
    job = begun(visitor)
    send(visitor, job, ("a.png", PIXEL + b"\x00" * MOST_BYTES, "image/png"))
    assert "this one has more" in visitor.text()
    send(visitor, job, *[(f"{n}.png", PIXEL, "image/png") for n in range(6)])
    assert visitor.status == 400


def test_a_photo_that_was_changed_or_names_another_file_is_not_shown(
    server: Running, tmp_path: Path
) -> None:
    visitor = server.visitor()
    job = begun(visitor)
    send(visitor, job, ("a.png", PIXEL, "image/png"))
    with server.service.companies[""].desk.store() as store:
        photo = next(each for each in store.entries(job) if each.kind == "photo")
    path = Path(photo.text("path"))
    path.write_bytes(PIXEL + b"x")
    assert visitor.ask("GET", f"/jobs/{job}/photos/{photo.seq}") == 404
    path.write_text("<script>alert(1)</script>", "utf-8")
    assert visitor.ask("GET", f"/jobs/{job}/photos/{photo.seq}") == 404
    for other in ("1", "0", "999", "x"):
        assert visitor.ask("GET", f"/jobs/{job}/photos/{other}") == 404
