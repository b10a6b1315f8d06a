"""Hazards: what is said before work, and the words that give a hazard away."""

from __future__ import annotations

from dataclasses import field

from expert.errors import Place
from expert.knowledge.entry_model import NOWHERE, Applies
from expert.knowledge.source import Source
from expert.made_when_used import dataclass

LEAVES_OUT, LEAVES_ALL, ENDS_THE_JOB = IF_NO = (
    "leave out what it guards", "leave out everything", "say how the job ends",
)  # fmt: skip


@dataclass(frozen=True)
class Caution:
    """A hazard: what is said, and the question that needs a positive answer.

    `work` names what is never done before it: what steps say they do, and actions of remedies.
    `access` says that a reading with it takes 'gauges', or 'opening' the system.
    On plants that `on` names the work of `before` needs it too, whoever wrote the checklist.
    `if_no` says what a no leads to, one of IF_NO.
    """

    id: str
    title: str
    say: tuple[str, ...]
    ask: str
    source: Source
    work: tuple[str, ...] = ()
    access: str = ""
    if_no: str = LEAVES_OUT
    on: Applies = field(default_factory=dict)
    before: tuple[str, ...] = ()
    place: Place = NOWHERE


STOPS, PROTECTS, NEVER = MEANINGS = ("a stop", "a step that protects", "never done")


@dataclass(frozen=True)
class Telltale:
    """Words (regular expressions) that give away a hazard's caution, or one of MEANINGS.

    They do not count in a part of a sentence that has one of `unless`. `say` is what to do
    instead of what is never done. A `hard` stop lets nobody go on.
    """

    id: str
    words: tuple[str, ...]
    source: Source
    caution: str = ""
    means: str = ""
    unless: tuple[str, ...] = ()
    say: str = ""
    hard: bool = False
    place: Place = NOWHERE
