"""A front end that lets the plant of an exercise answer where a checklist asks for a reading.

The dialogue of a real job runs on it unchanged: what is typed in the place of a value, `read`, is
taken to the plant, and what the plant says goes on as if it had been typed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from expert.errors import ReadingError
from expert.practice.attempt import NOT_HERE, Attempt, NeedsCaution
from expert.practice.opening import call_of
from expert.practice.setting_model import BEGINS
from expert.practice.typed import action_named, cause_named, minutes_named, real_words
from expert.procedure.entries import Entry
from expert.procedure.session import Session
from expert.terminal.front import Front, LeaveError, Question
from expert.terminal.layout import Layout
from expert.terminal.practice_pictures import curve_lines, rack_lines
from expert.terminal.practice_texts import (
    caution_lines,
    clock_text,
    done_lines,
    minutes_text,
    stopped_lines,
)
from expert.terminal.side_questions import WHY_NOT

READ = ("read", "r")
OWN = ("do", "cause", "rack", "curve", "call", "wait", "defrost", "end")
WITH_MORE = {"do": True, "cause": True, "wait": None}  # a text behind it: needed, or as one likes
HINT = (
    "Type read where a reading is asked, and the plant answers. do ACTION, cause NAME, rack, "
    "curve, call, defrost and wait 5 min work here too; end looks back."
)
_ON_THE_PLANT = "On the plant: 'do ACTION' first. Then type here what you changed."
_NOT_TOLD = "the plant of the exercise does not tell it"


class PracticeFront:
    """Another front end, with the plant behind it."""

    def __init__(self, front: Front, attempt: Attempt) -> None:
        self._front = front
        self._attempt = attempt
        self.session: Session | None = None  # set once the session is there
        self._told = ""  # the key of the adjustment at which it was told how it is done here
        self._left_out = False  # what the plant does not tell is skipped, with that reason

    @property
    def layout(self) -> Layout:
        """The screen as it is now."""
        return self._front.layout

    @property
    def interactive(self) -> bool:
        """Whether a person sits there."""
        return self._front.interactive

    def show(self, lines: Iterable[str]) -> None:
        """Show lines."""
        self._front.show(lines)

    def interrupt(self) -> None:
        """Ctrl-C came while a question waits."""
        self._front.interrupt()

    def leave(self) -> None:
        """The question that waits is to end."""
        self._front.leave()

    def ask(self, question: Question) -> str:
        """The line that was typed, or what the plant said. Raises LeaveError."""
        own = replace(
            question, check=lambda text: "" if _is_own(text) else question.check(text)
        )  # fmt: skip
        while True:
            if self._left_out and question.label == WHY_NOT:
                self._left_out = False
                return _NOT_TOLD
            if self._left_out and question.label.startswith("1-"):
                return "1"  # this value alone
            self._start_clock()
            active = self.session.current if self.session else None
            if active is not None and active.step.type == "adjust" and active.key != self._told:
                self._told = active.key
                self._say(_ON_THE_PLANT)
            typed = self._front.ask(own)
            try:
                if typed == "?":
                    self._say(HINT)
                if typed.lower() in READ:
                    answer = self._read()
                    if answer is not None:
                        return answer
                elif _is_own(typed):
                    self._do(typed)
                else:
                    return typed
            except ReadingError as error:
                self._say(str(error))
            if self._attempt.over:
                raise LeaveError

    # what the plant answers

    def _read(self) -> str | None:
        """The reading that the step asks, as it would be typed; None where it cannot be had."""
        active = self.session.current if self.session else None
        screen = self.session.screen if self.session else None
        if screen is not None and len(screen.parts) > 1:
            return "s"  # each by itself
        quantity = self._attempt.rulebase.quantities.get(active.quantity) if active else None
        if quantity is None:
            self._say("Nothing is read at this step.")
            return None
        if quantity.id in self._attempt.not_here:
            self._say(NOT_HERE)
            self._left_out = True
            return "s"
        entry = self._careful(lambda: self._attempt.read(quantity))
        if entry.kind == "stopped":
            self._stopped()
            return None
        text = entry.text("text")
        minutes = minutes_text(float(str(entry.data.get("minutes", 0))))
        self._say(f"{text or NOT_HERE} ({minutes}, now {clock_text(self._attempt)})")
        return text or None

    def _start_clock(self) -> None:
        """A clock that is to be started starts at its moment of the plant."""
        active = self.session.current if self.session else None
        clock = self._attempt.clock
        if active is None or clock is None or active.step.type != "clock":
            return
        name = active.step.clock or active.step.text
        moment = self._attempt.setting.clocks.get(name, "")
        if moment == BEGINS:
            if clock.began is None or self._attempt.minutes >= clock.over:
                self._attempt.start_defrost()
        elif clock.began is not None and (left := clock.until(moment, self._attempt.minutes)) > 0:
            self._attempt.wait(left)

    # what is done beside the checklist

    def _do(self, typed: str) -> None:
        a, layout = self._attempt, self.layout
        word, _, rest = typed.strip().partition(" ")
        if word == "end":
            a.finish()
        elif word == "rack":
            self.show(rack_lines(a, layout))
        elif word == "curve":
            self.show(curve_lines(a, layout))
        elif word == "call":
            self._say(call_of(a))
        elif word == "wait":
            a.wait(minutes_named(rest))
            self._say(f"You wait; it is {clock_text(a)}.")
        elif word == "defrost":
            a.start_defrost()
            self._say(f"The defrost begins: the coil empties, {clock_text(a)}.")
        elif word == "cause":
            cause = cause_named(rest, a.rulebase.causes)
            a.say_cause(cause.id)
            self._say(f"Kept: you hold that it is '{cause.title}'.")
        else:
            action, amount = action_named(rest, a.setting.actions, real_words(a))
            before = a.plant.changes
            entry = self._careful(lambda: a.act(action, amount))
            if entry.kind == "stopped":
                self._stopped()
            else:
                moved = a.plant.changes != before
                self.show(done_lines(a, action, entry, layout, moved=moved))

    def _careful(self, do: Callable[[], Entry]) -> Entry:
        """Do something; its cautions are the checklist's, or are shown here and answered."""
        while True:
            try:
                return do()
            except NeedsCaution as needed:
                caution = needed.caution
                if not self._answered(caution.id):
                    self.show(caution_lines(caution, self.layout))
                    typed = self._front.ask(Question("y/n> ")).lower()
                    if typed not in ("y", "yes"):
                        self._attempt.confirm(caution.id, yes=False)
                        raise ReadingError("Left undone. That is always possible.") from None
                self._attempt.confirm(caution.id, yes=True)

    def _answered(self, caution: str) -> bool:
        """Whether the checklist asked it and the answer was yes."""
        entries = self.session.picture.entries if self.session else ()
        return any(
            each.kind == "acknowledge" and each.data.get("caution") == caution
            and each.data.get("answer") == "yes"
            for each in entries
        )  # fmt: skip

    def _stopped(self) -> None:
        self.show(stopped_lines(self._attempt, self.layout))

    def _say(self, text: str) -> None:
        self.show(self.layout.text(text))


def _is_own(text: str) -> bool:
    word, _, rest = text.strip().lower().partition(" ")
    if word in READ:
        return not rest
    return word in OWN and WITH_MORE.get(word, False) in (None, bool(rest))
