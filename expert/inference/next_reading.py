"""What to measure next: the reading that tells the open causes apart best, for its effort.

A reading is worth the chance that it makes a cause lead, by each rule that waits for it (it fires
where its cause is so, and hardly else), and what it is expected to tell, in bits, by rules that
would speak against causes and by the state of the plant it would show, which each cause predicts.
The expected fall of the candidates' entropy is the measure of de Kleer and Williams 1987,
Diagnosing multiple faults, Artificial Intelligence 32. It rises ever slower with the share of a
cause, so that by it alone two looks at unlikely causes come before the test of the likeliest;
a chance does not. Effort divides both as the cost of a test does in Heckerman, Breese and Rommelse
1995, Communications of the ACM 38(3), where what is likeliest for its cost is looked at first.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cache, lru_cache
from math import log2

from expert.inference.certainty import both
from expert.inference.evaluation_model import Finding, NextReading
from expert.inference.influences import Follows, Influences
from expert.inference.open_causes import CalledAbout, open_causes, shares
from expert.inference.truth import Facts
from expert.inference.waiting import Waiting
from expert.knowledge.conditions import Is, parts, quantities_in
from expert.knowledge.influence_model import PlantState
from expert.knowledge.model import Quantity, Rule, Rulebase

AT_MOST = 5
Outcomes = tuple[float, float, float]  # how likely a state is low, normal, high
_LOOK_MINUTES = 10  # what takes longer is a job, not a look (own choice)
_HAZARD_MINUTES = 2  # each hazard of a reading counts like so many minutes (own choice)
# What any reading costs beside its own minutes: the walk, writing it down, and that a call is
# counted in readings, so that one which tells more may take longer (own choice).
_EACH_COSTS = 40  # min; a weight, no time that anybody took
_WORTHWHILE = 0.6  # of the best; what tells less is not worth a word (own choice)
# How firmly a cause predicts a state (own choices): where it must show, may, at least, else.
_SURE, _MAYBE, _LEAST, _ELSE = 0.9, 0.65, 0.2, 0.05
_EXPECTED = (_ELSE, 1 - 2 * _ELSE, _ELSE)  # of a state that a cause does not reach
_IN_VAIN = 0.75  # what a look that would have shown it takes from a cause (own choice)
_OPENED = 2  # the last step, at which the system is opened
_PAPER_MINUTES = 4  # to find a setting or a paper that the site file lacks (own choice)
_KIND_FITS = 0.95, 0.5  # a plant is of the kind that a cause needs where it is so, and else
_FIRES, _BY_CHANCE = 0.8, 0.03  # a rule fires where its cause is so, and else (own choice)
_TO_LEAD = 3.0  # a sure step to the lead is worth so many bits (own choice)
_STATE = 0.3  # what a state tells counts less: it makes no cause lead by itself (own choice)


def rank_next(
    rules: Iterable[Rule],
    facts: Facts,
    findings: tuple[Finding, ...],
    influences: Influences,
    *,
    fired: Collection[str] = (),
    call: CalledAbout | None = None,
    skip: Collection[str] = (),
) -> tuple[NextReading, ...]:
    """At most five readings, best first; none of those that cannot be had (`skip`).

    `call` is what the call is about, anything where there is none.
    """
    rulebase = influences.rulebase
    waiting = Waiting(tuple(rules), facts, rulebase.quantities)
    asks = {rule.id: waiting.readings(rule) for rule in waiting.rules}
    quantities = rulebase.quantities
    kinds = _kinds(rulebase, facts, waiting)
    there = {
        name for name in dict.fromkeys(
            name for names in (*asks.values(), *kinds.values()) for name in names
        )
        if name not in skip
        and all(facts.holds(each) is not False for each in quantities[name].asked_when)
    }  # fmt: skip
    for rule in waiting.rules:
        if asks[rule.id]:
            open_ways = waiting.could_fire(rule, there)
            asks[rule.id] = tuple(each for each in asks[rule.id] if each in there and open_ways)
    findable = {cause for rule in waiting.rules if asks[rule.id] for cause in rule.evidence_for}
    against = _against(waiting.rules, fired, facts, rulebase)
    causes = shares(open_causes(findings, influences, against, findable, call or CalledAbout()))
    tells, about = _by_rules(waiting.rules, asks, causes, rulebase)
    for name, (bits, names) in _by_states(influences, waiting, causes).items():
        tells[name] = tells.get(name, 0.0) + _STATE * bits
        about.setdefault(name, dict.fromkeys(names, bits))
    for name, fits in _by_kinds(kinds, causes).items():
        tells[name] = tells.get(name, 0.0) + _told(sum(fits.values()), *_KIND_FITS)
        about.setdefault(name, fits)
    ranked = []
    for name, bits in tells.items():
        quantity = rulebase.quantities[name]
        if name in there and bits > 1e-6:
            why = _why(about[name], rulebase)
            ranked.append(NextReading(quantity, why, round(bits / _effort(quantity), 6)))
    best = max((each.worth for each in ranked), default=0.0)
    ranked = [each for each in ranked if each.worth >= _WORTHWHILE * best]

    def order(each: NextReading) -> tuple[int, float, float, str]:
        # of what tells about as much looks come before gauges, gauges before anything is opened
        step = _step(each.quantity, rulebase)
        return step, -each.worth, _effort(each.quantity), each.quantity.id

    return tuple(sorted(ranked, key=order)[:AT_MOST])


def _against(
    rules: Iterable[Rule], fired: Collection[str], facts: Facts, rulebase: Rulebase
) -> dict[str, float]:
    """What speaks against each cause (0 to 1): rules that fired, and what was looked for in vain.

    A rule that rests on one look alone says what the look would have shown.
    """
    strengths = rulebase.certainty.strengths
    taken: dict[str, float] = {}
    in_vain: dict[str, set[str]] = {}
    shown: dict[str, set[str]] = {}
    for rule in rules:
        if rule.id in fired:
            for cause, strength in rule.evidence_against.items():
                taken[cause] = both(taken.get(cause, 0.0), strengths[strength])
        look = _look(rule, facts, rulebase)
        for cause in rule.evidence_for if look else ():
            (shown if rule.id in fired else in_vain).setdefault(cause, set()).add(look)
    for cause, looks in in_vain.items():
        for _ in looks - shown.get(cause, set()):
            taken[cause] = both(taken.get(cause, 0.0), _IN_VAIN)
    return taken


def _look(rule: Rule, facts: Facts, rulebase: Rulebase) -> str:
    """The look on which alone a rule rests, if it was taken; else ''."""
    if not rule.evidence_for or (len(rule.when) != 1 and not rule.seen):
        return ""
    if any(isinstance(each, Is) and each.quantity not in facts.known for each in rule.when):
        return ""  # most rules wait for what was not read; the rest is worked out for few
    names = {name for each in rule.when for part in parts(each) for name in quantities_in(part)}
    if len(names) != 1:
        return ""
    name = next(iter(names))
    return name if name in facts.known and rulebase.quantities[name].is_choice else ""


def _by_rules(
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
            (rule.evidence_against, _ELSE, 0.5),
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
                here = weight * _told(mass, fires, else_fires)
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
    efforts = {name: _effort(rulebase.quantities[name]) for name in names}
    whole = sum(efforts.values())
    return {name: effort / whole for name, effort in efforts.items()}


def _told(mass: float, fires: float, else_fires: float) -> float:
    """Bits told by whether a rule fires that is for causes of a share of all that is open."""
    both = mass * fires + (1 - mass) * else_fires
    return _two(both) - mass * _two(fires) - (1 - mass) * _two(else_fires)


@lru_cache(maxsize=4096)
def _two(share: float) -> float:
    return _entropy((share, 1 - share))


def _by_states(
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


def _kinds(rulebase: Rulebase, facts: Facts, waiting: Waiting) -> dict[str, tuple[str, ...]]:
    """For each cause that only some plants can have the readings that tell the kind, if unknown."""
    found = {}
    for cause in rulebase.causes.values():
        unknown = [each for each in cause.can_be_when if facts.holds(each) is None]
        if names := tuple(dict.fromkeys(n for each in unknown for n in waiting.under(each))):
            found[cause.id] = names
    return found


def _by_kinds(
    kinds: Mapping[str, tuple[str, ...]], causes: Mapping[str, float]
) -> dict[str, dict[str, float]]:
    """By each reading that tells a kind of plant the causes that hang on it, with their shares."""
    found: dict[str, dict[str, float]] = {}
    for cause, names in kinds.items():
        for name in names if cause in causes else ():
            found.setdefault(name, {})[cause] = causes[cause]
    return found


def _expected(says: Collection[tuple[float, Outcomes]]) -> float:
    """By how many bits the entropy of the causes is expected to fall once a state is known.

    `says` are the causes that reach it: their share of all, and what they expect. What is known of
    a state and its cause together is what is not known of the state, less what each cause leaves
    open about it.
    """
    told = [*says, (1 - sum(share for share, _ in says), _EXPECTED)]
    mixed = [sum(share * outcomes[n] for share, outcomes in told) for n in range(3)]
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
    low, high = (_ELSE, sure) if follows.sense > 0 else (sure, _ELSE)
    return low, 1 - sure - _ELSE, high


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


def _step(quantity: Quantity, rulebase: Rulebase) -> int:
    """0 for a look, 1 for an instrument, 2 where the system is opened."""
    takes = {rulebase.cautions[name].access for name in quantity.cautions}
    if "opening" in takes:
        return _OPENED
    look = quantity.is_choice or quantity.spot == "display"  # a display is looked at, too
    free = look and "gauges" not in takes and quantity.effort <= _LOOK_MINUTES
    return 0 if free else 1


def _effort(quantity: Quantity) -> float:
    paper = _PAPER_MINUTES if quantity.given else 0
    return _EACH_COSTS + paper + quantity.effort + _HAZARD_MINUTES * len(quantity.cautions)


def _why(about: Mapping[str, float], rulebase: Rulebase) -> str:
    first = sorted(about, key=lambda cause: (-about[cause], cause))[:2]
    titles = [f"'{rulebase.causes[cause].title}'" for cause in first]
    return f"It would speak for or against {' and '.join(titles)}."
