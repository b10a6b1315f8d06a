"""Why a cause was found or not, and the smallest change of one reading that turns it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Finding, Reading, each_finding
from expert.inference.kleene import Truth
from expert.inference.sentences import Speaker, value_text
from expert.inference.sign_truth import rule_truth
from expert.inference.truth import Facts
from expert.knowledge.conditions import parts, quantities_in
from expert.knowledge.model import Quantity, Rule
from expert.knowledge.plants import suited
from expert.units.measure import Measure, as_json

WORDS: dict[Truth, str] = {True: "fires", False: "silent", None: "undecided"}
_DOUBLINGS = 10
_HALVINGS = 6


@dataclass(frozen=True)
class Checked:
    """One condition of a rule, in words, with the value it met, and its truth."""

    text: str
    truth: Truth
    exception: bool = False


@dataclass(frozen=True)
class RuleStanding:
    """A rule for or against a cause: what it does, and each of its conditions."""

    rule: Rule
    strength: float
    does: str
    conditions: tuple[Checked, ...]

    @property
    def failing(self) -> tuple[Checked, ...]:
        """Conditions known not to hold, and exceptions known to hold."""
        return tuple(c for c in self.conditions if c.truth is c.exception and c.truth is not None)

    @property
    def unknown(self) -> tuple[Checked, ...]:
        """Conditions that hang on what is not known."""
        return tuple(c for c in self.conditions if c.truth is None and not c.exception)


@dataclass(frozen=True)
class TurningChange:
    """A single change that would turn a finding: quantity, from, to, and what then holds."""

    quantity: Quantity
    before: Measure | str
    after: Measure | str
    then: str
    size: float


@dataclass(frozen=True)
class Explanation:
    """Everything about one cause over some readings, nearest rules first."""

    cause: str
    finding: Finding | None
    rules: tuple[RuleStanding, ...]
    turns: tuple[TurningChange, ...] = ()


def explain(
    evaluator: Evaluator,
    readings: Iterable[Reading],
    cause: str,
    found: Iterable[Reading] | None = None,
    *,
    turns: bool = True,
) -> Explanation:
    """Why a cause is found or not. `turns` also searches what would change it (slower)."""
    kept = tuple(readings)
    before = None if found is None else tuple(found)
    evaluation = evaluator.evaluate(kept, before)
    facts, _ = evaluator.facts(kept, before)
    evaluator.run(facts)
    speaker = Speaker(evaluator.rulebase, facts.known, evaluator.limits, evaluator.system)
    strengths = evaluator.rulebase.certainty.strengths
    standings = []
    for rule in evaluator.rules.values():
        for sign, evidence in ((1, rule.evidence_for), (-1, rule.evidence_against)):
            if cause in evidence:
                does = WORDS[rule_truth(rule, facts)]
                met = tuple(checked(rule, facts, speaker))
                standings.append(RuleStanding(rule, sign * strengths[evidence[cause]], does, met))
    standings.sort(key=lambda s: (s.strength < 0, s.does != "fires", len(s.failing), -s.strength))
    finding = find(evaluation, cause)
    search = _Search(evaluator, kept, before, cause, finding is not None)
    return Explanation(cause, finding, tuple(standings), search.turns(standings) if turns else ())


def find(evaluation: Evaluation, cause: str) -> Finding | None:
    """The finding of a cause, at the top or under another."""
    for finding in each_finding(evaluation.findings):
        if finding.cause.id == cause:
            return finding
    return None


def checked(rule: Rule, facts: Facts, speaker: Speaker) -> Iterator[Checked]:
    """Each elementary condition of a rule, in words, with what it met."""
    for exception, conditions in ((False, rule.when), (True, rule.unless)):
        for condition in conditions:
            for part in parts(condition):
                truth = facts.holds(part)
                if truth is True:
                    text = speaker.fact(part)
                elif truth is False:
                    text = speaker.found_instead(part)
                else:
                    text = speaker.still_open(part)
                yield Checked(text, truth, exception)


class _Search:
    """Looks for the smallest change of one reading after which the finding is another."""

    def __init__(
        self,
        evaluator: Evaluator,
        readings: tuple[Reading, ...],
        found: tuple[Reading, ...] | None,
        cause: str,
        is_found: bool,
    ):
        self.evaluator = evaluator
        self.readings = readings
        self.found = found
        self.cause = cause
        self.is_found = is_found

    def turns(self, standings: Iterable[RuleStanding]) -> tuple[TurningChange, ...]:
        """The changes that turn it, smallest first; choices count as one accuracy."""
        names = {
            base
            for standing in standings
            for condition in (*standing.rule.when, *standing.rule.unless)
            for name in quantities_in(condition)
            for base in self._measured(name)
        }
        last = {reading.quantity: index for index, reading in enumerate(self.readings)}
        found = [
            turn
            for name, index in last.items()
            if name in names and (turn := self._turn(index)) is not None
        ]
        return tuple(sorted(found, key=lambda turn: (turn.size, turn.quantity.id)))

    def _quantity(self, name: str) -> Quantity:
        return suited(self.evaluator.rulebase.quantities[name], self.evaluator.subject)

    def _measured(self, name: str) -> tuple[str, ...]:
        quantity = self._quantity(name)
        if quantity.derivation is None or any(r.quantity == name for r in self.readings):
            return (name,)
        inputs = quantity.derivation.rests_on
        return tuple(base for below in inputs for base in self._measured(below))

    def _turn(self, index: int) -> TurningChange | None:
        reading = self.readings[index]
        quantity = self._quantity(reading.quantity)
        if isinstance(reading.value, str):
            for choice in quantity.choices:
                if choice != reading.value and self._turned(index, choice):
                    return TurningChange(quantity, reading.value, choice, self._then(), 1.0)
            return None
        step = quantity.accuracy or max(abs(reading.value.value) * 0.01, 1e-6)
        changes = [
            change
            for direction in (1.0, -1.0)
            if (change := self._distance(index, reading.value, quantity, direction * step))
        ]
        if not changes:
            return None
        change = min(changes, key=abs)
        after = replace(reading.value, value=reading.value.value + change)
        return TurningChange(quantity, reading.value, after, self._then(), abs(change) / step)

    def _distance(
        self, index: int, value: Measure, quantity: Quantity, step: float
    ) -> float | None:
        """The smallest change in one direction that turns it: doubled until, then halved back."""
        low, high = 0.0, step
        for _ in range(_DOUBLINGS):
            target = value.value + high
            if quantity.refuse_below is not None and target < quantity.refuse_below:
                return None
            if quantity.refuse_above is not None and target > quantity.refuse_above:
                return None
            if self._turned(index, replace(value, value=target)):
                break
            low, high = high, high * 2
        else:
            return None
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            if self._turned(index, replace(value, value=value.value + middle)):
                high = middle
            else:
                low = middle
        return high

    def _turned(self, index: int, value: Measure | str) -> bool:
        changed = list(self.readings)
        changed[index] = replace(changed[index], value=value)
        evaluation = self.evaluator.evaluate(changed, self.found)
        return (find(evaluation, self.cause) is not None) != self.is_found

    def _then(self) -> str:
        return "it is no longer found" if self.is_found else "it is found"


def explanation_lines(explanation: Explanation, evaluator: Evaluator) -> Iterator[str]:
    """An explanation as plain lines."""
    title = evaluator.rulebase.causes[explanation.cause].title
    if explanation.finding is None:
        yield f"{title}: not found. Why not:"
    else:
        yield f"{title}: {explanation.finding.words} ({explanation.finding.certainty:.2f}). Why:"
    for standing in explanation.rules:
        side = "for it" if standing.strength > 0 else "against it"
        yield f"- {standing.rule.id}, {side} ({abs(standing.strength):.2f}): {standing.does}"
        for checked in standing.conditions:
            mark = {True: "holds", False: "fails", None: "open "}[checked.truth]
            kind = "unless " if checked.exception else ""
            yield f"    {mark}: {kind}{checked.text}"
        yield f"    because: {standing.rule.because}"
        yield f"    source: {standing.rule.source}"
    if explanation.turns:
        yield "What would change it, smallest first:"
        for turn in explanation.turns[:5]:
            before, after = (value_text(v, evaluator.system) for v in (turn.before, turn.after))
            yield f"- {turn.quantity.title}: {before} -> {after}: {turn.then}"
    else:
        yield "No change of one reading alone would change it."


def explanation_json(explanation: Explanation, system: str) -> dict[str, object]:
    """An explanation as JSON."""

    def shown(value: Measure | str) -> object:
        return value if isinstance(value, str) else as_json(value, system)

    return {
        "cause": explanation.cause,
        "found": explanation.finding is not None,
        "certainty": explanation.finding.certainty if explanation.finding else 0.0,
        "rules": [
            {
                "rule": standing.rule.id,
                "strength": standing.strength,
                "does": standing.does,
                "conditions": [
                    {"text": c.text, "truth": c.truth, "exception": c.exception}
                    for c in standing.conditions
                ],
                "because": standing.rule.because,
                "source": str(standing.rule.source),
                "place": str(standing.rule.place),
            }
            for standing in explanation.rules
        ],
        "would_change": [
            {
                "quantity": turn.quantity.id,
                "from": shown(turn.before),
                "to": shown(turn.after),
                "then": turn.then,
            }
            for turn in explanation.turns
        ],
    }
