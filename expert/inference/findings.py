"""From the rules that fired to ranked findings with their chains of reasons."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from expert.inference.advice import advise
from expert.inference.certainty import combined
from expert.inference.evaluation_model import Finding, FiredRule, Fit
from expert.inference.influences import Cover, Influences
from expert.inference.sentences import Speaker
from expert.inference.truth import Facts
from expert.knowledge.conditions import HasSign, Is, parts, quantities_in
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Cause, Rule, Rulebase
from expert.knowledge.plants import cautions_of

URGENCY = ("safety", "food", "leak", "equipment", "energy")
SEEN = 0.75  # added where the part was seen and the plant does not contradict (own choice)
IN_WORDS = 0.7  # of the strength where a number is known only as low or high (own choice)
_LIKELY = 0.5  # an explanation at least this certain takes its effects under it,
_SURER = 0.3  # unless the effect is surer by more than this (own choices);
_NOT_LISTED = 0.2  # or by this where only states say so: two causes may do the same to the plant


def certainties(
    fired: Sequence[Rule], rulebase: Rulebase, influences: Influences
) -> dict[str, float]:
    """The certainty (0 to 1) of each cause that some rules find: supported, above the threshold.

    How a cause fits the states of the plant counts as one more piece of evidence.
    """
    factors = _factors(fired, Strengths(influences.facts, rulebase))
    supported = {name for rule in fired for name in rule.evidence_for}
    seen = {name for rule in fired if rule.seen for name in rule.evidence_for}
    found = {}
    for name, factor in factors.items():
        if name in supported and influences.can_be(rulebase.causes[name]):
            cover = influences.cover(rulebase.causes[name])
            found[name] = combined(factor + beside_rules(cover, name in seen))
    least = rulebase.certainty.threshold
    return {cause: sure for cause, sure in found.items() if round(sure, 4) >= least}


def weighed(fired: Iterable[Rule], rulebase: Rulebase) -> dict[str, float]:
    """What some rules alone say of each cause: for it up to 1, against it down to -1."""
    factors = _factors(fired, Strengths(None, rulebase))
    return {cause: combined(each) for cause, each in factors.items()}


def _factors(fired: Iterable[Rule], strength: Strengths) -> dict[str, list[float]]:
    """The evidence of some rules by cause, below zero where it speaks against it."""
    factors: dict[str, list[float]] = {}
    for rule in fired:
        for sign, evidence in ((1, rule.evidence_for), (-1, rule.evidence_against)):
            for cause, named in evidence.items():
                factors.setdefault(cause, []).append(sign * strength.of(rule, named))
    return factors


def beside_rules(cover: Cover | None, seen: bool) -> list[float]:
    """What counts beside the evidence of the rules: the fit, and that the part was seen.

    What was seen is so, whatever else is odd; only what it must bring and does not speaks against.
    """
    if not seen:
        return [cover.factor] if cover else []
    if cover is not None and cover.against:
        return [cover.factor]
    return [SEEN] + ([max(cover.factor, 0.0)] if cover else [])


def findings_of(
    fired: Sequence[Rule], rulebase: Rulebase, influences: Influences
) -> dict[str, Finding]:
    """The findings of some rules that fired, without sentences."""
    words = rulebase.certainty
    return {
        name: Finding(rulebase.causes[name], round(sure, 4), words.say(sure), ())
        for name, sure in certainties(fired, rulebase, influences).items()
    }


def find_causes(
    fired: Sequence[Rule],
    facts: Facts,
    concluding: Mapping[str, Sequence[Rule]],
    speaker: Speaker,
    influences: Influences,
    on_plant: Collection[Caution] = (),
) -> tuple[Finding, ...]:
    """Causes at or above the threshold, best first; effects stand under their cause.

    `on_plant` are the cautions that belong to the plant.
    """
    steps = _Steps(fired, facts, concluding, speaker)
    strength = Strengths(facts, speaker.rulebase)
    findings: dict[str, Finding] = {}
    supporting: dict[str, list[Rule]] = {}
    for rule in fired:
        for name in rule.evidence_for:
            supporting.setdefault(name, []).append(rule)
    for cause in speaker.rulebase.causes.values():
        if cause.id not in supporting or not influences.can_be(cause):
            continue
        opposing = [rule for rule in fired if cause.id in rule.evidence_against]
        finding = _finding(cause, supporting[cause.id], opposing, steps, strength, influences)
        finding = replace(finding, cautions=cautions_of(cause, on_plant, speaker.rulebase))
        if finding.certainty >= speaker.rulebase.certainty.threshold:
            findings[cause.id] = finding
    return nest(findings, influences)


def _finding(
    cause: Cause,
    supporting: Sequence[Rule],
    opposing: Sequence[Rule],
    steps: _Steps,
    strength: Strengths,
    influences: Influences,
) -> Finding:
    speaker = steps.speaker
    scale = speaker.rulebase.certainty
    evidence = [
        steps.step(rule, strength.of(rule, rule.evidence_for[cause.id])) for rule in supporting
    ]
    against = [
        steps.step(rule, strength.of(rule, rule.evidence_against[cause.id])) for rule in opposing
    ]
    cover = influences.cover(cause)
    weights = [s.weight for s in evidence] + [-s.weight for s in against]
    seen = any(rule.seen for rule in supporting)
    certainty = combined(weights + beside_rules(cover, seen))
    do, held_back = advise(cause, steps.facts, speaker)
    open_questions = dict.fromkeys(question for step in evidence for question in _open_below(step))
    return Finding(
        cause=cause,
        certainty=round(certainty, 4),
        words=scale.say(certainty),
        evidence=tuple(sorted(evidence, key=lambda step: -step.weight)),
        against=tuple(sorted(against, key=lambda step: -step.weight)),
        open=tuple(open_questions),
        fit=influences.fit(cover) if cover else Fit(),
        do=do,
        held_back=held_back,
    )


def _open_below(step: FiredRule) -> tuple[str, ...]:
    """What is open about a rule and about the rules that concluded its signs."""
    return step.open + tuple(question for lower in step.rests_on for question in _open_below(lower))


def nest(
    findings: Mapping[str, Finding], influences: Influences | None = None
) -> tuple[Finding, ...]:
    """Each effect under the most certain finding that explains it; no circles.

    What is never a cause of its own stands under any finding that brings it.
    """
    above: dict[str, str] = {}
    ranked = sorted(findings.values(), key=_rank)

    def explains(finding: Finding, effect: Finding) -> bool:
        listed = effect.cause.id in finding.cause.leads_to
        surer = _SURER if listed else _NOT_LISTED
        least = max(min(_LIKELY, effect.certainty), effect.certainty - surer)
        if not effect.cause.symptom and finding.certainty < least:
            return False
        return listed or bool(influences and influences.brings(finding.cause, effect.cause))

    for effect in ranked:
        surest = next(
            (
                finding
                for finding in ranked
                if explains(finding, effect)
                and not _reaches(effect.cause.id, finding.cause.id, above)
            ),
            None,
        )
        if surest is not None:
            above[effect.cause.id] = surest.cause.id

    def grown(finding: Finding) -> Finding:
        effects = tuple(grown(f) for f in ranked if above.get(f.cause.id) == finding.cause.id)
        return replace(finding, effects=effects)

    top = (finding for finding in ranked if finding.cause.id not in above)
    return tuple(grown(finding) for finding in sorted(top, key=_shown_before))


def _reaches(top: str, name: str, above: Mapping[str, str]) -> bool:
    while name != top and name in above:
        name = above[name]
    return name == top


def _rank(finding: Finding) -> tuple[float, int, str]:
    return (-finding.certainty, URGENCY.index(finding.cause.urgency), finding.cause.id)


def _shown_before(finding: Finding) -> tuple[float, int, str]:
    """What is only ever an effect comes before a cause only where it is surer by a margin."""
    sure = finding.certainty - (_SURER if finding.cause.symptom else 0.0)
    return (-round(sure, 4), URGENCY.index(finding.cause.urgency), finding.cause.id)


class Strengths:
    """How much a rule's evidence counts: less where it rests on a number known only in words."""

    def __init__(self, facts: Facts | None, rulebase: Rulebase) -> None:
        self._scale = rulebase.certainty.strengths
        known = facts.known.values() if facts else ()
        self._in_words = {each.quantity.id for each in known if each.in_words}

    def of(self, rule: Rule, strength: str) -> float:
        """The strength (0 to 1) of a rule's evidence."""
        full = self._scale[strength]
        if not self._in_words:
            return full
        rests_on = {name for c in rule.when for part in parts(c) for name in quantities_in(part)}
        return IN_WORDS * full if rests_on & self._in_words else full


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
            for sign in rule.needed_signs
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
