"""A job that is closed without being done says how it ends: on every view, and in the list."""

from __future__ import annotations

from expert.errors import ReadingError, nearest
from expert.knowledge import judge
from expert.procedure.checklist import Phase, Step
from expert.procedure.entries import Draft, Entry

KEY = TYPE = "close"
# What each state asks for behind it.
STATES = {
    "not recovering": "what is still wrong",
    "waiting for a part": "which part",
    "handed over": "to whom",
    "stopped early": "why",
}
STEP = Step(KEY, TYPE, "How does this job end?")
PHASE = Phase(KEY, "How this job ends", "as left", ())
EXPECTED = "Type {}; each with ':' and {}.".format(
    ", ".join(f"{n} or {state}" for n, state in enumerate(STATES, 1)),
    ", ".join(STATES.values()),
)
EXAMPLE = "For example '3: the night crew'."


def closed(text: str) -> Draft:
    """The entry of an answer like '2: power element of the valve'. Raises ReadingError."""
    typed = " ".join(text.split())
    word, _, detail = typed.partition(":")
    if typed[:1].isdigit() and not detail:
        word, detail = typed[:1], typed[1:]
    numbered = {str(n): state for n, state in enumerate(STATES, 1)}
    state = numbered.get(word.strip(), word.lower().strip())
    if state not in STATES:
        raise ReadingError(f"{nearest(state, STATES)} {EXPECTED} {EXAMPLE}".strip())
    if not detail.strip():
        raise ReadingError(f"Say {STATES[state]}: '{state}: ...'.")
    told = judge.words(detail, STATES[state])
    return Draft(TYPE, KEY, {"state": state, "detail": told})


def in_words(entry: Entry | None) -> str:
    """'waiting for a part: power element'; empty for a job that was done."""
    return "" if entry is None else f"{entry.text('state')}: {entry.text('detail')}"
