"""What other people entered at a job, in a line each."""

from __future__ import annotations

from expert.procedure.answered_twice import SECOND
from expert.terminal.others import entered_lines
from expert.web.live_jobs import AtWork
from expert.web.paragraphs import PAGE

MOST = 12  # lines; the list of steps has them all (own choice)


def said_by_others(work: AtWork, name: str, seen: int) -> list[str]:
    """'B. Sample: Head pressure: 215 psig', for each entry after so many that is not one's own."""
    entries = work.session.picture.entries[seen:]
    added = [each for each in entries if each.who != name or each.text(SECOND)]
    return entered_lines(work.session, added, PAGE)[-MOST:]
