"""Checks what must come before what: clocks, cautions, what is opened, what conditions know."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import field

from expert.knowledge.conditions import Condition, Over, parts, quantities_in
from expert.knowledge.model import Rulebase
from expert.knowledge.negate import negated
from expert.knowledge.reader import Reader
from expert.made_when_used import dataclass
from expert.procedure.checklist import MEASURING, Checklist, Phase, Step


@dataclass
class _StepsSoFar:
    """What has come so far: each step with its phase, for it may not count outside of that.

    `asked` holds quantities by the kind of member they are asked of, '' for the own subject.
    """

    rulebase: Rulebase
    reader: Reader
    clocks: list[tuple[Step, Phase]] = field(default_factory=list)
    asked: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    cautions: list[tuple[Step, Phase]] = field(default_factory=list)
    opened: list[tuple[Step, Phase]] = field(default_factory=list)

    def step(self, step: Step, phase: Phase) -> None:
        for condition in (*step.when, *step.unless, *step.passed):
            self.condition(condition, step, phase)
        if step.clock and step.type != "clock":
            self.started(step, phase)
        self.acknowledged(step, phase)
        if step.type in MEASURING:
            self.asked[phase.for_each].update(_asked(step))
        for condition in step.short:
            self.condition(condition, step, phase)
        if step.called is not None:
            for inner in step.called.all_phases:
                self.begin(inner)
                for each in inner.steps:
                    self.asked[inner.for_each].update(_asked(each))
        if step.type == "clock":
            self.clocks.append((step, phase))
        elif step.type == "caution":
            self.cautions.append((step, phase))
        elif step.type == "restore":
            self.restore(step, phase)
        if step.opens:
            self.opened.append((step, phase))

    def begin(self, phase: Phase) -> None:
        """The question that a repeated phase asks itself."""
        if phase.repeat is not None:
            self.asked[""].add(phase.repeat.ask)

    def condition(self, condition: Condition, step: Step, phase: Phase) -> None:
        """Every quantity it looks at can be known, on the own subject or on members."""
        looked = [(name, phase.for_each) for name in quantities_in(condition)]
        for part in parts(condition):
            if isinstance(part, Over):
                looked += [(n, part.kind) for each in part.members for n in quantities_in(each)]
        for name, kind in looked:
            if name in self.rulebase.quantities and not self.can_be_known(name, kind):
                self.reader.problem(
                    "not-known-yet", f"'{name}' cannot be known yet at '{step.id}'.",
                    condition.place, "Ask it in a step above, or move this step down.",
                )  # fmt: skip

    def started(self, step: Step, phase: Phase) -> None:
        """The clock that a step reads was started above it."""
        known = {s.clock for s, within in self.clocks if not within.for_each or within is phase}
        if step.clock not in known:
            message = f"No step above '{step.id}' starts the clock '{step.clock}'."
            hint = f"Known here: {', '.join(sorted(known))}." if known else ""
            self.reader.problem("clock-not-started", message, step.place, hint)

    def can_be_known(self, name: str, kind: str, above: frozenset[str] = frozenset()) -> bool:
        """Whether the site file, a step above or a computation can give a quantity."""
        quantity = self.rulebase.quantities.get(name)
        if quantity is None or name in above:
            return False
        if quantity.given or name in self.asked[""] | self.asked[kind]:
            return True
        if quantity.derivation is None:
            return False
        inputs = quantity.derivation.inputs.values()
        return all(self.can_be_known(each.quantity, kind, above | {name}) for each in inputs)

    def acknowledged(self, step: Step, phase: Phase) -> None:
        """Each caution of what is measured or done was answered above; of what is done in a
        phase that repeats, in each of its rounds."""
        measured = (
            caution
            for name in _asked(step)
            if name in self.rulebase.quantities
            for caution in self.rulebase.quantities[name].cautions
        )
        done = {name for work in step.does for name in self.rulebase.cautions_for(work)}
        for name in dict.fromkeys((*measured, *sorted(done))):
            again = name in done and phase.repeat is not None
            if not all(self.answered(name, run, phase, again) for run in self.run_with(step)):
                here = " in this phase, for it repeats" if again else ""
                self.reader.problem(
                    "caution-missing",
                    f"'{step.id}' needs the caution '{name}' to be answered before{here}.",
                    step.place, f"Put '- caution: {name}' above it.",
                )  # fmt: skip

    def answered(self, name: str, step: Step, phase: Phase, again: bool) -> bool:
        """Whether a caution stands above, under no narrower conditions than those of a step."""
        return any(
            caution.text == name
            and {*map(str, caution.when)} <= {*map(str, step.when)}
            and {*map(str, caution.unless)} <= {*map(str, step.unless), *_not_when(step)}
            and caution.applies in ({}, step.applies)
            and caution.not_for in ({}, step.not_for)
            and (within is phase or (within.once and not again))
            for caution, within in self.cautions
        )

    def run_with(self, step: Step) -> list[Step]:
        """The steps whose conditions decide whether a step is run: for a restore its openers."""
        if step.type != "restore":
            return [step]
        return [opener for opener, _ in self.opened if opener.opens == step.text]

    def restore(self, step: Step, phase: Phase) -> None:
        if step.when or step.unless:
            self.reader.problem(
                "conditional-restore", f"'{step.id}' must not depend on a condition.", step.place,
                "It appears by itself when what it names was opened.",
            )  # fmt: skip
        openers = [(s, p) for s, p in self.opened if s.opens == step.text]
        if not openers:
            texts = ", ".join(f"'{s.opens}'" for s, _ in self.opened)
            self.reader.problem(
                "nothing-to-restore", f"Nothing above opens '{step.text}'.", step.place,
                f"Opened above and not put back: {texts}." if texts else "",
            )  # fmt: skip
        for each in openers:
            if each[1] is phase or (phase.once and not each[1].for_each):
                self.opened.remove(each)


def _not_when(step: Step) -> Iterator[str]:
    """Where a step is run only when something is known to be so, its opposite is not so."""
    for condition in step.when:
        if (opposite := negated(condition)) is not None:
            yield str(opposite)


def _asked(step: Step) -> tuple[str, ...]:
    """The quantities that are known after a step, if it is answered."""
    return (*step.quantities, *filter(None, (step.until,))) if step.type in MEASURING else ()


def check_order(checklist: Checklist, rulebase: Rulebase, reader: Reader) -> None:
    """Adds a problem for everything that comes too early, too late or never."""
    order = _StepsSoFar(rulebase, reader)
    for phase in checklist.phases:
        order.begin(phase)
        for step in phase.steps:
            order.step(step, phase)
    for step, _ in order.opened:
        reader.problem(
            "never-restored", f"'{step.opens}' is never put back.", step.place,
            f"Add '- restore: {step.opens}' below, where it is run whenever this step is.",
        )  # fmt: skip
