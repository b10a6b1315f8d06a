"""Which kinds of plant matter for a call: those by which its open causes are told or ruled out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache

from expert.knowledge.conditions import KNOWN, Is, quantities_in
from expert.knowledge.entry_model import Applies
from expert.knowledge.influence_model import Complaint
from expert.knowledge.model import Cause, Limit, Rule, Rulebase

DEVICES = "has"
_NARROWER = (DEVICES, "case_type")  # a limit for one of these counts beside the general one


def complaint_of(said: str, rulebase: Rulebase) -> Complaint | None:
    """What a complaint may be about; None where it is not known."""
    return next((each for each in rulebase.complaints.values() if said == each.says), None)


def hangs_on(said: str, kind: str, rulebase: Rulebase) -> frozenset[str]:
    """The facts of a plant and the devices on which the open causes of a complaint hang.

    `kind` is that of the subject, rack or circuit. A fact counts where a cause or a rule for one is
    made for certain plants, or where a reading that such a rule goes by has no limit without it.
    """
    about = complaint_of(said, rulebase)
    causes = [each for each in rulebase.causes.values() if about is None or _open(each, about)]
    names = {each.id for each in causes}
    rules = [each for each in rulebase.rules.values() if names & {*each.evidence_for}]
    made_for = [*(each.applies for each in causes), *(each.applies for each in rules)]
    found = {word for each in made_for for word in _words(each)}
    found |= {word for each in _limits(rules, kind, rulebase) for word in each}
    return frozenset(found)


def _open(cause: Cause, about: Complaint) -> bool:
    here = not about.systems or cause.system in about.systems
    return here and (not about.subjects or cause.subject in about.subjects)


def _words(applies: Applies) -> tuple[str, ...]:
    return tuple(word for key, words in applies.items() for word in _named(key, words))


def _named(key: str, words: tuple[str, ...]) -> tuple[str, ...]:
    return words if key == DEVICES else (key,)


def _limits(rules: list[Rule], kind: str, rulebase: Rulebase) -> Iterator[tuple[str, ...]]:
    """What decides by which limit the readings of some rules are judged."""
    from expert.inference.about_call import WITH  # what a first prompt needs none of

    read = {name for rule in rules for each in rule.when for name in quantities_in(each)}
    groups: dict[str, list[Limit]] = {}
    for limit in rulebase.limits:
        if limit.quantity in read and rulebase.quantities[limit.quantity].subject in WITH[kind]:
            groups.setdefault(limit.quantity, []).append(limit)
    for group in groups.values():
        for limit in group:
            for key, words in limit.applies.items():
                if key in _NARROWER or all(key in other.applies for other in group):
                    yield _named(key, words)


class KindsBehind:
    """The kinds of plant that must be known before what is computed from a reading is known."""

    def __init__(self, rulebase: Rulebase) -> None:
        self._rulebase = rulebase
        self._computed: Mapping[str, frozenset[str]] | None = None

    def __call__(self, quantity: str) -> tuple[str, ...]:
        """Ids of the quantities that tell them, sorted."""
        if self._computed is None:
            self._computed = _behind(self._rulebase)
        return tuple(sorted(self._computed.get(quantity, ())))


def _behind(rulebase: Rulebase) -> Mapping[str, frozenset[str]]:
    """By reading, the kinds of what is computed from it, directly or through other values."""
    found: dict[str, set[str]] = {}
    for quantity in rulebase.quantities.values():
        kinds = set(quantity.derivation.kinds) if quantity.derivation else set()
        waits, seen = [quantity.id] if kinds else [], set[str]()
        while waits:
            name = waits.pop()
            if name in seen:
                continue
            seen.add(name)
            found.setdefault(name, set()).update(kinds)
            derivation = rulebase.quantities[name].derivation
            waits += derivation.rests_on if derivation else ()
    return {name: frozenset(kinds - {name}) for name, kinds in found.items()}


@cache
def is_known(quantity: str) -> Is:
    """The condition that a quantity is known; the same object each time."""
    return Is(quantity, KNOWN)
