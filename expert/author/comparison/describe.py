"""What an entry of a rulebase says, field by field in words, for comparing two of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from expert.inference.sentences import Speaker, band_text
from expert.knowledge.certainty_scale import Certainty
from expert.knowledge.conditions import Condition
from expert.knowledge.entry_model import Applies
from expert.knowledge.hazard_model import Caution
from expert.knowledge.how_read import Spread
from expert.knowledge.judge import band_text as edges_text
from expert.knowledge.model import Cause, Gate, Limit, Quantity, Rule, Rulebase, Sign
from expert.units.kinds import Kind
from expert.units.measure import difference_kind, format_value

Words = Mapping[str, str | tuple[str, ...]]
Item = Quantity | Limit | Sign | Cause | Rule | Caution | Gate


class Describer:
    """Tells the entries of one rulebase in a unit system ('us', 'si' or 'both')."""

    def __init__(self, rulebase: Rulebase, system: str = "us") -> None:
        self.rulebase = rulebase
        self.system = system
        self._speaker = Speaker(rulebase, {}, {}, system)

    def title(self, item: Item) -> str:
        """What a person calls an entry."""
        if isinstance(item, Limit):
            quantity = self.rulebase.quantities[item.quantity]
            return f"limit of {quantity.title}, {band_text(item, quantity, self.system)}"
        if isinstance(item, Rule):
            return self.rule(item)
        if isinstance(item, Sign):
            return item.says
        return item.first if isinstance(item, Gate) else item.title

    def rule(self, rule: Rule) -> str:
        """'strong for Fan motor dead, when the case air is warm and case fans is all stopped'."""
        leads = [f"{strength} for {self._cause(c)}" for c, strength in rule.evidence_for.items()]
        leads += [
            f"{strength} against {self._cause(c)}" for c, strength in rule.evidence_against.items()
        ]
        leads += [f"concludes that {self._says(sign)}" for sign in rule.concludes]
        leads += [f"doubts the {doubted}" for doubted in self._titles(rule.doubts)]
        leads += [
            f"says that it cannot be told {hidden.what}" for hidden in [rule.cannot_tell] if hidden
        ]
        return f"{'; '.join(leads)}, when {' and '.join(self._conditions(rule.when))}"

    def words(self, item: Item) -> Words:
        """The fields of an entry in words; lists stay lists."""
        if isinstance(item, Limit):
            return self._limit(item)
        if isinstance(item, Rule):
            return self._rule(item)
        if isinstance(item, Cause):
            return self._cause_words(item)
        if isinstance(item, Quantity):
            return self._quantity(item)
        if isinstance(item, Sign):
            return {"says": item.says}
        if isinstance(item, Caution):
            return {
                "title": item.title, "say": item.say, "ask": item.ask, "for": item.work,
                "source": str(item.source),
            }  # fmt: skip
        return {
            "action": item.action,
            "needs": self._conditions(item.needs),
            "never": "yes" if item.never else "no",
            "first": item.first,
            "source": str(item.source),
        }

    def certainty(self, scale: Certainty) -> Words:
        """The scale of evidence in words."""
        return {
            "strengths": tuple(f"{name} {value:g}" for name, value in scale.strengths.items()),
            "words": tuple(f"{say} from {at_least:g}" for at_least, say in scale.words),
            "threshold": f"{scale.threshold:g}",
        }

    def _titles(self, names: Iterable[str]) -> tuple[str, ...]:
        return tuple(self.rulebase.quantities[name].title for name in names)

    def _limit(self, limit: Limit) -> Words:
        quantity = self.rulebase.quantities[limit.quantity]
        return {
            "judges": quantity.title,
            "for": applies_text(limit.applies),
            "normal": band_text(limit, quantity, self.system),
            "very low below": self._edge(limit.very_low, quantity),
            "very high above": self._edge(limit.very_high, quantity),
            "not judged when": self._conditions(limit.cannot_judge_when),
            "source": str(limit.source),
            "note": limit.note,
        }

    def _rule(self, rule: Rule) -> Words:
        hidden = rule.cannot_tell
        return {
            "when": self._conditions(rule.when),
            "unless": self._conditions(rule.unless),
            "speaks for": self._evidence(rule.evidence_for),
            "speaks against": self._evidence(rule.evidence_against),
            "concludes": tuple(self._says(sign) for sign in rule.concludes),
            "doubts": self._titles(rule.doubts),
            "cannot tell": hidden.what if hidden else "",
            "shown by": self._titles(hidden.read if hidden else ()),
            "for": applies_text(rule.applies),
            "because": rule.because,
            "source": str(rule.source),
            "tests": str(len(rule.tests)),
        }

    def _cause_words(self, cause: Cause) -> Words:
        return {
            "title": cause.title,
            "system": cause.system,
            "subject": cause.subject,
            "is": cause.text,
            "confirm": cause.confirm,
            "do": tuple(
                f"{each.text} ({each.action})" if each.action else each.text
                for each in cause.remedy
            ),
            "cautions": cause.cautions,
            "parts": cause.parts,
            "urgency": cause.urgency,
            "leads to": tuple(self._cause(name) for name in cause.leads_to),
            "can be when": self._conditions(cause.can_be_when),
            "not when": cause.not_when,
            "source": str(cause.source),
        }

    def _quantity(self, quantity: Quantity) -> Words:
        kind, spread = quantity.kind, quantity.accuracy
        inputs = quantity.derivation.inputs if quantity.derivation else {}
        return {
            "title": quantity.title,
            "subject": quantity.subject,
            "kind": kind.value.replace("_", " "),
            "choices": tuple(quantity.choices),
            "computed by": quantity.derivation.function if quantity.derivation else "",
            "from": tuple(
                f"{name}: {each.take} {' or '.join(each.places)}" for name, each in inputs.items()
            ),
            "on": tuple(
                f"{name}: {' or '.join(words)}"
                for name, words in (
                    quantity.derivation.kinds if quantity.derivation else {}
                ).items()
            ),
            "where": quantity.where,
            "with": quantity.instrument,
            "accuracy": "" if spread is None else self._value(difference_kind(kind), spread),
            "by other ways": tuple(
                f"{each.way.title}: {self._spread(each.spread, kind)}"
                for each in quantity.ways
                if each.spread is not None
            ),
            "possible": self._band(quantity, quantity.refuse_below, quantity.refuse_above),
            "usual": self._band(quantity, quantity.unusual_below, quantity.unusual_above),
            "given by": quantity.given,
            "effort": f"{quantity.effort} min",
            "cautions": quantity.cautions,
            "source": str(quantity.source),
        }

    def _spread(self, spread: Spread, kind: Kind) -> str:
        least = self._value(difference_kind(kind), spread.least)
        return f"{least} or {spread.share:.1%} of it" if spread.share else least

    def _band(self, quantity: Quantity, below: float | None, above: float | None) -> str:
        return edges_text(below, above, quantity.kind, "si" if self.system == "si" else "us")

    def _edge(self, edge: float | None, quantity: Quantity) -> str:
        return "" if edge is None else self._value(quantity.kind, edge)

    def _value(self, kind: Kind, value: float) -> str:
        systems = ("us", "si") if self.system == "both" else (self.system,)
        texts = [format_value(kind, value, system) for system in systems]
        return texts[0] if len(set(texts)) == 1 else f"{texts[0]} ({texts[1]})"

    def _conditions(self, conditions: Iterable[Condition]) -> tuple[str, ...]:
        return tuple(self._speaker.condition(condition) for condition in conditions)

    def _evidence(self, evidence: Mapping[str, str]) -> tuple[str, ...]:
        return tuple(f"{self._cause(cause)}: {strength}" for cause, strength in evidence.items())

    def _cause(self, cause: str) -> str:
        return f"'{self.rulebase.causes[cause].title}'"

    def _says(self, sign: str) -> str:
        return self.rulebase.signs[sign].says


def applies_text(applies: Applies) -> str:
    """'low temperature; hot gas', or 'any' without a restriction."""
    facts = (
        f"{'with ' if key == 'has' else ''}{' or '.join(words)}" for key, words in applies.items()
    )
    return "; ".join(facts) or "any"
