"""The front end for a real terminal. Only this module knows prompt_toolkit."""

from __future__ import annotations

import sys
from collections.abc import Iterable

from prompt_toolkit import PromptSession
from prompt_toolkit.buffer import Buffer
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.history import DummyHistory
from prompt_toolkit.input import Input, create_input
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.output import Output, create_output
from prompt_toolkit.styles import Style

from expert.host import shows_only_ascii, without_halves
from expert.terminal.front import LeaveError, Question
from expert.terminal.layout import Layout, cut, to_ascii

_AGAIN = "Ctrl-C again stops; all that was entered is kept."
_TICK = 1.0  # s
_STYLE = Style.from_dict({"label": "bold", "bottom-toolbar": "reverse"})


class PromptFront:
    """One prompt for the whole run.

    What is wrong with a line stays on the screen until the next one, and the field is empty: what
    is typed next never stands behind what was refused.
    """

    def __init__(self, source: Input | None = None, sink: Output | None = None) -> None:
        self._output = create_output() if sink is None else sink
        self._ascii = sink is None and shows_only_ascii(sys.stdout)
        self._question = Question("")
        self._pressed = False
        self._leaving = False
        self._wrong = ""
        self._session: PromptSession[str] = PromptSession(
            input=create_input() if source is None else source,
            output=self._output,
            history=DummyHistory(),
            complete_while_typing=False,
            reserve_space_for_menu=0,
            bottom_toolbar=self._toolbar,
            key_bindings=self._keys(),
            style=_STYLE,
            enable_suspend=True,
            mouse_support=False,
        )
        self._session.default_buffer.on_text_changed += self._edited

    @property
    def layout(self) -> Layout:
        """The terminal as wide as it is now."""
        return Layout(self._output.get_size().columns, self._ascii)

    @property
    def interactive(self) -> bool:
        """Always."""
        return True

    def show(self, lines: Iterable[str]) -> None:
        """Write lines above the next prompt."""
        try:
            self._output.write("".join(f"{line}\n" for line in lines))
            self._output.flush()
        except OSError:
            raise LeaveError from None

    def ask(self, question: Question) -> str:
        """The line that was typed, once it is right. Raises LeaveError."""
        self._question = question
        self._pressed, self._wrong = False, ""
        question.begin_meanwhile()
        try:
            typed = self._session.prompt(
                self._message,
                refresh_interval=_TICK if question.ticking else 0,
                pre_run=self._leave_if_told,
            )
        except (EOFError, OSError):
            raise LeaveError from None
        return without_halves(typed.strip())

    def interrupt(self) -> None:
        """Nothing: the prompt takes Ctrl-C as a key."""

    def leave(self) -> None:
        """Ends the prompt from inside its own loop, which swallows what a handler raises."""
        self._leaving = True
        app = self._session.app
        if app.is_running and app.loop is not None:
            app.loop.call_soon_threadsafe(self._leave_if_told)

    def _leave_if_told(self) -> None:
        future = self._session.app.future
        if self._leaving and future is not None and not future.done():
            future.set_exception(LeaveError())

    def refuse(self, text: str) -> str:
        """What is wrong with a text; it stays above the field until a line is right."""
        self._wrong = self._question.check(without_halves(text.strip()))
        return self._wrong

    def _message(self) -> StyleAndTextTuples:
        """The label, above it what is wrong; a terminal that hides the toolbar shows it too."""
        message = _AGAIN if self._pressed else self._wrong
        lines = self.layout.text(message) if message else []
        return [("", "".join(f"{line}\n" for line in lines)), ("class:label", self._question.label)]

    def _edited(self, buffer: Buffer) -> None:
        self._pressed = False

    def _toolbar(self) -> str:
        """State and keys in one line that fits."""
        room = self.layout.columns - 1
        status = cut(self._question.status(room), room)
        return to_ascii(status) if self._ascii else status

    @property
    def _buffer(self) -> Buffer:
        return self._session.default_buffer

    def _keys(self) -> KeyBindings:
        keys = KeyBindings()

        @keys.add("enter")
        def _(event: KeyPressEvent) -> None:
            """A line that is refused is taken out of the field."""
            if self.refuse(self._buffer.text):
                self._buffer.reset()
            else:
                self._buffer.validate_and_handle()

        @keys.add("c-c")
        @keys.add("<sigint>")
        def _(event: KeyPressEvent) -> None:
            """The first clears the line, the second leaves."""
            if self._pressed and not self._buffer.text:
                event.app.exit(exception=LeaveError())
                return
            self._buffer.reset()
            self._pressed, self._wrong = True, ""

        return keys
