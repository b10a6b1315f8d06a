"""What is told of a subject in a stage, by number: the same number where the same is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

from expert.columns.compiled_rules import CompiledRules, Grade
from expert.columns.stage_verdict import JudgedCause, judged_causes
from expert.inference.evaluation_model import Finding, each_finding
from expert.inference.findings import nest
from expert.inference.influences import Influences
from expert.inference.kleene import Truth
from expert.inference.truth import Facts


@dataclass(frozen=True)
class Said:
    """Causes in the order in which they are told, and the actions that are held back.

    `apart` has them by the one under which they stand.
    """

    found: tuple[JudgedCause, ...] = ()
    held_back: tuple[str, ...] = ()
    apart: tuple[tuple[JudgedCause, ...], ...] = ()

    def beyond(self, whole: Said) -> Said:
        """What is not told of what the subject belongs to."""
        there = {each.cause for each in whole.found}
        found = [each for part in self.apart if part[0].cause not in there for each in part]
        return Said(tuple(found))


NOTHING_SAID = Said()
_KEPT = 50_000  # then it is begun anew, so that memory stays bounded


@dataclass
class AllSaid:
    """All that was told by now, of two rulebases held against each other by the same numbers.

    `turn` counts how often it was begun anew; numbers hold in one turn.
    """

    said: list[Said] = field(default_factory=lambda: [NOTHING_SAID])
    turn: int = 0
    _numbers: dict[Said, int] = field(default_factory=lambda: {NOTHING_SAID: 0})

    def bound(self) -> None:
        """Begins anew where much was told. For between two blocks: numbers before hold no more."""
        if len(self.said) > _KEPT:
            self.said = [NOTHING_SAID]
            self._numbers = {NOTHING_SAID: 0}
            self.turn += 1

    def number(self, said: Said) -> int:
        """The number of what is told."""
        found = self._numbers.setdefault(said, len(self.said))
        if found == len(self.said):
            self.said.append(said)
        return found


def said_of(
    compiled: CompiledRules,
    grades: Mapping[int, Grade],
    acting: tuple[Truth, ...],
    shut: Sequence[str],
) -> Said:
    """What is told where causes (by number) are so certain, by the engine's own code."""
    rules = compiled.rulebase
    findings: dict[str, Finding] = {}
    for number, grade in grades.items():
        cause = compiled.causes[number].cause
        actions = (remedy.action for remedy in cause.remedy if remedy.action in shut)
        findings[cause.id] = Finding(
            cause, grade.certainty, grade.words, (), held_back=tuple(dict.fromkeys(actions))
        )
    influences = Influences(rules, Facts({}, {}, {}), compiled.reach)
    influences.truths = acting
    nested = nest(findings, influences)
    held = dict.fromkeys(action for each in each_finding(nested) for action in each.held_back)
    apart = tuple(judged_causes((each,)) for each in nested)
    return Said(tuple(chain.from_iterable(apart)), tuple(held), apart)
