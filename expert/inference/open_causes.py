"""The causes that are still to be told apart, and what each counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import islice

from expert.inference.evaluation_model import Finding, each_finding
from expert.inference.influences import Influences
from expert.knowledge.model import Cause

_LEADING = 5  # so many found causes are held against one another
_SUSPECT = 0.25  # what a cause that explains all that is odd counts, beside findings (own choice)
_BEHIND = 0.15  # what a cause that could be behind a symptom counts at least (own choice)
_NONE = 0.1  # that it is none of them counts so much (own choice)
_REST = 0.01  # what any other cause counts that the call could be about (own choice)


def open_causes(
    findings: tuple[Finding, ...],
    influences: Influences,
    findable: Iterable[str],
    subjects: tuple[str, ...],
) -> dict[str, float]:
    """The causes to be told apart, with what each counts (0 to 1).

    Those that lead, what could be behind a mere symptom, what would explain the odd states though
    no rule speaks for it, and, for little, whatever else the call is about (`subjects`, all where
    empty). Only what some reading could still find counts, `findable`.
    """
    could = set(findable)
    found = {
        each.cause.id: each.certainty for each in each_finding(findings) if not each.cause.symptom
    }
    leading = dict(islice(found.items(), _LEADING))
    symptoms = [each.cause for each in each_finding(findings) if each.cause.symptom]
    counted = dict(leading)
    for cause in influences.rulebase.causes.values():
        if cause.id in leading or cause.symptom or cause.id not in could:
            continue
        if subjects and cause.subject not in subjects:
            continue
        counted[cause.id] = _suspicion(cause, symptoms, influences)
    return counted


def _suspicion(cause: Cause, symptoms: Iterable[Cause], influences: Influences) -> float:
    """What a cause counts for which nothing speaks yet."""
    behind = any(s.id in cause.leads_to or influences.brings(cause, s) for s in symptoms)
    cover = influences.cover(cause)
    if cover is None:
        return _BEHIND if behind else _REST
    if cover.against or cover.doubtful:
        return _REST * 0.3
    odd = len(cover.explains) + len(cover.leaves)
    share = len(cover.explains) / odd if odd else 0.0
    return max(_SUSPECT * share, _BEHIND if behind else 0.0, _REST)


def shares(counted: Mapping[str, float]) -> dict[str, float]:
    """The counts as shares of one; a share is left for none of them."""
    total = sum(counted.values()) + _NONE
    return {name: count / total for name, count in counted.items()}
