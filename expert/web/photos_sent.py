"""Photos from a phone's camera: looked at before they are kept, and shown only as what they are."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from starlette.responses import Response

from expert.errors import ReadingError
from expert.procedure.photo_file import MOST_BYTES, media_type
from expert.store.store_errors import StoreError
from expert.web.marks import mark_of
from expert.web.page_request import PageRequest, Upload
from expert.web.pages import go_to, page
from expert.web.service import Service

FOLDER = "photos"
MOST_AT_ONCE, MOST_OF_A_JOB = 4, 60  # own choice
_ENDINGS = {"image/jpeg": ".jpg", "image/png": ".png", "image/gif": ".gif", "image/webp": ".webp"}


def photo(service: Service, ask: PageRequest) -> Response:
    """Keep photos at the step that is asked."""
    jobs = service.jobs(ask)
    with jobs.at(ask.job, ask.person) as work:
        if not work.session.mark(mark_of(ask.text("once"))):
            return go_to(f"/jobs/{ask.job}")
        try:
            files = [each for each in ask.files if each.content]
            if not files:
                raise ReadingError("No photo was chosen.")
            if len(work.session.picture.photos) + len(files) > MOST_OF_A_JOB:
                raise ReadingError(f"A job keeps {MOST_OF_A_JOB} photos.")
            folder = jobs.stores.here.folder / FOLDER / work.job.uid
            paths = [_kept(folder, each) for each in files[:MOST_AT_ONCE]]
            count = work.session.photo(";".join(map(str, paths)), ask.text("caption"))
        except ReadingError as error:
            service.say(ask, str(error))
            return go_to(f"/jobs/{ask.job}")
    service.say(ask, "The photo is kept." if count == 1 else f"{count} photos are kept.")
    return go_to(f"/jobs/{ask.job}")


def _kept(folder: Path, sent: Upload) -> Path:
    """The file of a photo, named by its content: nothing of the name that was sent is used.

    Raises ReadingError for what is too large or no picture, StoreError where it cannot be kept.
    """
    if len(sent.content) > MOST_BYTES:
        raise ReadingError(f"A photo may have {MOST_BYTES / 1e6:.0f} MB; this one has more.")
    if not (media := media_type(sent.content)):
        raise ReadingError("This is no picture that a report can show: JPEG, PNG, GIF or WebP.")
    path = folder / f"{hashlib.sha256(sent.content).hexdigest()}{_ENDINGS[media]}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        draft = path.with_suffix(f".{os.getpid()}.part")
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
            file.write(sent.content)
        draft.replace(path)
    except OSError as error:
        raise StoreError(f"The photo cannot be kept: {error.strerror}.") from None
    return path


def show_photo(service: Service, ask: PageRequest) -> Response:
    """A photo of a job, where the file is still the one that was entered."""
    jobs = service.jobs(ask)
    jobs.job(ask.job)
    number = ask.path["number"]
    with jobs.at(ask.job, ask.person) as work:
        found = [each for each in work.session.picture.photos if str(each.seq) == number]
    content = _content(Path(found[0].text("path"))) if found else b""
    media = media_type(content)
    if not media or hashlib.sha256(content).hexdigest() != found[0].text("hash"):
        return page("message", ask, 404, title="Not here", says="This photo is not here now.")
    return Response(content, media_type=media)


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes() if path.stat().st_size <= MOST_BYTES else b""
    except (OSError, ValueError):
        return b""
