"""What was found on one subject, what was put right on it, and what still needs somebody."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from expert.inference.evaluation_model import Doubt, Evaluation, Finding, Hidden, Known
from expert.inference.read_again import read_again
from expert.inference.sentences import band_text, first_up, value_text
from expert.knowledge.model import Limit, Rulebase
from expert.knowledge.site import Subject
from expert.report.stages import BOTH, Stage, word_of


@dataclass(frozen=True)
class MeasuredChange:
    """A quantity measured before and after."""

    title: str
    before: str
    before_state: str
    after: str
    after_state: str
    limit: str


FOUND = "as found; nothing measured again"
STILL = "still shows after the change"
UNPROVEN = "not measured again, so not proven to be put right"
STANDINGS = (FOUND, STILL, UNPROVEN)


@dataclass(frozen=True)
class Attention:
    """A finding that still needs somebody, and in what way it stands (one of STANDINGS)."""

    finding: Finding
    standing: str


@dataclass(frozen=True)
class Part:
    """The stages of one subject: the job's own, or a member of its rack."""

    subject: Subject
    member: bool
    stages: tuple[Stage, ...]
    rulebase: Rulebase
    limits: Mapping[str, Limit]
    system: str = BOTH

    @property
    def found(self) -> Stage | None:
        """Everything before any change."""
        return next((stage for stage in self.stages if not stage.left), None)

    @property
    def left(self) -> Stage | None:
        """The last round after a change."""
        return next((stage for stage in reversed(self.stages) if stage.left), None)

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """Readings to take again before acting; on a member, only those that were taken on it."""
        if not self.stages:
            return ()
        last = self.stages[-1].evaluation
        return tuple(doubt for doubt in last.doubts if self._own(last.known[doubt.quantity.id]))

    @property
    def hidden(self) -> tuple[Hidden, ...]:
        """What the last readings cannot tell; on a member, only what is to be read on it."""
        last = self.stages[-1].evaluation if self.stages else None
        return tuple(
            hidden
            for hidden in (last.hidden if last else ())
            if not self.member or any(each.subject == self.subject.kind for each in hidden.read)
        )

    def _own(self, known: Known) -> bool:
        return not self.member or any(r.subject == self.subject.id for r in known.readings)

    @property
    def wrong(self) -> tuple[Finding, ...]:
        """What was found before any change."""
        return self.found.findings if self.found else ()

    @property
    def attention(self) -> tuple[Attention, ...]:
        """Findings that still stand, or that were not measured again."""
        if self.left is None:
            return tuple(Attention(finding, FOUND) for finding in self.wrong)
        open_ = [Attention(finding, STILL) for finding in self.left.findings]
        open_ += [
            Attention(finding, UNPROVEN)
            for finding in self.wrong
            if finding.cause.id not in self._after and not self._measured_again(finding)
        ]
        return tuple(open_)

    @property
    def put_right(self) -> tuple[Finding, ...]:
        """Findings that were measured again and no longer show."""
        return tuple(
            finding
            for finding in self.wrong
            if self.left is not None
            and finding.cause.id not in self._after
            and self._measured_again(finding)
        )

    @property
    def _after(self) -> set[str]:
        """The causes that still show after the change."""
        return {finding.cause.id for finding in self.left.findings} if self.left else set()

    def _measured_again(self, finding: Finding) -> bool:
        """Whether what decided a finding was read again: what was not could not show it alone."""
        assert self.left is not None
        return read_again(finding, self.left.evaluation, self.rulebase.certainty.threshold)

    @property
    def changes(self) -> tuple[MeasuredChange, ...]:
        """What was measured both before and after, readings and derived values."""
        if self.found is None or self.left is None:
            return ()
        before, after = self.found.evaluation, self.left.evaluation
        return tuple(
            self._change(name, before, after)
            for name, known in after.known.items()
            if name in before.known and known.measured and not known.quantity.carried_over
        )

    def _change(self, name: str, before: Evaluation, after: Evaluation) -> MeasuredChange:
        quantity, limit = after.known[name].quantity, self.limits.get(name)
        return MeasuredChange(
            first_up(quantity.title),
            value_text(before.known[name].value, self.system, plus_minus=False),
            word_of(before.states[name]),
            value_text(after.known[name].value, self.system, plus_minus=False),
            word_of(after.states[name]),
            band_text(limit, quantity, self.system) if limit else "",
        )

    @property
    def watch_for(self) -> tuple[str, ...]:
        """What to keep an eye on: what may come back or follow, and values too close to call."""
        lines: dict[str, None] = {}
        for finding in self.put_right:
            lines[f"That '{finding.cause.title}' does not come back."] = None
        for item in self.attention:
            for effect in item.finding.cause.leads_to:
                title = self.rulebase.causes[effect].title
                lines[f"{title}: it can follow from '{item.finding.cause.title}'."] = None
        last = self.stages[-1] if self.stages else None
        for state in last.evaluation.states.values() if last else ():
            if state.word == "too close to call" and last is not None:
                known = last.evaluation.known[state.quantity]
                if self.member and not last.read_here(known):
                    continue
                value = value_text(known.value, self.system)
                title = first_up(known.quantity.title)
                lines[f"{title}: {value} is too close to a limit to call."] = None
        return tuple(lines)
