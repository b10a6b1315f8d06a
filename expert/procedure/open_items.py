"""Open items of the site as the first steps of a job, each of which must be answered."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import quote

from expert.errors import ReadingError, nearest
from expert.knowledge import judge
from expert.procedure.active import Active
from expert.procedure.checklist import Phase, Step
from expert.procedure.entries import Draft
from expert.procedure.history import DONE, NOT_LOOKED_AT, STILL_OPEN, OpenItem

TYPE = "open"
_ANSWERS = (DONE, STILL_OPEN, NOT_LOOKED_AT)
_PHASE = Phase("open-items", "Left open by earlier jobs", "as found", ())
EXPECTED = f"Type 1 or {DONE}, 2 or {STILL_OPEN}, or 3 and why, like '{NOT_LOOKED_AT}: the reason'."


def open_steps(items: tuple[OpenItem, ...]) -> Iterator[tuple[str, Step, Phase, OpenItem]]:
    """Key, step, phase and item of each."""
    for item in items:
        key = f"open-item:{quote(item.key, safe='')}"
        yield key, Step(key, TYPE, item.text), _PHASE, item


def answered(active: Active, item: OpenItem, text: str) -> Draft:
    """The entry of an answer. Raises ReadingError."""
    typed = " ".join(text.split())
    word, _, reason = typed.partition(":")
    if typed[:1] == "3" and not reason:
        word, reason = "3", typed[1:]
    word = {str(n): each for n, each in enumerate(_ANSWERS, 1)}.get(word, word.lower().strip())
    if word not in _ANSWERS:
        raise ReadingError(f"{nearest(word, _ANSWERS)} {EXPECTED}".strip())
    data: dict[str, object] = {"item": item.key, "answer": word, "subject": item.subject}
    if word == NOT_LOOKED_AT:
        if not reason.strip():
            raise ReadingError(f"Say why it was not looked at. {EXPECTED}")
        data["reason"] = judge.reason(reason)
    return Draft("open", active.key, data)
