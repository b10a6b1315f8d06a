"""What no test has tried, rule by rule, condition by condition, edge by edge."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from expert.author.coverage.explained import waive
from expert.author.coverage.gap import Gap
from expert.author.coverage.observe import Seen, SeenPart, SeenRule, observe
from expert.author.coverage.shares import reaches, share_text
from expert.author.coverage.unused import unused
from expert.author.mutation.changed_limits import EDGES, edges_looked_at
from expert.author.scenarios.read import Scenario
from expert.knowledge.model import Rulebase

GROUPS = ("rule", "condition", "edge", "limit", "quantity", "sign", "cause")


@dataclass(frozen=True)
class Coverage:
    """Gaps, those explained in the rulebase, and how many things were looked at of each kind.

    `idle` are explanations that explain nothing any more.
    """

    gaps: tuple[Gap, ...]
    explained: Mapping[Gap, str]
    asked: Mapping[str, int]
    idle: tuple[str, ...] = ()

    def figures(self, kind: str = "") -> tuple[int, int]:
        """How many things are covered, of how many that are not explained away."""
        asked = sum(count for name, count in self.asked.items() if kind in ("", name))
        waived = sum(kind in ("", gap.kind) for gap in self.explained)
        lacking = sum(kind in ("", gap.kind) for gap in self.gaps)
        return asked - waived - lacking, asked - waived

    def reaches(self, percent: Fraction) -> bool:
        """Whether at least so many per cent of everything is covered; nothing is rounded."""
        return reaches(*self.figures(), percent)


def coverage(
    rulebase: Rulebase,
    scenarios: Iterable[Scenario] = (),
    *,
    elsewhere: Collection[str] = (),
    explained: Mapping[str, str] | None = None,
) -> Coverage:
    """What the tests beside the rules and some scenarios leave untried, and what is unused.

    `explained` maps the id of a gap, or its beginning up to a ' / ', to a reason to leave it.
    """
    seen = observe(rulebase, scenarios)
    found = [*_rules(seen), *_edges(rulebase, seen), *unused(rulebase, elsewhere)]
    left, waived, idle = waive(found, lambda gap: gap.id, explained or {})
    gaps = tuple(sorted(left, key=lambda gap: (gap.place, gap.id)))
    return Coverage(gaps, waived, _asked(rulebase, seen), idle)


def _rules(seen: Seen) -> Iterator[Gap]:
    for each in seen.rules.values():
        rule = each.rule
        for outcome, what in (("fires", "fires it"), ("silent", "keeps it silent")):
            if outcome not in each.outcomes:
                gap = f"{rule.id} / no test {what}"
                yield Gap(gap, "rule", f"none of its own tests {what}", rule.place)
        texts: dict[str, int] = {}
        for part in each.parts:
            text = f"{'unless ' if part.exception else ''}{part.part}"
            texts[text] = texts.get(text, 0) + 1
            again = f" ({texts[text]})" if texts[text] > 1 else ""
            yield from _part(each, part, text + again)


def _part(rule: SeenRule, seen: SeenPart, text: str) -> Iterator[Gap]:
    name = f"{rule.rule.id} / {text}"
    place = seen.part.place if seen.part.place.path else rule.rule.place
    for truth, word in ((True, "true"), (False, "false")):
        if truth not in seen.truths:
            what = f"no test or scenario makes this {word}"
            yield Gap(f"{name} / never {word}", "condition", what, place)
    if not (seen.fired_by and seen.kept_silent):
        yield Gap(f"{name} / never decisive", "condition", _undecided(seen), place)


def _undecided(seen: SeenPart) -> str:
    if seen.exception:
        if seen.kept_silent:
            return "no test fires the rule while this is known not to hold"
        return "no test has this alone keep the rule silent"
    if seen.kept_silent:
        return "no test fires the rule by this alone, without the other alternatives"
    return "no test has this alone keep the rule silent, with all else in place"


def _edges(rulebase: Rulebase, seen: Seen) -> Iterator[Gap]:
    looked_at = edges_looked_at(rulebase)
    for limit in rulebase.limits:
        for edge in _asked_edges(looked_at.get(limit.quantity, ())):
            if getattr(limit, edge) is None:
                continue
            for side in ("below", "above"):
                if (limit.id, edge, side) not in seen.edges:
                    words = edge.replace("_", " ")
                    name = f"limit {limit.id} / {words} edge / never from {side}"
                    what = f"no test or scenario has a value of {limit.quantity} {side} this edge"
                    yield Gap(name, "edge", what, limit.place)


def _asked_edges(looked_at: Collection[str]) -> Iterator[str]:
    return (edge for edge in EDGES if edge in looked_at)


def _asked(rulebase: Rulebase, seen: Seen) -> dict[str, int]:
    looked_at = edges_looked_at(rulebase)
    edges = sum(
        getattr(limit, edge) is not None
        for limit in rulebase.limits
        for edge in _asked_edges(looked_at.get(limit.quantity, ()))
    )
    return {
        "rule": 2 * len(seen.rules),
        "condition": 3 * sum(len(each.parts) for each in seen.rules.values()),
        "edge": 2 * edges,
        "limit": len(rulebase.limits),
        "quantity": len(rulebase.quantities),
        "sign": 2 * len(rulebase.signs),
        "cause": 2 * len(rulebase.causes),
    }


def figure_lines(covered: Coverage) -> Iterator[str]:
    """One line for each kind of thing, and one for all."""
    for kind in (*GROUPS, ""):
        part, whole = covered.figures(kind)
        yield f"{kind or 'all':<10}{part:>6} of {whole:>6}  {share_text(part, whole)}"
