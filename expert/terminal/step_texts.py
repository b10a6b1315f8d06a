"""What is shown when a step is asked: what to do, where, what is expected, what we think."""

from __future__ import annotations

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Finding
from expert.inference.read_again import read_again
from expert.inference.sentences import first_up, value_text
from expert.knowledge.model import Quantity
from expert.procedure.active import Active
from expert.procedure.checklist import Step
from expert.procedure.closing import STATES
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.corrections import answer_of
from expert.procedure.offered import offered_from
from expert.procedure.runner import Runner
from expert.procedure.screens import LEARNING
from expert.procedure.search import TYPE as SEARCH
from expert.procedure.world import AS_FOUND
from expert.terminal.calls_and_members import call_lines, place_of, which_lines
from expert.terminal.clock_line import clock_line
from expert.terminal.commands import MEANING, letter
from expert.terminal.diagnosis_so_far import (
    diagnosis_on,
    diagnosis_so_far,
    in_short,
)
from expert.terminal.endings import endings
from expert.terminal.layout import Layout
from expert.terminal.listing import title_of
from expert.terminal.past import Past, item_lines
from expert.terminal.search_lines import end_lines, reading_lines, search_hints
from expert.terminal.standing import Standing, Standings
from expert.terminal.step_view import StepView
from expert.terminal.values import Values
from expert.units.kinds import Kind, unit_for

_TOLD = ("skip", "done", "acknowledge", "leave", "close")  # what Enter alone does not give again


class StepTexts:
    """The texts of the steps of a checklist on a subject; `depth` is that of the technician."""

    def __init__(self, runner: Runner, evaluator: Evaluator, *, depth: str = LEARNING):
        self.runner = runner
        self.rulebase = runner.rulebase
        self.depth = depth
        self.newer = depth == LEARNING
        self._evaluator = evaluator
        self._standings = Standings(runner, evaluator)
        self.past = Past(runner)

    def step(self, at: StepView) -> list[str]:
        """The whole step: where we are, what to do, what is expected."""
        if at.active.sample and not self._first_of_watch(at.active):
            return self.asked(at)
        return [*at.layout.text(self.where(at.active)), *self.asked(at)]

    def where(self, active: Active) -> str:
        """'Step 4 of 46, Before the gas (as found)'."""
        where = f"{place_of(active, self.runner)} ({self._stage(active)})"
        return f"Step {active.number} of {active.total}, {where}"

    def asked(self, at: StepView) -> list[str]:
        """What to do at a step and what is expected."""
        active, layout = at.active, at.layout
        if active.sample and not self._first_of_watch(active):
            return self._next_of_watch(at)
        lines = self._what(at)
        lines += self._clock(at)
        if quantity := self._quantity(active):
            if active.sample < 2:
                lines += self._where(quantity, active, layout)
                lines += self._as_found(at) + self.past.last(active, layout)
            lines += self._choices(quantity, layout, short=active.sample > 1)
        if self.newer and active.step.how and active.sample < 2 and not active.not_for:
            lines += layout.named("How", active.step.how)
        return lines + self._earlier(at)

    def _as_found(self, at: StepView) -> list[str]:
        """What was read before the change, where it is read again."""
        active = at.active
        if active.stage == AS_FOUND:
            return []
        found = [
            each
            for each in self.runner.readings(at.picture)
            if each.stage == AS_FOUND
            and (each.quantity, each.subject) == (active.quantity, active.subject)
        ]
        if not found:
            return []
        value = value_text(found[-1].value, self.runner.system, plus_minus=False)
        return at.layout.named("As found", value)

    def help(self, at: StepView) -> list[str]:
        """Why and how of a step, what is accepted, and what else may be typed."""
        active, layout = at.active, at.layout
        step = active.step
        lines = layout.named("Why", step.why or self._no_reason(active))
        if step.how:
            lines += layout.named("How", step.how)
        if quantity := self._quantity(active):
            lines += self._where(quantity, active, layout, note=True)
            for phrase, meaning in quantity.choices.items():
                if meaning:
                    lines += layout.named(phrase, meaning, 2)
        lines += self._clock(at)
        lines += layout.named("Answer", self.runner.expected(active))
        if active.searched:
            lines += search_hints(layout)
        for command, meaning in MEANING.items():
            lines += layout.listed(letter(command, active, self.rulebase), meaning, 2)
        return lines

    def standing(self, at: StepView) -> Standing:
        """What is known in the stage of a step; to be asked for before it is answered."""
        return self._standings.of(at.picture, at.active)

    def _not_read_again(self, at: StepView) -> list[Finding]:
        """What was found before a change and stays found until what decides it was read again."""
        active = at.active
        if active.stage == AS_FOUND:
            return []
        left = self.runner.evaluation(at.picture, active.stage, active.round, active.subject)
        before = self.runner.evaluation(at.picture, AS_FOUND, None, active.subject)
        still = {each.cause.id for each in left.findings}
        return [
            each
            for each in before.findings
            if each.cause.id not in still
            and not read_again(each, left, self.rulebase.certainty.threshold)
        ]

    def thinking(self, at: StepView, *, everything: bool = False, short: bool = False) -> list[str]:
        """What do we think so far, in the stage of the step: of its member, or of all.

        `short` fits a screen: what leads, why, what to read next.
        """
        active, where = at.active, (at.picture, at.active.stage, at.active.round)
        found = self.runner.evaluation(*where, active.subject)
        reasons = 3 if self.newer else 2
        stage = self._stage(active) + (f", {active.subject}" if active.subject else "")
        known = self.rulebase.cautions
        if short:
            on = () if active.subject else self.runner.found_on_members(*where)
            return in_short(found, stage, at.layout, self._not_read_again(at), on)
        lines = diagnosis_so_far(
            found, stage, at.layout, known, reasons=reasons, everything=everything
        )
        if active.subject:
            return lines
        members = self.runner.found_on_members(*where)
        return lines + diagnosis_on(members, at.layout, reasons=99 if everything else reasons)

    def label(self, active: Active) -> str:
        """The prompt: '12/46 psig> ', short enough for a small screen."""
        return f"{active.number}/{active.total} {self._hint(active)}> "

    def _hint(self, active: Active) -> str:
        if quantity := self._quantity(active):
            if set(quantity.choices) == {"yes", "no"}:
                return "y/n"
            if quantity.is_choice:
                return f"1-{len(quantity.choices)}"
            if quantity.kind is Kind.TEXT:
                return "words"
            return quantity.unit or unit_for(quantity.kind, self.runner.system).name or "number"
        hints = {
            "open": "1-3",
            "caution": "y/n",
            "sign": "name",
            "adjust": "what",
            "members": "which",
            "close": f"1-{len(STATES)}",
            "stop": "Enter" if active.again else "s",
        }
        return hints.get(active.step.type, "Enter")

    def _values(self, active: Active) -> Values:
        """Values against the limits of the subject, or of the member that a step is about."""
        limits = self._evaluator.member(active.subject).limits
        return Values(self.rulebase, limits, self.runner.system)

    def _quantity(self, active: Active) -> Quantity | None:
        return self.rulebase.quantities.get(active.quantity)

    def _stage(self, active: Active) -> str:
        return f"{active.stage}, round {active.round}" if active.round else active.stage

    def _first_of_watch(self, active: Active) -> bool:
        return active.quantity == next(iter((*active.step.quantities, active.step.until)), "")

    def _what(self, at: StepView) -> list[str]:
        active, layout, step = at.active, at.layout, at.active.step
        quantity = self._quantity(active)
        if step.type == "caution" and not active.quantity:
            return self._caution(step, layout)
        lines = layout.text(step.say) if step.say else []
        if step.type == SEARCH:
            return [*lines, *end_lines(self.runner, at.picture, active, layout)]
        if active.searched:
            lines += reading_lines(self.runner, at.picture, active, layout)
        if step.type == "stop":
            lines += layout.text(f"STOP: {step.text}")
            return lines + layout.typed(self.runner.expected(active))
        if quantity is not None and active.sample:
            message = f"Sample {active.sample} of at most {step.at_most}"
            lines = [*(lines if active.sample == 1 else []), *layout.text(message)]
            lines += layout.text(first_up(quantity.title))
        elif step.type == "show":
            now, values = self.standing(at), self._values(active)
            for name in step.quantities:
                named = self.rulebase.quantities[name]
                lines += values.shown(named, now, layout, only_odd=not self.newer)
        elif (item := self.runner.item(active)) is not None:
            lines += item_lines(item, layout)
        elif step.type == CLOSE:
            lines = [*layout.text(step.text), *endings(layout)]
        elif step.type == "think":
            lines += self.thinking(at, short=not self.newer)
        elif step.called is not None:
            lines = call_lines(step.called, layout, said=lines, not_for=active.not_for)
        elif step.type == "members":
            lines += which_lines(active, self.runner, layout)
        elif step.type == "clock":
            lines += layout.typed(f"Enter starts the clock '{step.clock}'.")
        elif not (step.say and step.type in ("adjust", "watch")):
            lines += layout.text(title_of(active, self.rulebase))
        if step.opens:
            lines += layout.named("To be put back later", step.opens)
        return lines

    def _caution(self, step: Step, layout: Layout) -> list[str]:
        caution = self.rulebase.cautions[step.text]
        lines = layout.text(step.say) if step.say else []
        lines += layout.text(f"CAUTION: {caution.title}")
        for sentence in caution.say:
            lines += layout.listed("-", sentence)
        return lines + layout.typed("Answer y or n.", caution.ask)

    def _where(
        self, quantity: Quantity, active: Active, layout: Layout, *, note: bool = False
    ) -> list[str]:
        """Where and with what it is taken, and what is expected there."""
        lines = layout.named("Where", quantity.where) if quantity.where else []
        if quantity.instrument:
            lines += layout.named("With", quantity.instrument)
        values = self._values(active)
        lines += values.accuracy(quantity, layout) if note else []
        if expected := values.expected(quantity):
            lines += layout.named("Expected", expected)
        limit = values.limits.get(quantity.id)
        if note and limit is not None and limit.note:
            lines += layout.named("Note", limit.note)
        return lines

    def _choices(self, quantity: Quantity, layout: Layout, *, short: bool) -> list[str]:
        lines: list[str] = []
        for number, (phrase, meaning) in enumerate(quantity.choices.items(), 1):
            message = f"{phrase}: {meaning}" if meaning and self.newer and not short else phrase
            lines += layout.choice(str(number), message)
        return lines

    def _next_of_watch(self, at: StepView) -> list[str]:
        """A value of a sample after its first: short, for it is asked again and again."""
        quantity = self.rulebase.quantities[at.active.quantity]
        lines = at.layout.text(first_up(quantity.title))
        if at.active.sample == 1:
            lines += self._where(quantity, at.active, at.layout)
        lines += self._choices(quantity, at.layout, short=at.active.sample > 1)
        return lines + self._earlier(at)

    def _earlier(self, at: StepView) -> list[str]:
        """What Enter alone gives, and the sample before."""
        lines: list[str] = []
        active = at.active
        if active.sample > 1:
            before = f"{active.step_key}#{active.sample - 1}.{active.quantity}"
            if (entry := at.picture.closed.get(before)) is not None:
                lines += at.layout.named("Last sample", answer_of(entry))
        earlier = at.picture.earlier.get(active.key) and self.runner.before(at.picture, active)
        if earlier is not None and earlier.kind in _TOLD:
            lines += at.layout.named("Before", answer_of(earlier))
        elif default := self.runner.default(at.picture, active, at.now):
            ticking = earlier is None and active.step.type == "time"
            message = f"the clock's time, now {default}" if ticking else default
            lines += at.layout.alone(message + offered_from(self.runner.before(at.picture, active)))
        return lines

    def _clock(self, at: StepView) -> list[str]:
        running = clock_line(self.runner, at.picture, at.active, at.now, words=True)
        return at.layout.named("Clock", running) if running else []

    def _no_reason(self, active: Active) -> str:
        if active.step.type == "caution" and not active.quantity:
            return f"source of the caution: {self.rulebase.cautions[active.step.text].source}"
        return "no reason is written for this step."
