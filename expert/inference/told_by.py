"""What a reading is expected to tell of the open causes: by rules, states, looks and kinds.

All in bits, or in what counts as so many. `causes` are shares of one throughout.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cache, lru_cache
from math import log2

from expert.inference.influences import Follows, Influences
from expert.inference.waiting import Waiting
from expert.knowledge.influence_model import COMPLAINT, PlantState
from expert.knowledge.model import Quantity, Rule, Rulebase

Outcomes = tuple[float, float, float]  # how likely a state is low, normal, high
# What any reading costs beside its own minutes: the walk, writing it down, and that a call is
# counted in readings, so that one which tells more may take longer (own choice).
_EACH_COSTS = 40  # min; a weight, no time that anybody took
_HAZARD_MINUTES = 2  # each hazard of a reading counts like so many minutes (own choice)
_PAPER_MINUTES = 4  # to find a setting or a paper that the site file lacks (own choice)
# How firmly a cause predicts a state (own choices): where it must show, may, at least, else.
_SURE, _MAYBE, _LEAST, ELSE = 0.9, 0.65, 0.2, 0.05
_EXPECTED = (ELSE, 1 - 2 * ELSE, ELSE)  # of a state that a cause does not reach
_FIRES, _BY_CHANCE = 0.8, 0.03  # a rule fires where its cause is so, and else (own choice)
_TO_LEAD = 3.0  # a sure step to the lead is worth so many bits (own choice)


def by_rules(
    rules: Iterable[Rule],
    asks: Mapping[str, tuple[str, ...]],
    causes: Mapping[str, float],
    rulebase: Rulebase,
) -> tuple[dict[str, float], dict[str, dict[str, float]]]:
    """What each reading is expected to tell by the rules that wait for it, and of which causes.

    A cause of which several rules speak counts once for each reading.
    """
    strengths = rulebase.certainty.strengths
    waits: dict[str, list[tuple[float, float, float, dict[str, float]]]] = {}
    for rule in rules:
        unknown = asks[rule.id]
        if not unknown:
            continue
        for evidence, fires, else_fires in (
            (rule.evidence_for, _FIRES, _BY_CHANCE),
            (rule.evidence_against, ELSE, 0.5),
        ):
            if not evidence:
                continue
            strong = {name: strengths[s] for name, s in evidence.items() if name in causes}
            if strong:
                weight = min(max(strong.values()) / 0.75, 1.2)
                for name, share in _parts_of(unknown, rulebase).items():
                    waits.setdefault(name, []).append((weight * share, fires, else_fires, strong))
    tells: dict[str, float] = {}
    about: dict[str, dict[str, float]] = {}
    for name, group in waits.items():
        counted: set[tuple[str, bool]] = set()
        told = about.setdefault(name, {})
        bits = 0.0
        for weight, fires, else_fires, strong in sorted(group, key=lambda each: -each[0]):
            speaks_for = fires > else_fires
            fresh = [cause for cause in strong if (cause, speaks_for) not in counted]
            counted.update((cause, speaks_for) for cause in fresh)
            mass = sum(causes[cause] for cause in fresh)
            if speaks_for:
                here = weight * _TO_LEAD * mass * (fires - else_fires)
            else:
                here = weight * bits_told(mass, fires, else_fires)
            bits += here
            for cause in fresh:
                told[cause] = told.get(cause, 0.0) + here * causes[cause] * strong[cause]
        tells[name] = bits
    return tells, about


def _parts_of(names: Collection[str], rulebase: Rulebase) -> dict[str, float]:
    """What each of some readings counts of what they tell only together.

    By effort, so that all of them are worth the same in their time: what is quickly read is not
    asked for the sake of a test that takes an hour.
    """
    if len(names) == 1:
        return dict.fromkeys(names, 1.0)
    efforts = {name: effort(rulebase.quantities[name]) for name in names}
    whole = sum(efforts.values())
    return {name: each / whole for name, each in efforts.items()}


def bits_told(mass: float, fires: float, else_fires: float) -> float:
    """Bits told by whether a rule fires that is for causes of a share of all that is open."""
    both = mass * fires + (1 - mass) * else_fires
    return _two(both) - mass * _two(fires) - (1 - mass) * _two(else_fires)


@lru_cache(maxsize=4096)
def _two(share: float) -> float:
    return _entropy((share, 1 - share))


def by_states(
    influences: Influences, waiting: Waiting, causes: Mapping[str, float]
) -> dict[str, tuple[float, tuple[str, ...]]]:
    """What each reading is expected to tell by the state it shows, and the causes that say so."""
    found: dict[str, tuple[float, tuple[str, ...]]] = {}
    reaching: dict[str, dict[str, Outcomes]] = {}
    for name in causes:
        ways = influences.ways(influences.rulebase.causes[name])
        for reached, outcomes in _predicts(ways).items():
            reaching.setdefault(reached, {})[name] = outcomes
    for state in influences.rulebase.plant_states.values():
        says = reaching.get(state.id)
        if state.id in influences.seen or not says:
            continue
        bits = _expected([(causes[name], outcomes) for name, outcomes in says.items()])
        for reading, share in _ways(state, waiting, influences.rulebase).items():
            if bits * share > found.get(reading, (0.0, ()))[0]:
                found[reading] = (bits * share, tuple(says))
    return found


def by_likeness(
    influences: Influences, waiting: Waiting, causes: Mapping[str, float]
) -> dict[str, tuple[float, tuple[str, ...]]]:
    """What each reading is expected to tell by what plants with each cause show of it, and of
    which causes; what a computed value tells is parted among the readings that it waits for."""
    found: dict[str, tuple[float, tuple[str, ...]]] = {}
    known = influences.facts.known
    for name, shows in influences.resemblance.shows.items():
        if name == COMPLAINT:
            continue  # with it a call begins; nobody reads it
        says = {cause: shares for cause, shares in shows.with_cause.items() if cause in causes}
        under = tuple(dict.fromkeys(waiting.missing(name))) if says and name not in known else ()
        if not under:
            continue
        bits = _expected(((causes[cause], each) for cause, each in says.items()), shows.usually)
        first = sorted(says, key=lambda cause: -causes[cause])[:2]
        for reading, share in _parts_of(under, influences.rulebase).items():
            if bits * share > found.get(reading, (0.0, ()))[0]:
                found[reading] = (bits * share, tuple(first))
    return found


def by_kinds(
    kinds: Mapping[str, tuple[str, ...]], causes: Mapping[str, float]
) -> dict[str, dict[str, float]]:
    """By each reading that tells a kind of plant the causes that hang on it, with their shares."""
    found: dict[str, dict[str, float]] = {}
    for cause, names in kinds.items():
        for name in names if cause in causes else ():
            found.setdefault(name, {})[cause] = causes[cause]
    return found


def _expected(
    says: Iterable[tuple[float, Sequence[float]]], usually: Sequence[float] = _EXPECTED
) -> float:
    """By how many bits the entropy of the causes is expected to fall once a state is known.

    `says` are the causes that reach it: their share of all, and what they expect. What is known of
    a state and its cause together is what is not known of the state, less what each cause leaves
    open about it.
    """
    some = tuple(says)
    told = [*some, (1 - sum(share for share, _ in some), usually)]
    mixed = [sum(share * outcomes[n] for share, outcomes in told) for n in range(len(usually))]
    return max(_entropy(mixed) - sum(share * _entropy(each) for share, each in told), 0.0)


def _predicts(ways: Sequence[Mapping[str, Follows]]) -> dict[str, Outcomes]:
    """How likely each state is low, normal, high where a cause is so, over the ways it may go."""
    if len(ways) == 1:
        return {state: _expects(follows) for state, follows in ways[0].items()}
    states = dict.fromkeys(state for way in ways for state in way)
    told = {state: [_expects(way.get(state)) for way in ways] for state in states}
    return {
        state: (
            sum(low for low, _, _ in each) / len(each),
            sum(normal for _, normal, _ in each) / len(each),
            sum(high for _, _, high in each) / len(each),
        )
        for state, each in told.items()
    }


@cache
def _expects(follows: Follows | None) -> Outcomes:
    if follows is None:
        return _EXPECTED
    if not follows.sense:
        return 1 / 3, 1 / 3, 1 / 3
    sure = _SURE if follows.surely else max(_MAYBE * follows.nearness, _LEAST)
    low, high = (ELSE, sure) if follows.sense > 0 else (sure, ELSE)
    return low, 1 - sure - ELSE, high


def _entropy(parts: Iterable[float]) -> float:
    return -sum(part * log2(part) for part in parts if part > 0)


def _ways(state: PlantState, waiting: Waiting, rulebase: Rulebase) -> dict[str, float]:
    """The readings by which a state could become known; one of several counts its share."""
    found: dict[str, float] = {}
    for way in state.seen_in:
        for conditions in (way.high, way.normal, way.low):
            groups = [tuple(dict.fromkeys(waiting.under(each))) for each in conditions]
            several = len(set(groups) - {()})  # each of them shows but its part of the state
            for names in groups:
                for name, share in _parts_of(names, rulebase).items():
                    found[name] = max(found.get(name, 0.0), share / several)
    return found


def effort(quantity: Quantity) -> float:
    """What a reading costs beside others, as minutes [min]."""
    paper = _PAPER_MINUTES if quantity.given else 0
    return _EACH_COSTS + paper + quantity.effort + _HAZARD_MINUTES * len(quantity.cautions)
