"""Readings drawn at random for the demonstration store, to hold the column judge to the engine.

Numbers lie around the edges of their limits, with and without a spread; some are known only in
words; some are series; circuits and machines are read beside the rack, as found and as left.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from random import Random

from expert.columns.stage_verdict import judged_causes, verdict_of
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.site import Site, Subject
from expert.procedure.world import AS_FOUND, AS_LEFT
from expert.units.kinds import Kind
from expert.units.measure import Measure

Readings = tuple[Reading, ...]


@dataclass(frozen=True)
class DrawnJob:
    """The readings of a job on a subject; `left` is None where nothing was changed."""

    subject: str
    found: Readings
    left: Readings | None


class DrawnJobs:
    """Draws jobs on the subjects of a site."""

    def __init__(self, rulebase: Rulebase, site: Site, seed: int) -> None:
        self._chance = Random(seed)
        self._rulebase = rulebase
        self._site = site
        self._subjects = [each for each in site.subjects.values() if each.kind != "site"]
        self._edges: dict[str, list[float]] = {}
        for limit in rulebase.limits:
            edges = (limit.very_low, limit.low, limit.high, limit.very_high)
            found = self._edges.setdefault(limit.quantity, [])
            found += [each for each in edges if each is not None]

    def job(self) -> DrawnJob:
        """A job on any subject, with few or many readings."""
        chance = self._chance
        subject = chance.choice(self._subjects)
        found = self._readings(subject, AS_FOUND)
        left = self._readings(subject, AS_LEFT) if chance.random() < 0.4 else None
        return DrawnJob(subject.id, found, left)

    def _readings(self, subject: Subject, stage: str) -> Readings:
        chance = self._chance
        found: list[Reading] = []
        for on in [subject, *self._members(subject)]:
            wanted = [each for each in self._rulebase.quantities.values() if _belongs(each, on)]
            share = chance.choice((0.03, 0.1, 0.3, 0.6))
            for quantity in wanted:
                if chance.random() < share:
                    found += self._read(quantity, "" if on is subject else on.id, stage)
        chance.shuffle(found)
        return tuple(found)

    def _members(self, subject: Subject) -> Iterable[Subject]:
        members = self._site.members(subject)
        if self._chance.random() < 0.5 or not members:
            return ()
        count = self._chance.randint(1, min(6, len(members)))
        chosen = self._chance.sample(members, count)
        return [each for each in chosen if each.id != subject.id]

    def _read(self, quantity: Quantity, on: str, stage: str) -> list[Reading]:
        chance = self._chance
        times = chance.randint(2, 4) if chance.random() < 0.08 else 1
        clock = times > 1 and chance.random() < 0.7
        return [
            Reading(
                quantity.id, self._value(quantity), stage=stage, round=int(stage == AS_LEFT),
                seconds=300.0 * n if clock else None, subject=on,
            )
            for n in range(times)
        ]  # fmt: skip

    def _value(self, quantity: Quantity) -> Measure | str:
        chance = self._chance
        if quantity.kind is Kind.TEXT:
            return "something"
        if quantity.is_choice:
            return chance.choice(tuple(quantity.choices))
        if chance.random() < 0.04:
            return chance.choice(("very low", "low", "normal", "high", "very high"))
        edges = self._edges.get(quantity.id) or [
            each for each in (quantity.unusual_below, quantity.unusual_above,
                              quantity.refuse_below, quantity.refuse_above) if each is not None
        ] or [1.0]  # fmt: skip
        edge = chance.choice(edges)
        wide = (max(edges) - min(edges)) or abs(edge) * 0.2 or 1.0
        value = edge if chance.random() < 0.1 else chance.gauss(edge, 0.5 * wide)
        spread = quantity.accuracy if chance.random() < 0.7 else None
        return Measure(quantity.kind, value, spread)


def _belongs(quantity: Quantity, on: Subject) -> bool:
    if on.kind == "rack":
        return quantity.subject in ("site", "rack")
    return quantity.subject in (on.kind, "site", "rack")


def told_by_engine(evaluator: Evaluator, job: DrawnJob) -> dict[tuple[str, str], object]:
    """By stage and subject the findings with their certainty, and what is held back."""
    told: dict[tuple[str, str], object] = {}
    stages = [(AS_FOUND, job.found, None)]
    if job.left is not None:
        stages.append((AS_LEFT, job.left, job.found))
    for stage, readings, found in stages:
        whole = evaluator.evaluate(readings, found)
        verdict = verdict_of(stage, whole)
        told[stage, job.subject] = verdict.found, verdict.held_back
        read = {each.subject for each in readings}
        for member in evaluator.members:
            if member.id in read and member.id != job.subject:
                beyond = evaluator.member(member.id).evaluate(readings, found).beyond(whole)
                told[stage, member.id] = judged_causes(beyond), ()
    return told
