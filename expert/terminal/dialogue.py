"""The dialogue of a person with a session, the same in every front end."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

from expert.errors import RackwalkError, ReadingError
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.closing import STATES
from expert.procedure.photo_file import photo_files
from expert.procedure.session import Session
from expert.store.store_errors import StoreError
from expert.terminal.commands import SHORT, command_in, letter
from expert.terminal.front import Front, LeaveError, Question
from expert.terminal.interrupts import Interrupts
from expert.terminal.layout import width_of
from expert.terminal.listing import list_lines, pick, title_of
from expert.terminal.texts import StepView, Texts

_BACK, _HELP, _LEAVE = ("b", "back"), ("?", "help"), ("q", "quit")
_LETTERS_INSIDE = ("", *_BACK, *_HELP, *_LEAVE)
_INSIDE = "Enter or b goes back to the step; q stops and keeps all that was entered."
_CLEARED = "The line was cleared. Ctrl-C again stops; all that was entered is kept."


class Dialogue:
    """Asks step after step until the checklist is finished or the person leaves."""

    def __init__(self, session: Session, texts: Texts, front: Front) -> None:
        self._session = session
        self._texts = texts
        self._front = front
        self._interrupts = Interrupts(front)
        self._pressed = False
        self._shown = ""

    def run(self) -> bool:
        """Whether the checklist was finished; if not, the job notes that the person left."""
        with self._interrupts:
            try:
                while (active := self._session.current) is not None:
                    if active.key != self._shown:
                        self._front.show(["", *self._texts.step(self._at(active))])
                        self._shown = active.key
                    self._ask_step(active)
            except LeaveError:
                with suppress(RackwalkError):  # everything entered is on disk already
                    self._session.stop()
                return False
        return True

    def begin(self, lines: list[str]) -> bool:
        """Shows what is ahead and, to a person, waits for Enter; whether to go on."""
        with self._interrupts:
            try:
                self._front.show(lines)
                if not self._front.interactive:
                    return True
                return self._ask(Question("Enter begins, q leaves> ")).lower() != "q"
            except LeaveError:
                return False

    def change(self) -> bool:
        """Offers to change a step of a finished job; whether one was reopened."""
        with self._interrupts:
            try:
                return self._list()
            except LeaveError:
                return False

    def _at(self, active: Active) -> StepView:
        return StepView(self._session.picture, active, self._session.now(), self._front.layout)

    def _say(self, text: str) -> None:
        self._front.show(self._front.layout.text(text))

    def _ask(self, question: Question) -> str:
        """One line. The first Ctrl-C asks again, a second one leaves."""
        while True:
            try:
                with self._interrupts.wait():
                    typed = self._front.ask(question)
            except KeyboardInterrupt:
                if self._pressed:
                    raise LeaveError from None
                self._pressed = True
                self._front.show(["", *self._front.layout.text(_CLEARED)])
                continue
            self._pressed = False
            return typed

    def _ask_step(self, active: Active) -> None:
        question = Question(
            self._texts.label(active),
            check=lambda text: self._wrong(active, text),
            status=lambda columns: self._status(active, columns),
            ticking=bool(active.step.clock),
        )
        self._take(active, self._ask(question))

    def _inside(self, label: str, check: Callable[[str], str] = lambda text: "") -> str | None:
        """One line of a question inside a step; None goes back. Letters work here too."""

        def wrong(text: str) -> str:
            return "" if text.lower() in _LETTERS_INSIDE else check(text)

        while True:
            typed = self._ask(Question(label, check=wrong))
            if typed.lower() in _LEAVE:
                raise LeaveError
            if not typed or typed.lower() in _BACK:
                return None
            if typed not in _HELP:
                return typed
            self._say(_INSIDE)

    def _take(self, active: Active, text: str) -> None:
        if command := command_in(text, active, self._texts.rulebase):
            self._command(command, active)
        elif active.step.type == "adjust" and text and text.count(";") != 2:
            self._adjust(active, text)
        else:
            self._enter(active, text)

    def _enter(self, active: Active, text: str, *, sure: bool = False) -> None:
        before = self._texts.standing(self._at(active))
        try:
            outcome = self._session.answer(text, sure=sure)
        except (ReadingError, StoreError) as error:
            self._say(str(error))
            return
        if isinstance(outcome, NeedsConfirmation):
            self._second_question(active, outcome)
            return
        if outcome.message:
            self._say(outcome.message)
        self._front.show(self._texts.after(before, self._at(active)))
        if active.searched:  # what leads may be another now, also before the same question
            self._shown = ""
        now = self._session.current
        if active.step.type == "caution" and now is not None and now.key == active.key:
            self._skip(active)

    def _second_question(self, active: Active, asked: NeedsConfirmation) -> None:
        self._say(f"{asked.question} Type y to keep it, n to correct it, or the right value.")
        reply = self._ask(Question("y/n> "))
        if reply.lower() in ("y", "yes"):
            self._enter(active, asked.text, sure=True)
        elif reply.lower() in ("n", "no", ""):
            self._remind(active)
        else:
            self._take(active, reply)

    def _wrong(self, active: Active, text: str) -> str:
        """What is wrong with a line at a step, without entering anything."""
        if command_in(text, active, self._texts.rulebase):
            return ""
        if active.step.type == "adjust" and text and text.count(";") != 2:
            return ""
        session = self._session
        return _refusal(lambda: session.runner.accept(session.picture, active, text, session.now()))

    def _status(self, active: Active, columns: int) -> str:
        """Where we are and as many keys as fit in a line."""
        status = f"[{self._texts.status(self._at(active))}]"
        for command in SHORT:
            shown = SHORT[command]
            if letter(command, active, self._texts.rulebase) != command:
                continue
            if width_of(status) + 2 + width_of(shown) > columns:
                break
            status += f"  {shown}"
        return status

    def _adjust(self, active: Active, what: str) -> None:
        """The positions that belong to what was changed; `b` gives it up."""
        earlier = self._session.picture.before(active.key)
        kept = earlier if earlier is not None and earlier.kind == "adjust" else None
        parts = [what]
        for label, name in (("Position before", "from"), ("Position after", "to")):
            default = kept.text(name) if kept else ""
            typed = ""
            while not typed:
                typed = self._ask(Question(f"{label}{f' [{default}]' if default else ''}> "))
                typed = typed or default
                if typed in _HELP:
                    self._say(_INSIDE)
                    typed = ""
            if typed.lower() in _BACK:
                return
            if typed.lower() in _LEAVE:
                raise LeaveError
            parts.append(typed)
        try:
            self._session.adjust(*parts)
        except (ReadingError, StoreError) as error:
            self._say(str(error))

    def _command(self, command: str, active: Active) -> None:
        actions: dict[str, Callable[[], object]] = {
            "?": lambda: self._front.show(self._texts.help(self._at(active))),
            "b": self._session.back,
            "s": lambda: self._skip(active),
            "n": self._note,
            "p": self._photo,
            "t": lambda: self._front.show(self._texts.thinking(self._at(active), everything=True)),
            "c": self._list,
            "x": self._close,
        }
        if command == "q":
            raise LeaveError
        try:
            actions[command]()
        except (ReadingError, StoreError) as error:
            self._say(str(error))
        self._remind(active)

    def _remind(self, active: Active) -> None:
        """The step in a line, where it is asked again and other lines have pushed it away."""
        now = self._session.current
        if now is not None and now.key == active.key:
            self._say(f"Step {active.number}: {title_of(active, self._texts.rulebase)}")

    def _skip(self, active: Active) -> None:
        how = self._how_to_skip(active)
        if how is None:
            return
        runner = self._session.runner
        rest, member = how == "rest", how == "member"
        runner.skip(active, "asked only whether it may be skipped", rest=rest, member=member)

        def wrong(text: str) -> str:
            return _refusal(lambda: runner.skip(active, text, rest=rest, member=member))

        if reason := self._inside("Reason, Enter goes back> ", wrong):
            self._session.skip(reason, rest=rest, member=member)
            asks = active.step.type in ("caution", "stop") and not active.quantity
            self._say("Noted; what hangs on it is left out." if asks else "Skipped.")

    def _close(self) -> None:
        """How the job ends, where it is closed without being done."""
        runner = self._session.runner
        self._say("What is open is still put back, and you sign. How does the job end?")
        self._front.show(self._texts.endings(self._front.layout))

        def wrong(text: str) -> str:
            return _refusal(lambda: runner.close(text))

        if ending := self._inside(f"1-{len(STATES)}, Enter goes back> ", wrong):
            self._session.close(ending)
            self._shown = ""

    def _how_to_skip(self, active: Active) -> str | None:
        """'step', 'rest' of a watch or 'member', asked where it can be either; None goes back."""
        ways = {"step": "skips this value" if active.sample else "skips this step"}
        if active.sample:
            ways["rest"] = "ends the watch here"
        if active.subject:
            ways["member"] = f"leaves out what is still to be done on {active.subject}"
        if len(ways) == 1:
            return "step"
        listed = (f"{number} {text}" for number, text in enumerate(ways.values(), 1))
        self._say(f"{', '.join(listed)}.")
        numbered = {str(number): way for number, way in enumerate(ways, 1)}

        def wrong(text: str) -> str:
            return "" if text in numbered else f"Type a number from 1 to {len(ways)}."

        return numbered.get(self._inside(f"1-{len(ways)}, Enter goes back> ", wrong) or "")

    def _note(self) -> None:
        if text := self._inside("Note> "):
            self._session.note(text)
            self._say("Noted.")

    def _photo(self) -> None:
        """Files of photos, then a caption for all of them."""

        def wrong(text: str) -> str:
            return _refusal(lambda: photo_files(text))

        paths = self._inside("Photo file, more after ;, Enter goes back> ", wrong)
        if paths is None:
            return
        photo_files(paths)
        caption = self._inside("What it shows, Enter for nothing> ") or ""
        count = self._session.photo(paths, caption)
        self._say("The photo is noted." if count == 1 else f"{count} photos are noted.")

    def _why(self) -> str:
        """Why something of a finished job is changed; it stands in every report."""

        def wrong(text: str) -> str:
            return "" if text.strip() else "Type in a few words why; it stands in the report."

        while True:
            typed = self._ask(Question("Why is it changed> ", check=wrong))
            if not (refused := wrong(typed)):
                return typed
            self._say(refused)

    def _list(self) -> bool:
        session = self._session
        plan = session.runner.plan(session.picture)
        self._front.show(list_lines(plan, session.runner.rulebase, self._front.layout))
        self._say("Type the number of a step to change it, Enter to go on.")

        def wrong(text: str) -> str:
            return _refusal(lambda: pick(text, plan)) if text else ""

        typed = self._inside("Step> ", wrong)
        if typed is None:
            return False
        key = pick(typed, plan).key
        why = self._why() if session.finished else ""
        try:
            session.reopen(key, why)
        except (ReadingError, StoreError) as error:
            self._say(str(error))
            return False
        return True


def _refusal(attempt: Callable[[], object]) -> str:
    """The sentence with which something is refused; nothing where it is taken."""
    try:
        attempt()
    except ReadingError as error:
        return str(error)
    return ""
