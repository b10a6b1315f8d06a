"""The whole of a rulebase as a Markdown text to read; the template only lays it out."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from expert.inference.sentences import Speaker, band_text, first_up
from expert.knowledge.conditions import Condition, Group
from expert.knowledge.entry_model import Applies
from expert.knowledge.model import Cause, Gate, Limit, Override, Quantity, Rule, Rulebase
from expert.knowledge.source import Source, document, parts
from expert.physics.frame.catalog import CATALOG
from expert.procedure.checklist import Checklist
from expert.report.plain_words import plain
from expert.report.render import render_template
from expert.units.kinds import Kind, unit_for
from expert.units.measure import difference_kind, format_value

TEMPLATE = "handbook.md.j2"


@dataclass(frozen=True)
class RuleLine:
    """One rule in a sentence: how strongly it speaks, when, unless, and why."""

    rule: Rule
    says: str
    when: str
    unless: str
    applies: str


@dataclass(frozen=True)
class LimitLine:
    """One limit as a row: what it is for, its bands in both unit systems, and what blocks it."""

    limit: Limit
    applies: str
    normal: str
    very_low: str
    very_high: str
    blocked: str


@dataclass(frozen=True)
class SourceLine:
    """One document, and the entries that rest on it, each as it is called in the handbook."""

    document: str
    rests: tuple[str, ...]


class Handbook:
    """Everything the template asks for. `system` is 'us', 'si' or 'both'."""

    def __init__(
        self, rulebase: Rulebase, system: str = "both", checklists: tuple[Checklist, ...] = ()
    ) -> None:
        self.rulebase = rulebase
        self.checklists = checklists
        self.system = system
        self.info = rulebase.info
        self._speaker = Speaker(rulebase, {}, {}, system)

    @property
    def systems(self) -> dict[str, tuple[Cause, ...]]:
        """Causes by their titles under their part of the plant, in the order of the plain words."""
        groups: dict[str, list[Cause]] = {}
        for cause in sorted(self.rulebase.causes.values(), key=lambda cause: cause.title.lower()):
            groups.setdefault(cause.system, []).append(cause)
        order = list(plain().systems)
        known = [name for name in order if name in groups]
        return {name: tuple(groups[name]) for name in (*known, *sorted(set(groups) - set(order)))}

    @property
    def causes(self) -> tuple[Cause, ...]:
        """Every cause by its title."""
        return tuple(sorted(self.rulebase.causes.values(), key=lambda cause: cause.title.lower()))

    @property
    def subjects(self) -> dict[str, tuple[Quantity, ...]]:
        """Quantities by what they are measured on."""
        groups: dict[str, list[Quantity]] = {}
        for quantity in sorted(self.rulebase.quantities.values(), key=lambda q: q.title.lower()):
            groups.setdefault(quantity.subject, []).append(quantity)
        order = ("site", "rack", "compressor", "circuit", "case")
        return {name: tuple(groups[name]) for name in order if name in groups}

    def rules_for(self, cause: Cause) -> tuple[RuleLine, ...]:
        """The rules that speak for a cause, then those against it, the strongest first."""
        scale = self.rulebase.certainty.strengths
        found: list[tuple[float, RuleLine]] = []
        for rule in self.rulebase.rules.values():
            for sign, words, evidence in (
                (1, "", rule.evidence_for),
                (-1, " against it", rule.evidence_against),
            ):
                if strength := evidence.get(cause.id):
                    line = self._line(rule, f"{first_up(strength)} evidence{words}")
                    found.append((sign * scale[strength], line))
        found.sort(key=lambda each: (each[0] < 0, -abs(each[0]), each[1].rule.id))
        return tuple(line for _, line in found)

    def rules_concluding(self, sign: str) -> tuple[RuleLine, ...]:
        """The rules that conclude a sign."""
        return tuple(
            self._line(rule, "So")
            for rule in self.rulebase.rules.values()
            if sign in rule.concludes
        )

    def hidden(self) -> tuple[RuleLine, ...]:
        """What some readings cannot tell, and the readings that would."""
        found = []
        for rule in self.rulebase.rules.values():
            if rule.cannot_tell:
                titles = [self.rulebase.quantities[name].title for name in rule.cannot_tell.read]
                says = f"It cannot be told {rule.cannot_tell.what} (read {' or '.join(titles)})"
                found.append(self._line(rule, says))
        return tuple(found)

    def limits_of(self, quantity: Quantity) -> tuple[LimitLine, ...]:
        """The limits of a quantity, the general one first."""
        limits = [limit for limit in self.rulebase.limits if limit.quantity == quantity.id]
        limits.sort(key=lambda limit: (len(limit.applies), limit.id))
        return tuple(self._limit(limit, quantity) for limit in limits)

    @property
    def documents(self) -> tuple[SourceLine, ...]:
        """Every published document by name, with what rests on it."""
        found: dict[str, list[str]] = {}
        for title, source in self._sourced():
            if source.label == "published":
                for each in parts(source.detail):
                    if Source("published", each).findable:
                        found.setdefault(document(each), []).append(title)
        names = sorted(found, key=str.lower)
        return tuple(SourceLine(name, tuple(dict.fromkeys(found[name]))) for name in names)

    @property
    def without_document(self) -> dict[str, int]:
        """How many entries rest on no document, by what their source is called."""
        return dict(Counter(s.label for _, s in self._sourced() if s.label != "published"))

    def _sourced(self) -> Iterator[tuple[str, Source]]:
        """Every entry of the rulebase that has a source, by its kind and name."""
        base = self.rulebase
        for what, entries in (
            ("quantity", base.quantities.values()),
            ("limit", base.limits),
            ("cause", base.causes.values()),
            ("rule", base.rules.values()),
            ("caution", base.cautions.values()),
            ("advice held back", base.gates.values()),
        ):
            for entry in entries:
                yield f"{what} {entry.id}", entry.source
        for formula in CATALOG.values():
            label, _, detail = formula.source.partition(": ")
            if label == "published":
                yield f"formula {formula.name}", Source(label, detail)

    def override_text(self, override: Override) -> str:
        """'drop is judged by 16 to 20 psi and no longer by 15 to 20 psi'."""
        quantity = self.rulebase.quantities[override.after.quantity]
        after, before = (
            band_text(limit, quantity, self.system) for limit in (override.after, override.before)
        )
        return f"{first_up(quantity.title)} ({override.after.id}): {after}, below {before}"

    def how(self, quantity: Quantity) -> str:
        """Kind or choices, unit, accuracy: 'gauge pressure in psig, plus/minus 1.0 psi'."""
        if quantity.is_choice:
            return "one of: " + ", ".join(quantity.choices)
        parts = [quantity.kind.value.replace("_", " ")]
        if quantity.kind is not Kind.TEXT and (unit := unit_for(quantity.kind).name):
            parts[0] += f" in {unit}"
        if quantity.accuracy:
            spread = format_value(difference_kind(quantity.kind), quantity.accuracy)
            parts.append(f"plus/minus {spread}")
        if quantity.derivation:
            inputs = [
                self.rulebase.quantities[source.quantity].title
                for source in quantity.derivation.inputs.values()
            ]
            parts.append(f"computed from {' and '.join(inputs)}")
            for name, words in quantity.derivation.kinds.items():
                parts.append(
                    f"only where {self.rulebase.quantities[name].title} is known to be "
                    f"{' or '.join(words)}"
                )
        if quantity.given:
            parts.append(f"from the {quantity.given}" + " file" * (quantity.given == "site"))
        return ", ".join(parts)

    def gate_needs(self, gate: Gate) -> str:
        """What must be known before an action is advised."""
        return "never advised" if gate.never else self._all(gate.needs)

    def title(self, cause: str) -> str:
        """Title of a cause."""
        return self.rulebase.causes[cause].title

    def _line(self, rule: Rule, says: str) -> RuleLine:
        unless = "; or ".join(self._speaker.condition(condition) for condition in rule.unless)
        return RuleLine(rule, says, self._all(rule.when), unless, _applies(rule.applies))

    def _all(self, conditions: Iterable[Condition]) -> str:
        return ", and ".join(self._told(tuple(conditions)))

    def _told(self, conditions: tuple[Condition, ...]) -> Iterator[str]:
        for condition in conditions:
            text = self._speaker.condition(condition)
            joined = isinstance(condition, Group) and len(conditions) > 1
            yield f"({text})" if joined else text

    def _limit(self, limit: Limit, quantity: Quantity) -> LimitLine:
        blocked = "; or ".join(self._speaker.condition(each) for each in limit.cannot_judge_when)
        return LimitLine(
            limit,
            _applies(limit.applies) or "any",
            band_text(limit, quantity, self.system),
            self._edge(limit.very_low, quantity),
            self._edge(limit.very_high, quantity),
            blocked,
        )

    def _edge(self, edge: float | None, quantity: Quantity) -> str:
        if edge is None:
            return ""
        systems = ("us", "si") if self.system == "both" else (self.system,)
        texts = [format_value(quantity.kind, edge, system) for system in systems]
        return texts[0] if len(set(texts)) == 1 else f"{texts[0]} ({texts[1]})"


def render_handbook(
    rulebase: Rulebase, checklists: Iterable[Checklist] = (), *, system: str = "both"
) -> str:
    """The handbook of a rulebase, and of the checklists that go with it, as Markdown."""
    text = render_template(TEMPLATE, book=Handbook(rulebase, system, tuple(checklists)))
    return re.sub(r"\n{3,}", "\n\n", text).strip() + "\n"


def _applies(applies: Applies) -> str:
    """'low temperature; hot gas', empty for any application."""
    return "; ".join(
        f"{'with ' if key == 'has' else ''}{' or '.join(words)}" for key, words in applies.items()
    )
