"""The frozen model of a checklist."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from functools import cached_property

from expert.errors import Place
from expert.knowledge.conditions import Condition
from expert.knowledge.entry_model import NOWHERE, Applies
from expert.knowledge.source import Source
from expert.made_when_used import dataclass

STEP_TYPES = (
    "caution", "instruct", "ask", "observe", "clock", "time", "watch", "show", "think", "adjust",
    "restore", "sign", "call", "stop", "search",
)  # fmt: skip
MEASURING = ("ask", "observe", "time", "watch")
ANY = "rack or circuit"  # the subject of a checklist that is for both
LEAVE_PHASE, LEAVE_CHECKLIST, GO_ON = "leave the phase", "leave the checklist", "go on"


@dataclass(frozen=True)
class Foreign:
    """Readings that a search leaves out where all of `when` holds, and the plant is known to be one
    that `applies` names and none that `not_for` names."""

    readings: tuple[str, ...]
    when: tuple[Condition, ...] = ()
    applies: Applies = field(default_factory=dict)
    not_for: Applies = field(default_factory=dict)


@dataclass(frozen=True)
class Step:
    """One step. `type` is one of STEP_TYPES; `subject` is what stands behind that key in YAML.

    `quantities`: of ask, observe, time (one), watch and show (several). `does` names work that can
    hurt. A step is left out on a plant that `applies` rules out or `not_for` names. `called` is
    the checklist that a call runs, the ids of its phases and steps with the id of the call and
    '/' before them. A stop is passed only when every condition of `passed` is known to be so; else
    the questions from the step `back_to` on are asked again, or what `otherwise` says is done.
    A search asks one reading after the other, as the findings so far want it; `hands_over` has the
    checklists, without their phases, that prove and repair a cause or the causes of a system;
    `short_names` are what the trade says for a quantity; `not_asked` are the readings that are
    foreign to a kind of plant.
    `protects`: the step is shown unless it is known not to be needed; `advises`: the author says
    that it does not, whatever its words. `usual` is what a look shows where all is well.
    `starts_with` is the step of the time that ends as this clock starts; `after` [s] must have
    passed on the clock, or since the step `since` was done. Once all of `short` are known to be so
    a watch asks only `short_asks` and `until` from its second sample on. `spot` is where one
    stands. `harmless` says why words that tell of a hazard do not. `sheet` is the quantity whose
    row of the site's sheet is written.
    """

    id: str
    type: str
    text: str
    quantities: tuple[str, ...] = ()
    say: str = ""
    why: str = ""
    how: str = ""
    clock: str = ""
    every: float = 0.0
    until: str = ""
    at_most: int = 1
    opens: str = ""
    does: tuple[str, ...] = ()
    when: tuple[Condition, ...] = ()
    unless: tuple[Condition, ...] = ()
    passed: tuple[Condition, ...] = ()
    back_to: str = ""
    otherwise: str = ""
    protects: bool = False
    advises: bool = False
    usual: str = ""
    starts_with: str = ""
    since: str = ""
    after: float = 0.0
    short: tuple[Condition, ...] = ()
    short_asks: tuple[str, ...] = ()
    spot: str = ""
    harmless: str = ""
    sheet: str = ""
    applies: Applies = field(default_factory=dict)
    not_for: Applies = field(default_factory=dict)
    called: Checklist | None = None
    hands_over: Mapping[str, tuple[Checklist, ...]] = field(default_factory=dict)
    short_names: Mapping[str, str] = field(default_factory=dict)
    not_asked: tuple[Foreign, ...] = ()
    place: Place = NOWHERE


@dataclass(frozen=True)
class Repeat:
    """A phase that is run again while a choice is answered with `answer`, at most so often."""

    ask: str
    answer: str
    at_most: int


@dataclass(frozen=True)
class Phase:
    """Steps that belong together, in one stage ('as found' or 'as left').

    With `for_each` (circuit, compressor or case) they are run once for each one that is chosen.
    `unless` stands in each step already, but for what is put back.
    """

    id: str
    title: str
    stage: str
    steps: tuple[Step, ...]
    unless: tuple[Condition, ...] = ()
    repeat: Repeat | None = None
    for_each: str = ""
    spot: str = ""
    place: Place = NOWHERE

    @cached_property
    def signs(self) -> bool:
        """Whether it is signed in: its paper work is done however the job ends."""
        return any(step.type == "sign" for step in self.steps)

    @property
    def once(self) -> bool:
        """Whether its steps are run just once, whatever is answered."""
        return self.repeat is None and not self.for_each


@dataclass(frozen=True)
class Needs:
    """What must be at hand before the checklist starts."""

    tools: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    permission: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    time: str = ""


@dataclass(frozen=True)
class Checklist:
    """A procedure: phases of steps for one kind of subject.

    `made_for` says in words for which refrigerants and kinds of plant it is; `applies` and
    `not_for` hold it to that.
    """

    id: str
    title: str
    revision: str
    purpose: str
    subject: str
    source: Source
    phases: tuple[Phase, ...]
    needs: Needs = field(default_factory=Needs)
    applies: Applies = field(default_factory=dict)
    not_for: Applies = field(default_factory=dict)
    made_for: str = ""
    hash: str = ""
    place: Place = NOWHERE

    @property
    def all_phases(self) -> Iterator[Phase]:
        """Its phases, and behind each one those of the checklists that it calls."""
        for phase in self.phases:
            yield phase
            for step in phase.steps:
                if step.called is not None:
                    yield from step.called.all_phases

    @property
    def conditions(self) -> Iterator[Condition]:
        """Every condition of its steps, those of called checklists too."""
        for phase in self.all_phases:
            for step in phase.steps:
                yield from (*step.when, *step.unless, *step.passed, *step.short)

    @property
    def searches(self) -> bool:
        """Whether one of its own steps is a search."""
        return any(step.type == "search" for phase in self.phases for step in phase.steps)

    def step(self, step_id: str) -> Step | None:
        """The step of an id, also in a called checklist, if there is one."""
        steps = (step for phase in self.all_phases for step in phase.steps)
        return next((step for step in steps if step.id == step_id), None)
