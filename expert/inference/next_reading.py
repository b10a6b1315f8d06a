"""What to measure next: the reading that tells the open causes apart best, for its effort.

A reading is worth what it is expected to tell, in bits: by each rule that waits for it (it fires
where its cause is so, and hardly else) and by the state of the plant it would show, which each
cause predicts. The expected fall of the candidates' entropy is the measure of de Kleer and Williams
1987, Diagnosing multiple faults, Artificial Intelligence 32; effort divides it as the cost of a
test does in Heckerman, Breese and Rommelse 1995, Communications of the ACM 38(3).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from math import log2

from expert.inference.evaluation_model import Finding, NextReading
from expert.inference.influences import Follows, Influences
from expert.inference.open_causes import open_causes, shares
from expert.inference.truth import Facts
from expert.inference.waiting import Waiting
from expert.knowledge.influence_model import PlantState
from expert.knowledge.model import Quantity, Rule, Rulebase

AT_MOST = 5
_LOOK_MINUTES = 10  # what takes longer is a job, not a look (own choice)
_HAZARD_MINUTES = 3  # each hazard of a reading counts like so many minutes (own choice)
_WALK_MINUTES = 3  # to get there and write it down (own choice)
_PAPER_MINUTES = 4  # to find a setting or a paper that the site file lacks (own choice)
_WORTHWHILE = 0.25  # of the best; what tells less is not put before it though it is a look
_SURE, _MAYBE, _ELSE = 0.9, 0.6, 0.05  # how firmly a cause predicts a state (own choice)
_FIRES, _BY_CHANCE = (
    0.8,
    0.03,
)  # a rule fires where its cause is so, and else (own choice)


def rank_next(
    rules: Iterable[Rule],
    facts: Facts,
    findings: tuple[Finding, ...],
    influences: Influences,
    *,
    subjects: tuple[str, ...] = (),
    skip: Collection[str] = (),
) -> tuple[NextReading, ...]:
    """At most five readings, best first; none of those that cannot be had (`skip`).

    `subjects` are the kinds of subject that the call is about, all where empty.
    """
    rulebase = influences.rulebase
    waiting = Waiting(tuple(rules), facts, rulebase.quantities)
    asks = {rule.id: waiting.readings(rule) for rule in waiting.rules}
    findable = {cause for rule in waiting.rules if asks[rule.id] for cause in rule.evidence_for}
    causes = shares(open_causes(findings, influences, findable, subjects))
    tells, about = _by_rules(waiting.rules, asks, causes, rulebase)
    for name, (bits, names) in _by_states(influences, waiting, causes).items():
        tells[name] = tells.get(name, 0.0) + bits
        about.setdefault(name, dict.fromkeys(names, bits))
    ranked = []
    for name, bits in tells.items():
        quantity = rulebase.quantities[name]
        if name not in skip and bits > 1e-6:
            why = _why(about[name], rulebase)
            ranked.append(NextReading(quantity, why, round(bits / _effort(quantity), 6)))
    best = max((each.worth for each in ranked), default=0.0)
    ranked = [each for each in ranked if each.worth >= _WORTHWHILE * best]
    # looks come before gauges, gauges before anything is opened
    step = {each.quantity.id: _step(each.quantity, rulebase) for each in ranked}
    ranked.sort(key=lambda each: (step[each.quantity.id], -each.worth, each.quantity.id))
    return tuple(ranked[:AT_MOST])


def _by_rules(
    rules: Iterable[Rule],
    asks: Mapping[str, tuple[str, ...]],
    causes: Mapping[str, float],
    rulebase: Rulebase,
) -> tuple[dict[str, float], dict[str, dict[str, float]]]:
    """What each reading is expected to tell by the rules that wait for it, and of which causes."""
    strengths = rulebase.certainty.strengths
    tells: dict[str, float] = {}
    about: dict[str, dict[str, float]] = {}
    for rule in rules:
        unknown = asks[rule.id]
        if not unknown:
            continue
        bits = 0.0
        named: dict[str, float] = {}
        for evidence, fires, else_fires in (
            (rule.evidence_for, _FIRES, _BY_CHANCE),
            (rule.evidence_against, _ELSE, 0.5),
        ):
            strong = {name: strengths[s] for name, s in evidence.items() if name in causes}
            mass = sum(causes[name] for name in strong)
            if mass <= 0:
                continue
            weight = max(strong.values()) / 0.75
            bits += min(weight, 1.2) * _told(mass, fires, else_fires)
            named |= {name: causes[name] * strength for name, strength in strong.items()}
        share = bits / len(unknown)
        for name in unknown:
            tells[name] = tells.get(name, 0.0) + share
            for cause, weight in named.items():
                known = about.setdefault(name, {})
                known[cause] = known.get(cause, 0.0) + weight * share
    return tells, about


def _told(mass: float, fires: float, else_fires: float) -> float:
    """Bits told by whether a rule fires that is for causes of a share of all that is open."""
    both = mass * fires + (1 - mass) * else_fires
    return _two(both) - mass * _two(fires) - (1 - mass) * _two(else_fires)


def _two(share: float) -> float:
    return _entropy((share, 1 - share))


def _by_states(
    influences: Influences, waiting: Waiting, causes: Mapping[str, float]
) -> dict[str, tuple[float, tuple[str, ...]]]:
    """What each reading is expected to tell by the state it shows, and the causes that say so."""
    found: dict[str, tuple[float, tuple[str, ...]]] = {}
    reached = {name: influences.follows(influences.rulebase.causes[name]) for name in causes}
    for state in influences.rulebase.plant_states.values():
        if state.id in influences.seen:
            continue
        says = {name: _predicts(reached[name].get(state.id)) for name in causes}
        says[""] = _predicts(None)  # none of them
        bits = _expected({**causes, "": 1 - sum(causes.values())}, says)
        names = tuple(name for name in causes if state.id in reached[name])
        for reading, share in _ways(state, waiting).items():
            if bits * share > found.get(reading, (0.0, ()))[0]:
                found[reading] = (bits * share, names)
    return found


def _expected(causes: Mapping[str, float], says: Mapping[str, tuple[float, float, float]]) -> float:
    """By how many bits the entropy of the causes is expected to fall once a state is known."""
    after = 0.0
    for outcome in range(3):
        joint = [share * says[name][outcome] for name, share in causes.items()]
        here = sum(joint)
        if here > 0:
            after += here * _entropy(each / here for each in joint)
    return max(_entropy(causes.values()) - after, 0.0)


def _predicts(follows: Follows | None) -> tuple[float, float, float]:
    """How likely a state is low, normal, high where a cause is so."""
    if follows is None:
        return _ELSE, 1 - 2 * _ELSE, _ELSE
    if not follows.sense:
        return 1 / 3, 1 / 3, 1 / 3
    sure = _SURE if follows.surely else _MAYBE
    low, high = (_ELSE, sure) if follows.sense > 0 else (sure, _ELSE)
    return low, 1 - sure - _ELSE, high


def _entropy(parts: Iterable[float]) -> float:
    return -sum(part * log2(part) for part in parts if part > 0)


def _ways(state: PlantState, waiting: Waiting) -> dict[str, float]:
    """The readings by which a state could become known; one of several counts its share."""
    found: dict[str, float] = {}
    for way in state.seen_in:
        for condition in (*way.high, *way.normal, *way.low):
            names = tuple(dict.fromkeys(waiting.under(condition)))
            for name in names:
                found[name] = max(found.get(name, 0.0), 1 / len(names))
    return found


def _step(quantity: Quantity, rulebase: Rulebase) -> int:
    """0 for a look, 1 for an instrument, 2 where the system is opened."""
    takes = {rulebase.cautions[name].access for name in quantity.cautions}
    if "opening" in takes:
        return 2
    free = quantity.is_choice and "gauges" not in takes and quantity.effort <= _LOOK_MINUTES
    return 0 if free else 1


def _effort(quantity: Quantity) -> float:
    paper = _PAPER_MINUTES if quantity.given else 0
    return _WALK_MINUTES + paper + quantity.effort + _HAZARD_MINUTES * len(quantity.cautions)


def _why(about: Mapping[str, float], rulebase: Rulebase) -> str:
    first = sorted(about, key=lambda cause: (-about[cause], cause))[:2]
    titles = [f"'{rulebase.causes[cause].title}'" for cause in first]
    return f"It would speak for or against {' and '.join(titles)}."
