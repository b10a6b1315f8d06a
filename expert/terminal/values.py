"""Values, limits and states as lines: what was read, and what was computed from it."""

from __future__ import annotations

from collections.abc import Mapping

from expert.inference.evaluation_model import Known, State
from expert.inference.sentences import band_text, first_up, limit_text, value_text
from expert.knowledge.model import Limit, Quantity, Rulebase
from expert.procedure.entries import Entry
from expert.procedure.picture import reading_of
from expert.terminal.layout import Layout
from expert.terminal.standing import Standing
from expert.units.measure import Measure, difference_kind, format_measure, format_value

OFF_NORMAL = ("very low", "low", "high", "very high")


class Values:
    """Tells values in a unit system against the limits chosen for a subject."""

    def __init__(self, rulebase: Rulebase, limits: Mapping[str, Limit], system: str):
        self.rulebase = rulebase
        self.limits = limits
        self.system = system

    def expected(self, quantity: Quantity) -> str:
        """The normal band here with its source; nothing where no limit holds."""
        limit = self.limits.get(quantity.id)
        return limit_text(limit, quantity, self.system) if limit is not None else ""

    def accuracy(self, quantity: Quantity, layout: Layout) -> list[str]:
        """How true a reading is when it is taken as usual, and which ways can be said instead."""
        if quantity.accuracy is None:
            return []
        spread = format_value(difference_kind(quantity.kind), quantity.accuracy, self.system)
        others = [each.way.title for each in quantity.ways if each.way != quantity.usual_way]
        said = f"; where it is read otherwise type it behind: by {', by '.join(others)}"
        return layout.named("True to", spread + (said if others else ""))

    def of(self, value: Measure | str) -> str:
        """A value with its uncertainty in the person's units."""
        return value_text(value, self.system)

    def both(self, value: Measure | str) -> str:
        """A value in the person's units, and in the others behind it."""
        if isinstance(value, str):
            return value
        other = format_measure(value, "si" if self.system == "us" else "us", plus_minus=False)
        bare = format_measure(value, self.system, plus_minus=False)
        shown = format_measure(value, self.system)
        return shown if bare == other else f"{shown} ({other})"

    def answered(
        self, entry: Entry, after: Standing, layout: Layout, *, name: str = "Kept"
    ) -> list[str]:
        """What an answer was taken as, so that a slip is seen at once, and its state."""
        reading = reading_of(entry)
        state = after.states.get(reading.quantity)
        judged = state is not None and state.limit is not None and state.word != "unknown"
        word = f", {_word(state)}" if state is not None and judged else ""
        by = f", by {self.rulebase.ways[reading.way].title}" if reading.way else ""
        return layout.named(name, f"{self.both(reading.value)}{by}{word}")

    def changed(
        self, before: Standing, after: Standing, layout: Layout, *, only_odd: bool = False
    ) -> list[str]:
        """The computed values that are new or different, each with its state; or only those that
        are off normal, or were."""
        lines: list[str] = []
        for name, known in after.known.items():
            if not known.derived:
                continue
            state, old = after.states[name], before.known.get(name)
            was_odd = old is not None and before.states[name].word in OFF_NORMAL
            if only_odd and state.word not in OFF_NORMAL and not was_odd:
                continue
            if old is None:
                lines += self.computed(known, state, layout)
            elif old.value != known.value or before.states[name].word != state.word:
                lines += self._again(known, state, layout)
        return lines

    def computed(self, known: Known, state: State, layout: Layout) -> list[str]:
        """One computed value: '= Title: value. LOW; normal here is ...'."""
        message = f"= {first_up(known.quantity.title)}: {self.of(known.value)}"
        judged = self.judged(state)
        lines = layout.text(f"{message}. {first_up(judged)}" if judged else message, hang=2)
        return lines + self._warning(known, layout)

    def _again(self, known: Known, state: State, layout: Layout) -> list[str]:
        """A computed value that was shown before, without its limit."""
        word = f", {_word(state)}" if state.limit is not None else ""
        message = f"= {first_up(known.quantity.title)}: {self.of(known.value)}{word}"
        return layout.text(message, hang=2) + self._warning(known, layout)

    def _warning(self, known: Known, layout: Layout) -> list[str]:
        return layout.named("Warning", known.warning, 2) if known.warning else []

    def judged(self, state: State) -> str:
        """'LOW; normal here is 15.0 to 20.0 psi (common practice)'; nothing without a limit."""
        if state.limit is None:
            return ""
        quantity = self.rulebase.quantities[state.quantity]
        normal = limit_text(state.limit, quantity, self.system)
        if state.word == "normal":
            return f"normal: {normal}"
        return f"{_word(state)}; normal here is {normal}"

    def shown(
        self, quantity: Quantity, now: Standing, layout: Layout, *, only_odd: bool = False
    ) -> list[str]:
        """A value of a show step with formula, inputs and limit, or why it is not known; one
        that is normal without these where only what is odd is told."""
        known = now.known.get(quantity.id)
        if known is None:
            missing = [each for each in now.missing if each.quantity == quantity.id]
            why = missing[0].why if missing else "not enough is known yet"
            lines = layout.text(f"= {first_up(quantity.title)}: not known; {why}", hang=2)
            limit = self.limits.get(quantity.id)
            if limit is not None:
                lines += layout.named("normal", band_text(limit, quantity, self.system), 2)
            return lines
        if only_odd and now.states[quantity.id].word == "normal":
            return self._again(known, now.states[quantity.id], layout)
        lines = self.computed(known, now.states[quantity.id], layout)
        if known.formula:
            lines += layout.named("how", known.formula, 2)
            for taken in known.inputs:
                lines += layout.listed("-", f"{taken.title} {self.of(taken.value)}", 4)
        return lines


def _word(state: State) -> str:
    """The state in a word that cannot be overlooked where it is off normal."""
    if state.word == "cannot judge":
        return "cannot be judged now"
    return state.word.upper() if state.word in OFF_NORMAL else state.word
