"""One thing that a checklist asks for now, and the key by which entries name it."""

from __future__ import annotations

import re
from urllib.parse import quote

from expert.inference.evaluation_model import Reading
from expert.made_when_used import dataclass
from expert.procedure.checklist import Phase, Step
from expert.procedure.entries import Entry, thing
from expert.procedure.picture import reading_of

_TURN = re.compile(r"[@?](\d+)")
_BEHIND_THE_ID = re.compile(r"[@?~#!+].*", re.DOTALL)


def id_of(key: str) -> str:
    """The id of the step or phase that a key belongs to."""
    return _BEHIND_THE_ID.sub("", key)


def call_of(step_id: str) -> str:
    """The id of the call inside which a step stands, empty outside of one."""
    return step_id.rpartition("/")[0]


def inside(call: str, other: str) -> bool:
    """Whether a call is another one or was made inside it; '' is outside of all calls."""
    return not other or f"{call}/".startswith(f"{other}/")


def member_suffix(member: str) -> str:
    """What a key carries for a member: '~A1'. Signs that keys use themselves are escaped."""
    return f"~{quote(member, safe='')}" if member else ""


@dataclass(frozen=True)
class Active:
    """One thing that the checklist asks for now: a step, or one question of a watch or a phase.

    `key` is the step's id, with '@round' in a repeated phase, '~member' in one that is run for
    each, '#sample.quantity' in a watch, '!quantity' in a search, '+quantity' of a reading that was
    named at a step that asks for something else; 'phase?round' is the question of a loop and
    'phase~' the one which members, out of `offers`. `subject` is the member, empty for the job's
    own subject.
    `not_for` says why a called checklist is passed over, empty where it is run. `entry` is what
    closes it, None while it is open. `number` of `total` counts steps, a whole watch as one.
    `left` is the no because of which it is left out, None where it is asked. `refused` is the no at
    a caution of its own work, where it is shown all the same because it protects. `again` says of
    a stop whether something above it can be asked again. `judged` is false where
    a signed answer holds no value of what is asked.
    """

    key: str
    step: Step
    phase: Phase
    stage: str
    round: int = 0
    sample: int = 0
    quantity: str = ""
    entry: Entry | None = None
    subject: str = ""
    offers: tuple[str, ...] = ()
    not_for: str = ""
    number: int = 0
    total: int = 0
    left: Entry | None = None
    refused: Entry | None = None
    again: bool = True
    judged: bool = True

    @property
    def closed(self) -> bool:
        """Whether it needs nothing more."""
        return self.entry is not None

    @property
    def searched(self) -> bool:
        """Whether it is a reading of a search."""
        return "!" in self.key

    @property
    def step_key(self) -> str:
        """The key of the whole step, without the sample of a watch or a reading beside it."""
        return self.key.partition("#")[0].partition("!")[0].partition("+")[0]

    @property
    def member_key(self) -> str:
        """The key under which its member is left out from here on."""
        turn = f"@{self.turn}" if self.turn else ""
        return f"{self.phase.id}{turn}{member_suffix(self.subject)}"

    @property
    def call(self) -> str:
        """The id of the call inside which it stands, empty outside of one."""
        return call_of(self.step.id)

    @property
    def turn(self) -> int:
        """Which run of a repeated phase it belongs to, 0 outside of one."""
        match = _TURN.search(self.step_key)
        return int(match[1]) if match else 0

    @property
    def loop(self) -> bool:
        """Whether it asks for another round of its phase."""
        return "?" in self.key

    @property
    def restores(self) -> str:
        """What a restore step puts back, with the member on which it was opened."""
        return thing(self.step.text, self.subject) if self.step.type == "restore" else ""

    @property
    def reading(self) -> Reading | None:
        """What was answered, in the stage and round in which it now stands."""
        if self.entry is None or self.entry.kind != "answer" or not self.judged:
            return None
        return reading_of(self.entry, self.stage, self.round)

    def numbered(self, number: int, total: int) -> Active:
        """The same with its place in the plan."""
        # made for every step at every answer: 'replace' would take a tenth of the plan's time
        same = object.__new__(Active)
        same.__dict__.update(self.__dict__, number=number, total=total)
        return same
