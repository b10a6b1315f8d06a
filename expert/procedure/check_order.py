"""Checks what must come before what: clocks, cautions, what is opened, what conditions know."""

from __future__ import annotations

from dataclasses import dataclass, field

from expert.knowledge.conditions import quantities_in
from expert.knowledge.model import Rulebase
from expert.knowledge.reader import Reader
from expert.procedure.check_checklist import MEASURING
from expert.procedure.checklist import Checklist, Phase, Step


@dataclass
class _Order:
    """What has come so far. `cautions` holds steps; `within` is the phase for repeated ones."""

    rulebase: Rulebase
    reader: Reader
    clocks: set[str] = field(default_factory=set)
    asked: set[str] = field(default_factory=set)
    cautions: list[tuple[Step, Phase]] = field(default_factory=list)
    opened: list[tuple[Step, Phase]] = field(default_factory=list)

    def step(self, step: Step, phase: Phase) -> None:
        for condition in (*step.when, *step.unless):
            for name in quantities_in(condition):
                if name in self.rulebase.quantities and not self.can_be_known(name):
                    self.reader.problem(
                        "not-known-yet", f"'{name}' cannot be known yet at '{step.id}'.",
                        condition.place, "Ask it in a step above, or move this step down.",
                    )  # fmt: skip
        if step.clock and step.type != "clock" and step.clock not in self.clocks:
            message = f"No step above '{step.id}' starts the clock '{step.clock}'."
            hint = f"Known here: {', '.join(sorted(self.clocks))}." if self.clocks else ""
            self.reader.problem("clock-not-started", message, step.place, hint)
        if step.type in MEASURING:
            self.acknowledged(step, phase)
            self.asked.update((*step.quantities, *filter(None, (step.until,))))
        if step.type == "clock":
            self.clocks.add(step.clock)
        elif step.type == "caution":
            self.cautions.append((step, phase))
        elif step.type == "restore":
            self.restore(step, phase)
        if step.opens:
            self.opened.append((step, phase))

    def can_be_known(self, name: str, above: frozenset[str] = frozenset()) -> bool:
        """Whether the site file, a step above or a computation can give a quantity."""
        quantity = self.rulebase.quantities.get(name)
        if quantity is None or name in above:
            return False
        if quantity.given or name in self.asked:
            return True
        if quantity.derivation is None:
            return False
        inputs = quantity.derivation.inputs.values()
        return all(self.can_be_known(each.quantity, above | {name}) for each in inputs)

    def acknowledged(self, step: Step, phase: Phase) -> None:
        """Each caution of what is measured was answered above, under no narrower conditions."""
        names = dict.fromkeys(
            caution
            for name in (*step.quantities, step.until)
            if name in self.rulebase.quantities
            for caution in self.rulebase.quantities[name].cautions
        )
        for name in names:
            if not any(
                caution.text == name
                and {*map(str, caution.when)} <= {*map(str, step.when)}
                and {*map(str, caution.unless)} <= {*map(str, step.unless)}
                and (within.repeat is None or within is phase)
                for caution, within in self.cautions
            ):
                self.reader.problem(
                    "caution-missing",
                    f"'{step.id}' needs the caution '{name}' to be answered before.",
                    step.place, f"Put '- caution: {name}' above it.",
                )  # fmt: skip

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
            if phase.repeat is None or each[1] is phase:
                self.opened.remove(each)


def check_order(checklist: Checklist, rulebase: Rulebase, reader: Reader) -> None:
    """Adds a problem for everything that comes too early, too late or never."""
    order = _Order(rulebase, reader)
    for phase in checklist.phases:
        if phase.repeat is not None:
            order.asked.add(phase.repeat.ask)
        for step in phase.steps:
            order.step(step, phase)
    for step, _ in order.opened:
        reader.problem(
            "never-restored", f"'{step.opens}' is never put back.", step.place,
            f"Add '- restore: {step.opens}' below, outside of phases that may not be run.",
        )  # fmt: skip
