"""The dialogue of a person with a session, the same in every front end."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

from expert.errors import MovedOnError, RackwalkError, ReadingError
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.by_name import names_one, parts_of
from expert.procedure.screens import BRIEF, STEP, Screen
from expert.procedure.session import Session
from expert.procedure.taking import Took
from expert.store.store_errors import StoreError
from expert.terminal.asking import LEAVE, Asking
from expert.terminal.check_line import refused, screen_command, wrong_line
from expert.terminal.commands import SHORT, command_in, letter
from expert.terminal.fill_in import FillIn
from expert.terminal.front import Front, LeaveError, Question
from expert.terminal.layout import width_of
from expert.terminal.listing import title_of
from expert.terminal.others import WAITS, Others
from expert.terminal.screen_lines import screen_help, screen_label, screen_lines
from expert.terminal.side_questions import SideQuestions
from expert.terminal.step_view import StepView
from expert.terminal.texts import Texts

_YES, _NO = ("y", "yes"), ("n", "no", "")


class Dialogue:
    """Asks step after step until the checklist is finished or the person leaves."""

    def __init__(self, session: Session, texts: Texts, front: Front) -> None:
        self._session = session
        self._texts = texts
        self._front = front
        self._asking = Asking(front)
        self._beside = SideQuestions(session, texts, self._asking)
        self._fill_in = FillIn(session, texts, self._asking, self.take)
        self._others = Others(session, self._asking)
        self._shown = ""

    def run(self, depth: str = "") -> bool:
        """Whether the checklist was finished; if not, the job notes that the person left.

        `depth` is chosen for the job, '' leaves it as it was.
        """
        with self._asking.interrupts:
            try:
                if depth:
                    self._session.lead(depth)
                self._session.settle()
                while not self._session.finished:
                    try:
                        self._ask_next()
                    except MovedOnError as error:
                        self._asking.say(str(error))
                        self._shown = ""
                    self._taken_over()
            except LeaveError:
                with suppress(RackwalkError):  # everything entered is on disk already
                    self._session.catch_up()
                    self._session.stop()
                return False
        return True

    def _ask_next(self) -> None:
        screen = self._next_screen()
        if screen is None:
            self._others.wait(self._by_name, again=self._shown == WAITS)
            self._shown = WAITS
            return
        shown = " ".join(each.key for each in screen.parts)
        if shown != self._shown:
            self._front.show(["", *self._lines(screen)])
            self._shown = shown
        self._ask_screen(screen)

    def _taken_over(self) -> bool:
        """Whether others have entered something since; it is shown, and what is asked too."""
        told = self._others.take_over()
        self._shown = "" if told else self._shown
        return told

    def _gone(self, screen: Screen) -> bool:
        """Whether what was asked is answered by somebody else."""
        now = self._session.screen
        return now is None or [e.key for e in now.parts] != [e.key for e in screen.parts]

    def _next_screen(self) -> Screen | None:
        """What is asked now; at brief depth the table of a place comes up first."""
        if self._session.depth == BRIEF and self._fill_in.opens():
            self._fill()
        return self._session.screen

    def begin(self, lines: list[str], meanwhile: Callable[[], object]) -> bool:
        """Shows what is ahead and, to a person, waits for Enter; whether to go on."""
        with self._asking.interrupts:
            try:
                self._front.show(lines)
                if not self._front.interactive:
                    return True
                typed = self._asking.ask(Question("Enter begins, q leaves> ", meanwhile=meanwhile))
                return typed.lower() not in LEAVE
            except LeaveError:
                return False

    def change(self) -> bool:
        """Offers to change a step of a finished job; whether one was reopened."""
        with self._asking.interrupts:
            try:
                return self._beside.list()
            except LeaveError:
                return False

    def _at(self, active: Active) -> StepView:
        return StepView(self._session.picture, active, self._session.now(), self._front.layout)

    def _lines(self, screen: Screen) -> list[str]:
        at = self._at(screen.first)
        return (
            self._texts.step(at) if screen.kind == STEP else screen_lines(screen, self._texts, at)
        )

    def _ask_screen(self, screen: Screen) -> None:
        active = screen.first
        alone = screen.kind == STEP
        question = Question(
            self._texts.label(active) if alone else screen_label(screen, self._texts),
            check=lambda text: wrong_line(self._session, screen, text),
            status=lambda columns: self._status(active, columns),
            ticking=True,  # a clock runs, or others enter something
        )
        typed = self._asking.ask(question)
        if typed.lower() not in LEAVE and self._taken_over() and self._gone(screen):
            self._asking.say(f"Not entered: {typed}" if typed else "Not entered.")
            return
        if alone:
            self._take(active, typed)
        else:
            self._take_several(screen, typed)

    def _take_several(self, screen: Screen, text: str) -> None:
        """What was typed at a screen of several: which are so, a letter, or a reading by name."""
        if (command := screen_command(screen, text, self._texts.rulebase)) in ("s", "?"):
            if command == "?":
                self._front.show(screen_help(screen, self._texts, self._at(screen.first)))
            else:
                self._session.apart()
        elif command:
            self._command(command, screen.first)
        elif not (names_one(text) and self._by_name(text)):
            try:
                self._session.tick(text)
            except (ReadingError, StoreError) as error:
                self._asking.say(str(error))

    def _take(self, active: Active, text: str) -> None:
        if command := command_in(text, active, self._texts.rulebase):
            self._command(command, active)
        elif active.step.type == "adjust" and text and text.count(";") != 2:
            self._beside.adjust(active, text)
        else:
            self._enter(active, text)

    def _enter(self, active: Active, text: str, *, sure: bool = False, why: str = "") -> None:
        before = self._texts.standing(self._at(active))
        try:
            early = "" if why else self._session.too_early(text)
            if early and not refused(self._session, active, text):
                if reason := self._why_early(early):
                    self._enter(active, text, sure=sure, why=reason)
                return
            outcome = self._session.answer(text, sure=sure, why=why)
        except ReadingError as error:
            if not self._by_name(text):
                near = self._session.nearest_reading(text)
                self._asking.say(f"{error} {near}".rstrip())
            return
        except StoreError as error:
            self._asking.say(str(error))
            return
        if isinstance(outcome, NeedsConfirmation):
            if self._agreed(active, outcome.question):
                self._enter(active, outcome.text, sure=True, why=why)
            return
        if outcome.message:
            self._asking.say(outcome.message)
        self._front.show(self._texts.after(before, self._at(active)))
        if active.searched:  # what leads may be another now, also before the same question
            self._shown = ""
        now = self._session.current
        if active.step.type == "caution" and now is not None and now.key == active.key:
            self._beside.skip(active)

    def _why_early(self, early: str) -> str | None:
        """The reason for an answer before its time; None waits."""
        self._asking.say(f"{early} Enter waits; or type why it is answered now.")
        return self._asking.inside("Why now, Enter waits> ", lambda text: _too_short(text))

    def _agreed(self, active: Active, question: str) -> bool:
        """Whether a second question is answered with yes; something else is taken as typed."""
        self._asking.say(f"{question} Type y to keep it, n to correct it, or the right value.")
        reply = self._asking.ask(Question("y/n> "))
        if reply.lower() in _YES:
            return True
        if reply.lower() in _NO:
            self._remind(active)
        else:
            self._take(active, reply)
        return False

    def take(self, text: str) -> bool:
        """Takes one reading that was typed with its name; False where it names none."""
        took = self._session.take(text)
        if took is None:
            return False
        if took.question:
            self._asking.say(f"{took.question} Type y to keep it, n to leave it.")
            reply = self._asking.ask(Question("y/n> "))
            if reply.lower() not in _YES:
                self._asking.say("Not entered.")
                return reply.lower() in _NO or self._by_name(reply) or True
            took = self._session.take(text, sure=True) or took
        self._tell(took)
        return True

    def _tell(self, took: Took) -> None:
        if took.message:
            self._asking.say(took.message)
        elif took.active is not None:
            entry = self._session.picture.closed.get(took.active.key)
            if entry is not None:
                self._front.show(self._texts.taken(took.title, entry, self._at(took.active)))

    def _by_name(self, text: str) -> bool:
        """Takes the readings of a line, each with its name; False where it names none at all."""
        parts = parts_of(text)
        if not parts or not any(names_one(part) for part in parts):
            return False
        taken = False
        for part in self._session.as_they_can_be(parts):
            try:
                if self.take(part):
                    taken = True
                elif len(parts) == 1:
                    return False
                elif part is parts[0] and self._answers(part):
                    taken = True
                else:
                    near = self._session.nearest_reading(part)
                    said = f"'{part}' names no reading of this checklist; not entered."
                    self._asking.say(f"{said} {near}".rstrip())
            except (ReadingError, StoreError) as error:
                taken = True
                self._asking.say(str(error))
        self._shown = "" if taken else self._shown
        return taken

    def _answers(self, part: str) -> bool:
        """Takes what stands without a name before named readings: it is for the step asked."""
        active = self._session.current
        if active is None or refused(self._session, active, part):
            return False
        self._enter(active, part)
        return True

    def _status(self, active: Active, columns: int) -> str:
        """What others have just entered; else where we are and as many keys as fit in a line."""
        if new := self._others.last_line():
            return new
        status = f"[{self._texts.status(self._at(active))}]"
        for command in SHORT:
            shown = SHORT[command]
            if letter(command, active, self._texts.rulebase) != command:
                continue
            if width_of(status) + 2 + width_of(shown) > columns:
                break
            status += f"  {shown}"
        return status

    def _command(self, command: str, active: Active) -> None:
        at, texts, show = self._at(active), self._texts, self._front.show
        actions: dict[str, Callable[[], object]] = {
            "?": lambda: show(texts.help(at)),
            "b": self._session.back,
            "s": lambda: self._beside.skip(active),
            "n": self._beside.note,
            "p": self._beside.photo,
            "t": lambda: show(texts.thinking(at, short=True)),
            "w": lambda: show(texts.thinking(at, everything=True)),
            "f": self._fill,
            "c": self._beside.list,
            "x": self._close,
        }
        if command == "q":
            raise LeaveError
        try:
            actions[command]()
        except (ReadingError, StoreError) as error:
            self._asking.say(str(error))
        self._remind(active)

    def _fill(self) -> None:
        """The table of a place; a letter typed in it is done, then the step is asked."""
        letter_typed = self._fill_in.run()
        self._shown = ""
        if letter_typed not in ("", "f") and (active := self._session.current) is not None:
            self._command(letter_typed, active)

    def _close(self) -> None:
        if self._beside.close():
            self._shown = ""

    def _remind(self, active: Active) -> None:
        """The step in a line, where it is asked again and other lines have pushed it away."""
        now = self._session.current
        if self._shown and now is not None and now.key == active.key:
            self._asking.say(f"Step {active.number}: {title_of(active, self._texts.rulebase)}")


def _too_short(text: str) -> str:
    return "" if len(text.strip()) > 2 else "Type in a few words why."
