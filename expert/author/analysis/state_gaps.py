"""Bands of a limited quantity outside normal at which no rule looks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from expert.author.rule_tests import DEFAULT_FACTS
from expert.author.search.case_text import case_text, widest
from expert.author.search.cells import Cell, Space
from expert.author.search.witness import Witnesses
from expert.inference.truth import limit_for
from expert.knowledge.conditions import Compare, Condition, Is, everywhere
from expert.knowledge.entry_model import FACTS, Applies, meet
from expert.knowledge.model import Limit, Rulebase
from expert.knowledge.site import Subject

_WORDS = ("very low", "low", "high", "very high")


@dataclass(frozen=True)
class StateGap:
    """A limit, what no rule looks at, and how to make a case of it."""

    limit: Limit
    states: str
    what: str
    cells: frozenset[Cell]
    subject: Subject
    space: Space

    @property
    def name(self) -> str:
        """Quantity, states and limit."""
        return f"{self.limit.quantity} {self.states} / {self.limit.id}"

    def witness(self) -> str:
        """A file with one value in the gap."""
        assignment = {("", self.limit.quantity): self.cells}
        return case_text(assignment, self.subject, self.space, self.what)


def state_gaps(finder: Witnesses) -> Iterator[StateGap]:
    """Each limit with a state outside normal that no rule for such subjects looks at."""
    rulebase = finder.rulebase
    looking = _conditions(rulebase)
    for limit in rulebase.limits:
        subject = _subject(limit)
        if limit_for(limit.quantity, rulebase.limits, subject) is not limit:
            continue
        space = Space(rulebase, {limit.quantity: limit})
        covered: set[Cell] = set()
        for applies, condition in looking.get(limit.quantity, ()):
            if meet(applies, limit.applies):
                name, true, _ = space.holds_in(condition)
                covered |= true if name == limit.quantity else set()
        missing = {
            word: cells - covered
            for word in _WORDS
            if (cells := space.holds_in(Is(limit.quantity, word))[1]) - covered
        }
        words = [word for word in missing if not _part_of_another(word, missing)]
        if words:
            plain = frozenset(missing[words[0]] - missing.get(f"very {words[0]}", frozenset()))
            found = plain if _is_wide(plain, limit, space) else frozenset(missing[words[0]])
            states = " or ".join(f"'{word}'" for word in words)
            what = f"no rule looks at {limit.quantity} being {states}"
            yield StateGap(limit, " or ".join(words), what, found, subject, space)


def _is_wide(cells: frozenset[Cell], limit: Limit, space: Space) -> bool:
    """Whether a value can lie inside for sure, its uncertainty included."""
    low, high = widest(cells, limit.quantity, space)
    return high - low > 2 * (space.rulebase.quantities[limit.quantity].accuracy or 0.0)


def _part_of_another(word: str, missing: dict[str, frozenset[Cell]]) -> bool:
    """'very low' is not told beside 'low' where both are missing altogether."""
    wider = word.removeprefix("very ")
    return wider != word and wider in missing


def _conditions(rulebase: Rulebase) -> dict[str, list[tuple[Applies, Is | Compare]]]:
    found: dict[str, list[tuple[Applies, Is | Compare]]] = {}
    holders: list[tuple[Applies, tuple[Condition, ...]]] = [
        (rule.applies, (*rule.when, *rule.unless)) for rule in rulebase.rules.values()
    ]
    holders += [({}, gate.needs) for gate in rulebase.gates.values()]
    for applies, conditions in holders:
        for part in (part for condition in conditions for part in everywhere(condition)):
            if isinstance(part, Is) and part.word not in ("known", "too close to call"):
                found.setdefault(part.quantity, []).append((applies, part))
            elif isinstance(part, Compare):
                for term in part.terms:
                    if term.quantity:
                        found.setdefault(term.quantity, []).append((applies, part))
    return found


def _subject(limit: Limit) -> Subject:
    facts = {**DEFAULT_FACTS}
    facts.update({key: words[0] for key, words in limit.applies.items() if key in FACTS})
    has = limit.applies.get("has", ())[:1]
    return Subject("subject", "case", "circuit", "", facts, has=tuple(has))
