"""A step that two people answered, each without knowing of the other.

The first answer stands and the second is kept beside it as a note, so nothing is overwritten.
Somebody says which holds: the first, which is noted, or the second, which is then a correction
like any other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from expert.procedure.corrections import answer_of
from expert.procedure.entries import Draft, Entry
from expert.procedure.picture import Picture

SECOND, SETTLES = "second", "settles"  # keys of the data of such notes


@dataclass(frozen=True)
class Twice:
    """Two answers at one step: the one that stands, the note that holds the other."""

    key: str
    stands: Entry
    note: Entry

    @property
    def first(self) -> str:
        """The answer that stands."""
        return answer_of(self.stands)

    @property
    def second(self) -> str:
        """The other one."""
        return self.note.text(SECOND)


def second_answer(key: str, title: str, stands: Entry, text: str) -> Draft:
    """The note of an answer at a step that somebody else has closed meanwhile."""
    who = f" by {stands.who}" if stands.who else ""
    said = f"{title} was answered twice: {answer_of(stands)}{who}, and {text} here."
    return Draft("note", key, {"text": said, SECOND: text})


def holds(twice: Twice) -> Draft:
    """The note that the answer that stands is the right one."""
    said = f"Settled: {twice.first} holds, not {twice.second}."
    return Draft("note", twice.key, {"text": said, SETTLES: twice.note.seq})


def unsettled(picture: Picture) -> Iterator[Twice]:
    """Steps with two answers of which nobody has said yet which holds, in their order."""
    settled = {each.data.get(SETTLES) for each in picture.notes}
    for note in picture.notes:
        stands = picture.closed.get(note.step)
        if not note.text(SECOND) or stands is None or note.seq in settled:
            continue
        if stands.seq < note.seq:
            yield Twice(note.step, stands, note)
