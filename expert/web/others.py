"""What other people entered at a job, in a line each."""

from __future__ import annotations

from expert.procedure.answered_twice import SECOND
from expert.procedure.corrections import answer_of
from expert.procedure.entries import PASSED, Entry
from expert.web.live_jobs import AtWork
from expert.web.step_page import row_title

MOST = 12  # lines; the list of steps has them all (own choice)
_SILENT = ("depth", "history", "left", "judged")


def said_by_others(work: AtWork, name: str, seen: int) -> list[str]:
    """'B. Sample: Head pressure: 215 psig', for each entry after so many that is not one's own."""
    added = [
        each
        for each in work.session.picture.entries[seen:]
        if (each.who != name or each.text(SECOND))
        and each.kind not in _SILENT and PASSED not in each.data
    ]  # fmt: skip
    titles = {
        each.key: row_title(work, each) for each in work.session.runner.plan(work.session.picture)
    }
    return [_line(each, titles) for each in added[-MOST:]]


def _line(entry: Entry, titles: dict[str, str]) -> str:
    who = entry.who or "Somebody"
    title = titles.get(entry.step, "")
    if entry.kind == "note":
        return f"{who} noted: {entry.text('text')}"
    if entry.kind == "photo":
        return f"{who} took a photo {entry.text('caption')}".rstrip()
    if entry.kind == "reopen":
        return f"{who} asks again: {title or entry.step}"
    if entry.kind in ("stop", "resume"):
        return f"{who} {'left the job' if entry.kind == 'stop' else 'came back'}"
    return f"{who}: {title or entry.step}: {answer_of(entry)}"
