"""Practice, free: any reading, any action, in any order, until it is ended or left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from expert.errors import RackwalkError, ReadingError
from expert.inference.evaluation_model import Evaluation
from expert.knowledge.model import Quantity
from expert.knowledge.synonyms import called, holding, plain_name
from expert.practice.attempt import NOT_HERE, Attempt, NeedsCaution
from expert.practice.opening import call_of
from expert.practice.setting_model import PlantAction
from expert.practice.typed import (
    action_named,
    cause_named,
    minutes_named,
    reading_named,
    real_words,
)
from expert.procedure.entries import Entry
from expert.terminal.asking import Asking
from expert.terminal.front import Front, LeaveError, Question
from expert.terminal.practice_pictures import curve_lines, rack_lines
from expert.terminal.practice_texts import (
    by_place,
    caution_lines,
    clock_text,
    cost_lines,
    done_lines,
    opening_lines,
    stopped_lines,
)

HELP = (
    ("NAME", "read it: 'head', 'receiver level', 'fans in cooling'"),
    ("readings WORD", "what can be read, by a word of its name or by place"),
    ("do ACTION", "do it: 'do wash the condenser', 'do set differential, 18 psi'"),
    ("actions WORD", "what can be done"),
    ("cause NAME", "say what you hold to be wrong"),
    ("defrost", "begin a defrost, where one is watched"),
    ("wait 5 min", "let time pass"),
    ("rack", "the rack with your readings at their places"),
    ("curve", "the defrost as it runs"),
    ("call", "what the store said"),
    ("next, think", "ask the tool what it would read, what it makes of it; it is counted"),
    ("end", "end the exercise and look back"),
    ("q", "stop; it is kept and goes on with --resume"),
)
_YES, _NO = ("y", "yes"), ("n", "no")


@dataclass(frozen=True)
class _TypedAction:
    words: tuple[str, ...]
    does: Callable[[str], None]


class PracticeDialogue:
    """Asks line by line until the exercise is over or the person leaves."""

    def __init__(self, attempt: Attempt, front: Front) -> None:
        self._attempt = attempt
        self._front = front
        self._asking = Asking(front)
        self._commands = (
            _TypedAction(("?", "help"), lambda _: self._help()),
            _TypedAction(("readings",), self._readings),
            _TypedAction(("actions", "can"), self._actions),
            _TypedAction(("read",), self._read),
            _TypedAction(("do",), self._do),
            _TypedAction(("cause", "is"), self._cause),
            _TypedAction(("defrost",), lambda _: self._defrost()),
            _TypedAction(("wait",), self._wait),
            _TypedAction(("rack",), lambda _: self._show(rack_lines(attempt, front.layout))),
            _TypedAction(("curve",), lambda _: self._show(curve_lines(attempt, front.layout))),
            _TypedAction(("call",), lambda _: self._call()),
            _TypedAction(("next",), lambda _: self._next()),
            _TypedAction(("think",), lambda _: self._think()),
            _TypedAction(("end",), lambda _: attempt.finish()),
            _TypedAction(("q", "quit"), lambda _: self._leave()),
        )

    def run(self) -> bool:
        """Whether the exercise is over; else it was left and goes on with another run."""
        with self._asking.interrupts:
            try:
                self._open()
                while not self._attempt.over:
                    self._line(self._asking.ask(Question("practice> ", status=self._status)))
            except LeaveError:
                return False
        return True

    def _open(self) -> None:
        a, layout = self._attempt, self._front.layout
        lines = opening_lines(a, layout)
        lines += layout.text("Type the name of a reading, 'do' and an action, or ? for help.")
        if a.entries:
            told = f"Going on at {clock_text(a)}, {len(a.read_at)} readings so far."
            lines += layout.text(told)
        self._show(lines)

    def _line(self, text: str) -> None:
        typed = text.strip()
        first, _, rest = typed.partition(" ")
        try:
            for command in self._commands:
                if first.lower() in command.words:
                    command.does(rest.strip())
                    return
            if typed:
                self._something(typed)
        except ReadingError as error:
            self._asking.say(str(error))
        except RackwalkError as error:
            self._asking.say(f"Not kept: {error}")

    def _something(self, typed: str) -> None:
        """A reading, or an action by its whole name or the first words of it."""
        wanted = plain_name(typed)
        actions = self._attempt.setting.actions.values()
        meant = called(wanted, actions) or [
            each for each in actions if plain_name(each.title).startswith(f"{wanted} ")
        ]  # fmt: skip
        if len(meant) == 1:
            self._act(meant[0], "")
            return
        self._take(reading_named(typed, self._attempt))

    # reading

    def _read(self, rest: str) -> None:
        self._take(reading_named(rest, self._attempt))

    def _take(self, quantity: Quantity) -> None:
        before = len(self._attempt.entries)
        entry = self._careful(lambda: self._attempt.read(quantity))
        if entry is None:
            return
        if any(each.kind == "defrost" for each in self._attempt.entries[before:]):
            self._asking.say("A defrost was begun for it.")
        if entry.kind == "stopped":
            self._stopped()
            return
        layout = self._front.layout
        text = entry.text("text") or NOT_HERE
        title = f"{quantity.title[:1].upper()}{quantity.title[1:]}"
        if seconds := entry.data.get("seconds"):
            text = f"{text}, {float(str(seconds)) / 60:.0f} min after gas on"
        state = self._state(quantity) if entry.text("text") else ""
        lines = layout.named(title, f"{text}{f' ({state})' if state else ''}")
        self._show(lines + cost_lines(self._attempt, entry, layout))

    def _state(self, quantity: Quantity) -> str:
        found = self._attempt.evaluation().states.get(quantity.id)
        words = ("very low", "low", "normal", "high", "very high")
        return found.word if found is not None and found.word in words else ""

    # acting

    def _do(self, rest: str) -> None:
        if not rest:
            raise ReadingError("Do what? 'actions' lists what can be done.")
        action, amount = action_named(
            rest, self._attempt.setting.actions, real_words(self._attempt)
        )
        self._act(action, amount)

    def _act(self, action: PlantAction, amount: str) -> None:
        before = self._attempt.plant.changes
        entry = self._careful(lambda: self._attempt.act(action, amount))
        if entry is None:
            return
        if entry.kind == "stopped":
            self._stopped()
            return
        moved = self._attempt.plant.changes != before
        self._show(done_lines(self._attempt, action, entry, self._front.layout, moved=moved))

    def _careful(self, do: Callable[[], Entry]) -> Entry | None:
        """Do something once its cautions are answered; None where one is answered with no."""
        while True:
            try:
                return do()
            except NeedsCaution as needed:
                caution = needed.caution
                self._show(caution_lines(caution, self._front.layout))
                if not self._yes():
                    self._attempt.confirm(caution.id, yes=False)
                    self._asking.say("Left undone. That is always possible.")
                    return None
                self._attempt.confirm(caution.id, yes=True)

    def _yes(self) -> bool:
        while True:
            typed = self._asking.ask(Question("y/n> ")).lower()
            if typed in (*_YES, *_NO):
                return typed in _YES
            if typed in ("q", "quit"):
                raise LeaveError
            self._asking.say("Type y or n.")

    def _stopped(self) -> None:
        self._show(stopped_lines(self._attempt, self._front.layout))

    # the rest

    def _cause(self, rest: str) -> None:
        cause = cause_named(rest, self._attempt.rulebase.causes)
        self._attempt.say_cause(cause.id)
        self._asking.say(f"Kept: you hold that it is '{cause.title}'. Now repair it, or 'end'.")

    def _defrost(self) -> None:
        self._attempt.start_defrost()
        self._asking.say(f"The defrost begins: the coil empties, {clock_text(self._attempt)}.")

    def _wait(self, rest: str) -> None:
        self._attempt.wait(minutes_named(rest))
        self._asking.say(f"You wait; it is {clock_text(self._attempt)}.")

    def _call(self) -> None:
        self._asking.say(call_of(self._attempt))

    def _next(self) -> None:
        self._attempt.ask_tool("next")
        have = {each.quantity for each in self._attempt.readings} | self._attempt.not_here
        wanted = next(iter(self._attempt.evaluation().next_readings(have)), None)
        if wanted is None:
            self._asking.say("Nothing that it knows would tell more.")
            return
        layout = self._front.layout
        self._show(layout.named("It would read", wanted.quantity.title))
        self._show(layout.text(wanted.why, 2))

    def _think(self) -> None:
        self._attempt.ask_tool("think")
        found: Evaluation = self._attempt.evaluation()
        layout = self._front.layout
        lines: list[str] = []
        for each in found.findings[:3]:
            lines += layout.listed("-", f"{each.cause.title}: {each.words}")
            for reason in each.because[:2]:
                lines += layout.text(reason, 4)
        self._show(lines or layout.text("Nothing speaks for a cause yet."))

    def _readings(self, rest: str) -> None:
        a = self._attempt
        own = [
            q for n, q in a.rulebase.quantities.items()
            if n not in a.not_here and not q.given and q.derivation is None
        ]  # fmt: skip
        found = [q for q in own if a.spot_of(q) == rest] or holding(rest, own)
        told = [(q.title, a.spot_of(q), q.effort) for q in found]
        self._show(by_place(told, "readings", rest, self._front.layout))

    def _actions(self, rest: str) -> None:
        known = self._attempt.setting.actions.values()
        found = [a for a in known if a.spot == rest] or holding(rest, known)
        told = [(a.title, a.spot, a.minutes) for a in found]
        lines = by_place(told, "actions", rest, self._front.layout)
        if not rest:
            first = "; ".join(each.title for each in known if each.holds)
            lines += self._front.layout.named("What is done before others", first)
        self._show(lines)

    def _help(self) -> None:
        lines: list[str] = []
        for words, what in HELP:
            lines += self._front.layout.named(words, what)
        self._show(lines)

    def _leave(self) -> None:
        raise LeaveError

    def _show(self, lines: list[str]) -> None:
        self._front.show(lines)

    def _status(self, columns: int) -> str:
        a = self._attempt
        told = f"[{clock_text(a)} {a.spot}] {len(a.read_at)} read"
        return told if len(told) <= columns else told[:columns]
