"""What goes into an evaluation and what comes out of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import field
from datetime import datetime

from expert.knowledge.model import Cause, Limit, Quantity, Rule
from expert.made_when_used import dataclass
from expert.units.kinds import Kind
from expert.units.measure import Measure


@dataclass(frozen=True)
class Reading:
    """A quantity known at a time in a stage: a measure, or a choice phrase.

    `stage` is 'site', 'as found' or 'as left'; `round` counts adjustments (0 as found).
    `text` is what was typed; `seconds` the time on the clock of a series, where there is one;
    `subject` the circuit or compressor it was taken on, empty for the job's own subject; `way`
    how it was read, empty for the usual way.
    """

    quantity: str
    value: Measure | str
    text: str = ""
    stage: str = "as found"
    round: int = 0
    at: datetime | None = None
    step: str = ""
    seconds: float | None = None
    subject: str = ""
    way: str = ""


@dataclass(frozen=True)
class Taken:
    """What a derived value took of a quantity: its last reading, or one of a series."""

    quantity: Quantity
    take: str
    value: Measure

    @property
    def title(self) -> str:
        """'highest coil temperature' of a series, else the title alone."""
        return self.quantity.title if self.take == "last" else f"{self.take} {self.quantity.title}"


@dataclass(frozen=True)
class Known:
    """What is known of a quantity in an evaluation, with where it came from.

    `readings` are those it rests on (a series has several); `formula` is set where computed.
    """

    quantity: Quantity
    value: Measure | str
    readings: tuple[Reading, ...] = ()
    formula: str = ""
    inputs: tuple[Taken, ...] = ()
    warning: str = ""

    @property
    def measured(self) -> bool:
        """Whether any of it was read, and not only given by the site."""
        return any(reading.stage != "site" for reading in self.readings)

    @property
    def in_words(self) -> bool:
        """Whether it is a number of which only low, normal or high is known."""
        return isinstance(self.value, str) and self.quantity.kind not in (Kind.CHOICE, Kind.TEXT)

    @property
    def derived(self) -> bool:
        """Whether it was computed rather than read."""
        return bool(self.formula)


@dataclass(frozen=True)
class State:
    """A quantity against its limit. `word` is very low ... very high, too close to call,
    unknown, or cannot judge; `why` says what stood in the way."""

    quantity: str
    word: str
    limit: Limit | None = None
    why: str = ""


@dataclass(frozen=True)
class Missing:
    """What could not be judged or computed, and why."""

    what: str
    why: str
    quantity: str = ""


@dataclass(frozen=True)
class FiredRule:
    """One rule that fired: its weight after the certainty of what it rests on, and the facts.

    `says` are the sentences a person reads: each fact, then the rule's reason.
    `open` are exceptions of the rule that are not known.
    """

    rule: Rule
    weight: float
    says: tuple[str, ...]
    rests_on: tuple[FiredRule, ...] = ()
    open: tuple[str, ...] = ()


@dataclass(frozen=True)
class Fit:
    """How a cause fits the states of the plant, each in words: 'suction pressure low'."""

    explains: tuple[str, ...] = ()
    leaves: tuple[str, ...] = ()
    against: tuple[str, ...] = ()


IS_EFFECT = "this is an effect; what is behind it is not known yet"


@dataclass(frozen=True)
class Finding:
    """A cause with its combined certainty (0 to 1), the chain of reasons, what is still open.

    `do` is what may be advised now: an action whose gate is shut is replaced by what comes
    first; `held_back` names such actions. `cautions` are ids: of the cause, and of the plant it is
    on for the work on it.
    """

    cause: Cause
    certainty: float
    words: str
    evidence: tuple[FiredRule, ...]
    against: tuple[FiredRule, ...] = ()
    effects: tuple[Finding, ...] = ()
    open: tuple[str, ...] = ()
    do: tuple[str, ...] = ()
    held_back: tuple[str, ...] = ()
    fit: Fit = Fit()
    cautions: tuple[str, ...] = ()

    @property
    def fits(self) -> tuple[str, ...]:
        """How it fits what is odd about the plant, in words; that it is an effect, if it is one.

        What explains a single odd state and nothing else was told by the reasons already.
        """
        fit = self.fit
        says: list[str] = []
        if len(fit.explains) > 1 or fit.leaves or fit.against:
            named = (
                ("explains", fit.explains), ("leaves unexplained", fit.leaves),
                ("does not fit", fit.against),
            )  # fmt: skip
            says += [f"{word}: {', '.join(states)}" for word, states in named if states]
        return (*says, IS_EFFECT) if self.cause.symptom else tuple(says)

    @property
    def because(self) -> tuple[str, ...]:
        """The chain of reasons as sentences, strongest evidence first, nothing said twice."""
        said: dict[str, None] = {}
        for step in self.evidence:
            for line in _chain(step):
                said.setdefault(line)
        return tuple(said)


def _chain(step: FiredRule) -> tuple[str, ...]:
    below = tuple(line for lower in step.rests_on for line in _chain(lower))
    return below + step.says


@dataclass(frozen=True)
class NextReading:
    """A reading worth taking next, and what it would settle."""

    quantity: Quantity
    why: str
    worth: float


@dataclass(frozen=True)
class Suspect:
    """A cause that is still open, and how much of what is open it has (0 to 1).

    By rules and by how plants look that have it: it says where to look, and proves nothing.
    `looks` are the quantities that most make it likelier than others.
    """

    cause: Cause
    share: float
    looks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Doubt:
    """A reading to take again with a second instrument before acting, and why."""

    quantity: Quantity
    why: str


@dataclass(frozen=True)
class Hidden:
    """What the readings cannot tell ('whether ...'), why, and the readings that would.

    `looks` are what would where there is no such reading; `between` the causes that it is between.
    """

    what: str
    why: str
    read: tuple[Quantity, ...]
    looks: tuple[str, ...] = ()
    between: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """'Whether the rack is a little short. It would show in: receiver level. Why.'"""
        what = f"{self.what[:1].upper()}{self.what[1:]}."
        if not self.read:
            return f"{what} {self.why} What would: {' '.join(dict.fromkeys(self.looks))}"
        read = "; ".join(quantity.title for quantity in self.read)
        return f"{what} It would show in: {read}. {self.why}"


@dataclass(frozen=True)
class Evaluation:
    """Everything that follows from a set of readings, in a stable order.

    `rank` works out what to measure next, `doubt` which readings to take again, each when that is
    asked for.
    """

    known: Mapping[str, Known]
    states: Mapping[str, State]
    findings: tuple[Finding, ...]
    cannot_judge: tuple[Missing, ...]
    engine: str
    fired: tuple[str, ...] = field(default=())
    rank: Callable[[frozenset[str]], tuple[NextReading, ...]] = field(
        default=lambda _: (), compare=False, repr=False
    )

    suspect: Callable[[frozenset[str]], tuple[Suspect, ...]] = field(
        default=lambda _: (), compare=False, repr=False
    )
    hidden: tuple[Hidden, ...] = ()
    doubt: Callable[[], tuple[Doubt, ...]] = field(default=lambda: (), compare=False, repr=False)

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """The readings to take again before acting, the likeliest to be wrong first."""
        return self.doubt()

    @property
    def measure_next(self) -> tuple[NextReading, ...]:
        """The readings worth taking next, best first."""
        return self.rank(frozenset())

    def next_readings(self, skip: Iterable[str]) -> tuple[NextReading, ...]:
        """The same without those that cannot be had."""
        return self.rank(frozenset(skip))

    def suspects(self, skip: Iterable[str] = ()) -> tuple[Suspect, ...]:
        """The causes that are still open, the likeliest first, if so much cannot be had."""
        return self.suspect(frozenset(skip))

    def beyond(self, whole: Evaluation) -> tuple[Finding, ...]:
        """Findings here that are not already in the evaluation of what this belongs to."""
        there = {finding.cause.id for finding in each_finding(whole.findings)}
        return tuple(finding for finding in self.findings if finding.cause.id not in there)


def each_finding(findings: Iterable[Finding]) -> Iterator[Finding]:
    """Every finding, those that stand under another included."""
    for finding in findings:
        yield finding
        yield from each_finding(finding.effects)
