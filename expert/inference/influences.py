"""What is odd about the plant, and what of it a cause would explain.

States of the plant are nodes, influences are arrows with a sense. A cause acts on a few nodes; what
must follow is found by following the arrows, so that its effects need not be listed by hand:

    condenser fan stands
        |  acts on
        v
    condenser air LOW --against--> head HIGH --with--> compression ratio HIGH
                                                          | with
                                                          v
                                                  discharge temperature HIGH

The idea is that of signed directed graphs (Iri, Aoki, O'Shima, Matsuyama 1979, An algorithm for
diagnosis of system failures in the chemical process, Computers and Chemical Engineering 3).
A nearer way wins over a longer one; where two ways of the same length disagree, nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property

from expert.inference.evaluation_model import Fit
from expert.inference.kleene import Truth, all_, at_least
from expert.inference.resemblance import Resemblance
from expert.inference.truth import TOO_CLOSE, Facts
from expert.knowledge.conditions import Condition
from expert.knowledge.influence_model import Influence, SeenIn
from expert.knowledge.model import Cause, Rulebase
from expert.made_when_used import dataclass

CONTRADICTED = 0.6  # what each state that is otherwise than it must be takes away (own choice)
DOUBTED = 0.3  # and each that is other than it may be (own choice)
FULL_COVER = 0.5  # what explaining all of several odd states adds (own choice)
FARTHER = 0.8  # so much less for each arrow after the first is an effect expected (own choice)


@dataclass(frozen=True)
class Follows:
    """What a cause does to a state: sense 1 or -1 (0: two ways disagree), and whether it shows.

    `far` counts the arrows to it.
    """

    sense: int
    surely: bool
    far: int = 0

    @property
    def nearness(self) -> float:
        """1 for what a cause acts on and what follows at once, less for what lies farther."""
        return FARTHER ** max(self.far - 1, 0)


@dataclass(frozen=True)
class Cover:
    """What of the known states a cause would explain; names of states."""

    explains: tuple[str, ...]
    leaves: tuple[str, ...]
    against: tuple[str, ...]
    doubtful: tuple[str, ...] = ()  # the other way round than it may be, though it need not show
    unseen: tuple[str, ...] = ()  # normal, though it may follow
    nearness: float = 0.0  # of all that it explains, together

    @property
    def whole(self) -> bool:
        """Whether it explains all that is odd, and nothing speaks against it."""
        return bool(self.explains) and not self.leaves and not self.against

    @property
    def factor(self) -> float:
        """What the fit adds to the certainty (-1 to 1), as one piece of evidence.

        One odd state is what the rules have counted already; each contradiction takes its share.
        """
        if self.against or self.doubtful:
            left = (1 - CONTRADICTED) ** len(self.against) * (1 - DOUBTED) ** len(self.doubtful)
            return left - 1
        if len(self.explains) < 2:
            return 0.0
        share = len(self.explains) / (len(self.explains) + len(self.leaves))
        return FULL_COVER * share**2


class Influences:
    """The influences of a rulebase over the facts of one evaluation."""

    def __init__(self, rulebase: Rulebase, facts: Facts, made: Reach | None = None) -> None:
        self.rulebase = rulebase
        self.facts = facts
        self.made = made if made is not None else Reach(rulebase)

    def over(self, facts: Facts) -> Influences:
        """The same over other facts in which no condition that it looks at comes out otherwise."""
        found = Influences(self.rulebase, facts, self.made)
        found.__dict__.update({**self.__dict__, "facts": facts})
        return found

    @property
    def resemblance(self) -> Resemblance:
        """How plants with each cause look."""
        return self.made.resemblance

    @cached_property
    def truths(self) -> tuple[Truth, ...]:
        """Whether each arrow acts."""
        holds = self.facts.holds
        return tuple(
            all_(map(holds, arrow.when)) if arrow.when else True for arrow in self.made.arrows
        )

    @cached_property
    def seen(self) -> Mapping[str, int]:
        """The states that are known: 1 high, 0 normal, -1 low."""
        return {
            name: sense
            for name, state in self.rulebase.plant_states.items()
            if (sense := observed(state.seen_in, self.facts)) is not None
        }

    @property
    def odd(self) -> tuple[str, ...]:
        """The states known not to be normal."""
        return tuple(name for name, sense in self.seen.items() if sense)

    def can_be(self, cause: Cause) -> bool:
        """Whether this plant is not known to be of a kind that cannot have a cause."""
        return all(self.facts.holds(each) is not False for each in cause.can_be_when)

    @cached_property
    def _reached(self) -> _WaysOn:
        return self.made.where(self.truths)

    @cached_property
    def _covers(self) -> dict[str, Cover]:
        return {}

    def ways(self, cause: Cause) -> tuple[Mapping[str, Follows], ...]:
        """What a cause does to every state it reaches; two where it may go either way."""
        return self._reached.ways(cause)

    def cover(self, cause: Cause) -> Cover | None:
        """How a cause fits the known states; None for one that acts on no state.

        Of a cause that may go either way that one counts against which less speaks, then that which
        explains more.
        """
        if not cause.acts_on:
            return None
        if cause.id not in self._covers:
            covers = [self._cover(made) for made in self.ways(cause)]
            self._covers[cause.id] = max(
                covers, key=lambda each: (-len(each.against), len(each.explains))
            )
        return self._covers[cause.id]

    def _cover(self, made: Mapping[str, Follows]) -> Cover:
        explains, leaves, against, doubtful, unseen = [], [], [], [], []
        for name, sense in self.seen.items():
            told = made.get(name)
            if told is None:
                if sense:
                    leaves.append(name)
            elif sense and sense == told.sense:
                explains.append(name)
            elif told.surely:
                against.append(name)
            elif sense and told.sense:
                doubtful.append(name)
            elif not sense and told.sense:
                unseen.append(name)
        near = sum(made[name].nearness for name in explains)
        return Cover(
            tuple(explains), tuple(leaves), tuple(against), tuple(doubtful), tuple(unseen), near
        )

    def fit(self, cover: Cover) -> Fit:
        """A cover in words."""

        def told(names: Iterable[str]) -> tuple[str, ...]:
            states = self.rulebase.plant_states
            return tuple(states[name].in_words(self.seen[name]) for name in names)

        against = told((*cover.against, *cover.doubtful))
        return Fit(told(cover.explains), told(cover.leaves), against)

    def brings(self, cause: Cause, effect: Cause) -> bool:
        """Whether everything an effect acts on follows from the cause, and not the other way."""
        return self._reached.brings(cause, effect)


class Reach:
    """What follows from each cause, worked out once for each truth of the arrows' conditions; and
    how plants look that have it."""

    def __init__(self, rulebase: Rulebase) -> None:
        self.resemblance = Resemblance(rulebase)
        self.arrows = tuple(rulebase.influences.values())
        self._made: dict[tuple[Truth, ...], _WaysOn] = {}

    def where(self, truths: tuple[Truth, ...]) -> _WaysOn:
        """What follows where the conditions of the arrows have these truths."""
        if truths not in self._made:
            self._made[truths] = _WaysOn(tuple(zip(self.arrows, truths, strict=True)))
        return self._made[truths]


class _WaysOn:
    """What follows from each cause by arrows whose conditions have certain truths."""

    def __init__(self, arrows: tuple[tuple[Influence, Truth], ...]) -> None:
        self._arrows = arrows
        self._ways: dict[str, tuple[Mapping[str, Follows], ...]] = {}
        self._brings: dict[tuple[str, str], bool] = {}

    def ways(self, cause: Cause) -> tuple[Mapping[str, Follows], ...]:
        """What a cause does to every state it reaches; two where it may go either way."""
        if cause.id not in self._ways:
            either = 0 in cause.acts_on.values()
            self._ways[cause.id] = tuple(
                spread(
                    {name: sense or other for name, sense in cause.acts_on.items()}, self._arrows
                )
                for other in ((1, -1) if either else (1,))
            )
        return self._ways[cause.id]

    def brings(self, cause: Cause, effect: Cause) -> bool:
        """Whether everything an effect acts on follows from the cause, and not the other way."""
        key = (cause.id, effect.id)
        if key not in self._brings:
            self._brings[key] = self._does_bring(cause, effect)
        return self._brings[key]

    def _does_bring(self, cause: Cause, effect: Cause) -> bool:
        if not cause.acts_on or not effect.acts_on or cause.id == effect.id:
            return False
        reached = any(
            all(
                name in made and made[name].sense == sense and name not in cause.acts_on
                for name, sense in effect.acts_on.items()
            )
            for made in self.ways(cause)
        )
        if not reached:
            return False
        return not any(all(name in back for name in cause.acts_on) for back in self.ways(effect))


def observed(ways: Iterable[SeenIn], facts: Facts) -> int | None:
    """1 high, 0 normal, -1 low by the first way that is known, else None.

    A number that is too close to call leaves the state open: a coarser way may not settle it.
    """
    for way in ways:
        for conditions, sense in ((way.high, 1), (way.low, -1), (way.normal, 0)):
            if _any(conditions, facts) is True:
                return sense
        if way.quantity and facts.state(way.quantity).word == TOO_CLOSE:
            return None
    return None


def _any(conditions: tuple[Condition, ...], facts: Facts) -> Truth:
    return at_least(1, tuple(map(facts.holds, conditions))) if conditions else False


def spread(
    acts_on: Mapping[str, int], arrows: Iterable[tuple[Influence, Truth]]
) -> dict[str, Follows]:
    """What follows from some states moved at once, by arrows whose conditions have these truths."""
    leaving: dict[str, list[tuple[Influence, bool]]] = {}
    for arrow, truth in arrows:
        if truth is not False:
            leaving.setdefault(arrow.source_state, []).append((arrow, truth is True))
    found = {name: Follows(sense, True) for name, sense in acts_on.items()}
    front = list(found)
    while front:
        reached: dict[str, list[Follows]] = {}
        for name in front:
            here = found[name]
            for arrow, live in leaving.get(name, ()):
                if arrow.only_when and arrow.only_when != here.sense:
                    continue
                surely = here.surely and arrow.always and live
                reached.setdefault(arrow.target, []).append(
                    Follows(here.sense * arrow.sense, surely, here.far + 1)
                )
        front = []
        for name, ways in reached.items():
            senses = {way.sense for way in ways}
            if name in acts_on:
                continue
            if name in found:
                if senses - {found[name].sense}:
                    found[name] = replace(found[name], surely=False)
            elif len(senses) > 1:
                found[name] = Follows(0, False, ways[0].far)
            else:
                found[name] = Follows(senses.pop(), any(way.surely for way in ways), ways[0].far)
                front.append(name)
    return found
