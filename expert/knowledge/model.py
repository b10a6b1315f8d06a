"""The frozen models of what the YAML says. Numbers are SI; every model keeps its place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING

from expert.errors import Place
from expert.knowledge.certainty_scale import Certainty
from expert.knowledge.conditions import Condition, HasSign, parts, quantities_anywhere
from expert.knowledge.derivation_model import Derivation
from expert.knowledge.entry_model import NOWHERE, Applies, Places
from expert.knowledge.hazard_model import Caution, Telltale
from expert.knowledge.how_read import HowTaken, Spread, WayOfReading
from expert.knowledge.influence_model import Complaint, Influence, PlantState
from expert.knowledge.likeness_model import Likeness, UsualWords
from expert.knowledge.pack_model import Explained, PackInfo, StepChange
from expert.knowledge.read_later import ReadLater
from expert.knowledge.source import Source
from expert.made_when_used import dataclass
from expert.units.kinds import Kind

if TYPE_CHECKING:  # what few rulebases have, and tests, which are for authors
    from expert.knowledge.rule_test_model import RuleTest
    from expert.knowledge.sheet_model import StoreSheet
    from expert.physics.fluids.own_refrigerant import OwnRefrigerant


def place_of(item: Quantity | Limit | Cause | Rule, *path: str) -> Place:
    """Where a key of an entry stands, or a word under it ('cautions', 'hot-surfaces')."""
    return item.places.get(".".join(path), item.place)


def place_under(item: Quantity | Limit | Cause | Rule, path: str) -> Callable[[str], Place]:
    """Where a word under a key of an entry stands, by the word."""
    return lambda name: place_of(item, path, name)


@dataclass(frozen=True)
class Range:
    """What is refused and what is asked again on some plants only. Edges in SI, or None."""

    applies: Applies
    source: Source
    refuse: tuple[float | None, float | None] = (None, None)
    unusual: tuple[float | None, float | None] = (None, None)


@dataclass(frozen=True)
class Quantity:
    """Something that can be known. Bands and accuracy in SI; None where there is no such edge."""

    id: str
    title: str
    subject: str
    kind: Kind
    source: Source
    where: str = ""
    instrument: str = ""
    accuracy: float | None = None
    accuracy_by: Mapping[str, Spread] = field(default_factory=dict)
    usual_way: WayOfReading | None = None
    ways: tuple[HowTaken, ...] = ()
    refuse_below: float | None = None
    refuse_above: float | None = None
    unusual_below: float | None = None
    unusual_above: float | None = None
    ranges: tuple[Range, ...] = ()
    choices: Mapping[str, str] = field(default_factory=dict)
    fitted: Mapping[str, str] = field(default_factory=dict)  # for a choice the device that says it
    given: str = ""
    carried_over: bool = False
    stays: bool = False
    during: str = ""
    applies: Applies = field(default_factory=dict)
    not_for: Applies = field(default_factory=dict)
    asked_when: tuple[Condition, ...] = ()
    effort: int = 1
    cautions: tuple[str, ...] = ()
    derivation: Derivation | None = None
    sheet: StoreSheet | None = None
    unit: str = ""
    also: tuple[str, ...] = ()
    spot: str = ""
    place: Place = NOWHERE
    places: Places = field(default_factory=dict, compare=False, repr=False)

    @property
    def is_choice(self) -> bool:
        """Whether it is answered with one of a few phrases and not with a number."""
        return self.kind is Kind.CHOICE


@dataclass(frozen=True)
class Limit:
    """The bands of a quantity for an application. Edges in SI; None where there is no edge."""

    id: str
    quantity: str
    source: Source
    low: float | None = None
    high: float | None = None
    very_low: float | None = None
    very_high: float | None = None
    applies: Applies = field(default_factory=dict)
    cannot_judge_when: tuple[Condition, ...] = ()
    note: str = ""
    place: Place = NOWHERE
    places: Places = field(default_factory=dict, compare=False, repr=False)


@dataclass(frozen=True)
class Sign:
    """A chained conclusion: something rules conclude and other rules use."""

    id: str
    says: str
    place: Place = NOWHERE


@dataclass(frozen=True)
class Remedy:
    """One thing to do. `action` names what a gate may hold back until it is safe to advise."""

    text: str
    action: str = ""


@dataclass(frozen=True)
class Gate:
    """An action that is advised only when all conditions are known to hold.

    `never` refuses it whatever is known. `first` is said in its place.
    """

    id: str
    action: str
    needs: tuple[Condition, ...]
    first: str
    source: Source
    never: bool = False
    place: Place = NOWHERE


@dataclass(frozen=True)
class Cause:
    """Something wrong that can be put right."""

    id: str
    title: str
    system: str
    subject: str
    text: str
    confirm: tuple[str, ...]
    remedy: tuple[Remedy, ...]
    urgency: str
    source: Source
    cautions: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    leads_to: tuple[str, ...] = ()
    applies: Applies = field(default_factory=dict)
    can_be_when: tuple[Condition, ...] = ()
    met: str = "sometimes"
    acts_on: Mapping[str, int] = field(default_factory=dict)
    symptom: bool = False
    not_when: str = ""
    also: tuple[str, ...] = ()
    place: Place = NOWHERE
    places: Places = field(default_factory=dict, compare=False, repr=False)


@dataclass(frozen=True)
class CannotTell:
    """What stays hidden behind some readings, as 'whether ...', and the readings that show it."""

    what: str
    read: tuple[str, ...]


@dataclass(frozen=True)
class Rule:
    """States that together are evidence for or against causes, or conclude signs.

    `doubts` are readings that cannot all be right where it fires; `seen` says that the part itself
    was seen to be so, which leads what was reasoned.
    """

    id: str
    when: tuple[Condition, ...]
    because: str
    source: Source
    unless: tuple[Condition, ...] = ()
    evidence_for: Mapping[str, str] = field(default_factory=dict)
    evidence_against: Mapping[str, str] = field(default_factory=dict)
    concludes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    seen: bool = False
    cannot_tell: CannotTell | None = None
    applies: Applies = field(default_factory=dict)
    tests: tuple[RuleTest, ...] = ()
    place: Place = NOWHERE
    places: Places = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def looks_at(self) -> tuple[str, ...]:
        """Ids of the quantities it looks at, on any subject and in any stage."""
        conditions = (*self.when, *self.unless)
        return tuple(dict.fromkeys(name for c in conditions for name in quantities_anywhere(c)))

    @cached_property
    def needed_signs(self) -> Mapping[str, bool]:
        """Signs it waits for; True where their absence matters (negated, or an exception)."""
        needed: dict[str, bool] = {}
        for condition in self.when:
            for part in parts(condition):
                if isinstance(part, HasSign):
                    needed[part.sign] = needed.get(part.sign, False) or part.negated
        for condition in self.unless:
            for part in parts(condition):
                if isinstance(part, HasSign):
                    needed[part.sign] = True
        return needed


@dataclass(frozen=True)
class PlausibleError:
    """By how much [SI] a reading of a kind may well be wrong, beyond its instrument's accuracy."""

    id: str
    kind: Kind
    error: float
    source: Source
    place: Place = NOWHERE


@dataclass(frozen=True)
class Override:
    """A limit of the pack below that is judged by other numbers, and who decided it."""

    before: Limit
    after: Limit
    reason: str
    author: str
    date: str
    place: Place = NOWHERE


@dataclass(frozen=True)
class SwitchOff:
    """A rule of the pack below that does not hold here, and who decided it."""

    rule: Rule
    reason: str
    author: str
    date: str
    place: Place = NOWHERE


@dataclass(frozen=True)
class Rulebase(ReadLater):
    """Everything a pack says, checked. Mappings are in order of their ids."""

    # no first question of a checklist needs these
    LATER = ("limits", "causes", "rules", "likenesses", "usual_words")

    info: PackInfo
    quantities: Mapping[str, Quantity]
    limits: tuple[Limit, ...]
    signs: Mapping[str, Sign]
    causes: Mapping[str, Cause]
    rules: Mapping[str, Rule]
    cautions: Mapping[str, Caution]
    certainty: Certainty
    likenesses: Mapping[str, Likeness]
    usual_words: Mapping[str, UsualWords]
    gates: Mapping[str, Gate] = field(default_factory=dict)
    overrides: tuple[Override, ...] = ()
    switched_off: tuple[SwitchOff, ...] = ()
    explained: tuple[Explained, ...] = ()
    plausible_errors: Mapping[str, PlausibleError] = field(default_factory=dict)
    ways: Mapping[str, WayOfReading] = field(default_factory=dict)
    refrigerants: tuple[OwnRefrigerant, ...] = ()
    plant_states: Mapping[str, PlantState] = field(default_factory=dict)
    influences: Mapping[str, Influence] = field(default_factory=dict)
    complaints: Mapping[str, Complaint] = field(default_factory=dict)
    telltales: Mapping[str, Telltale] = field(default_factory=dict)
    step_changes: tuple[StepChange, ...] = ()

    @property
    def lowest(self) -> PackInfo:
        """The pack at the bottom."""
        info = self.info
        while info.over is not None:
            info = info.over
        return info

    @property
    def works(self) -> tuple[str, ...]:
        """Every kind of work that a caution belongs to."""
        return tuple(dict.fromkeys(name for each in self.cautions.values() for name in each.work))

    def cautions_for(self, work: str) -> tuple[str, ...]:
        """The ids of the cautions without which a kind of work is never done."""
        return tuple(each.id for each in self.cautions.values() if work in each.work)
