"""From the rules that fired to ranked findings with their chains of reasons."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from expert.inference.advice import advise
from expert.inference.certainty import combined
from expert.inference.evaluation_model import Finding, FiredRule
from expert.inference.sentences import Speaker
from expert.inference.truth import Facts
from expert.knowledge.conditions import HasSign, Is, parts
from expert.knowledge.model import Cause, Rule, Rulebase
from expert.knowledge.strata import needed_signs

URGENCY = ("safety", "food", "leak", "equipment", "energy")
_LIKELY = 0.5  # an explanation at least this certain takes its effects under it


def certainties(fired: Iterable[Rule], rulebase: Rulebase) -> dict[str, float]:
    """The certainty (0 to 1) of each cause that some rules find: supported, above the threshold."""
    scale = rulebase.certainty
    factors: dict[str, list[float]] = {}
    supported: set[str] = set()
    for rule in fired:
        supported.update(rule.evidence_for)
        for sign, evidence in ((1, rule.evidence_for), (-1, rule.evidence_against)):
            for cause, strength in evidence.items():
                factors.setdefault(cause, []).append(sign * scale.strengths[strength])
    found = {cause: combined(factors[cause]) for cause in factors if cause in supported}
    return {cause: sure for cause, sure in found.items() if round(sure, 4) >= scale.threshold}


def findings_of(fired: Iterable[Rule], rulebase: Rulebase) -> dict[str, Finding]:
    """The findings of some rules that fired, without sentences."""
    words = rulebase.certainty
    return {
        name: Finding(rulebase.causes[name], round(sure, 4), words.say(sure), ())
        for name, sure in certainties(fired, rulebase).items()
    }


def find_causes(
    fired: Sequence[Rule],
    facts: Facts,
    concluding: Mapping[str, Sequence[Rule]],
    speaker: Speaker,
) -> tuple[Finding, ...]:
    """Causes at or above the threshold, best first; effects stand under their cause."""
    steps = _Steps(fired, facts, concluding, speaker)
    findings: dict[str, Finding] = {}
    supporting: dict[str, list[Rule]] = {}
    for rule in fired:
        for name in rule.evidence_for:
            supporting.setdefault(name, []).append(rule)
    for cause in speaker.rulebase.causes.values():
        if cause.id not in supporting:
            continue
        opposing = [rule for rule in fired if cause.id in rule.evidence_against]
        finding = _finding(cause, supporting[cause.id], opposing, steps, speaker)
        if finding.certainty >= speaker.rulebase.certainty.threshold:
            findings[cause.id] = finding
    return nest(findings)


def _finding(
    cause: Cause,
    supporting: Sequence[Rule],
    opposing: Sequence[Rule],
    steps: _Steps,
    speaker: Speaker,
) -> Finding:
    scale = speaker.rulebase.certainty
    evidence = [
        steps.step(rule, scale.strengths[rule.evidence_for[cause.id]]) for rule in supporting
    ]
    against = [
        steps.step(rule, scale.strengths[rule.evidence_against[cause.id]]) for rule in opposing
    ]
    certainty = combined([s.weight for s in evidence] + [-s.weight for s in against])
    do, held_back = advise(cause, steps.facts, speaker)
    open_questions = dict.fromkeys(question for step in evidence for question in _open_below(step))
    return Finding(
        cause=cause,
        certainty=round(certainty, 4),
        words=scale.say(certainty),
        evidence=tuple(sorted(evidence, key=lambda step: -step.weight)),
        against=tuple(sorted(against, key=lambda step: -step.weight)),
        open=tuple(open_questions),
        do=do,
        held_back=held_back,
    )


def _open_below(step: FiredRule) -> tuple[str, ...]:
    """What is open about a rule and about the rules that concluded its signs."""
    return step.open + tuple(question for lower in step.rests_on for question in _open_below(lower))


def nest(findings: dict[str, Finding]) -> tuple[Finding, ...]:
    """Each effect under the most certain finding that explains it; no circles."""
    above: dict[str, str] = {}
    ranked = sorted(findings.values(), key=_rank)
    for effect in ranked:
        explaining = [
            finding
            for finding in ranked
            if effect.cause.id in finding.cause.leads_to
            and finding.certainty >= min(_LIKELY, effect.certainty)
            and not _reaches(effect.cause.id, finding.cause.id, above)
        ]
        if explaining:
            above[effect.cause.id] = explaining[0].cause.id

    def grown(finding: Finding) -> Finding:
        effects = tuple(grown(f) for f in ranked if above.get(f.cause.id) == finding.cause.id)
        return replace(finding, effects=effects)

    return tuple(grown(finding) for finding in ranked if finding.cause.id not in above)


def _reaches(top: str, name: str, above: Mapping[str, str]) -> bool:
    while name != top and name in above:
        name = above[name]
    return name == top


def _rank(finding: Finding) -> tuple[float, int, str]:
    return (-finding.certainty, URGENCY.index(finding.cause.urgency), finding.cause.id)


class _Steps:
    """Builds the chain of one rule down to readings."""

    def __init__(
        self,
        fired: Iterable[Rule],
        facts: Facts,
        concluding: Mapping[str, Sequence[Rule]],
        speaker: Speaker,
    ):
        self.fired = {rule.id for rule in fired}
        self.facts = facts
        self.concluding = concluding
        self.speaker = speaker

    def step(self, rule: Rule, strength: float = 1.0) -> FiredRule:
        """The rule with its facts, and below it the rules that concluded its signs."""
        says = {
            self.speaker.fact(part): None
            for condition in rule.when
            for part in parts(condition)
            if not isinstance(part, HasSign) and self.facts.holds(part) is True
        }
        below = tuple(
            self.step(lower)
            for sign in needed_signs(rule)
            if self.facts.signs.get(sign) is True
            for lower in self.concluding.get(sign, ())
            if lower.id in self.fired
        )
        says[rule.because] = None
        return FiredRule(rule, strength, tuple(says), below, self._open(rule))

    def _open(self, rule: Rule) -> tuple[str, ...]:
        """What would stop the rule, or the judging of its limits, and is not known."""
        unknown = [c for c in rule.unless if self.facts.holds(c) is None]
        for condition in rule.when:
            for part in parts(condition):
                limit = self.facts.limits.get(part.quantity) if isinstance(part, Is) else None
                if limit is not None and self.facts.holds(part) is True:
                    unknown += [c for c in limit.cannot_judge_when if self.facts.holds(c) is None]
        return tuple(dict.fromkeys(self.speaker.condition(condition) for condition in unknown))
