"""Questions to a person, one line at a time; what reads and writes the lines is given."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from expert.errors import ReadingError, nearest

SHOWN = 12  # so many choices are listed; more are asked for by another word


class Back(Exception):
    """The person wants to go back: 'b' was typed."""


@dataclass(frozen=True)
class Asker:
    """`read` shows a prompt and gives the line that was typed; `say` writes one line.

    Every question raises Back when 'b' is typed.
    """

    read: Callable[[str], str]
    say: Callable[[str], None]

    def text(
        self,
        question: str,
        *,
        default: str = "",
        optional: bool = False,
        check: Callable[[str], str] | None = None,
    ) -> str:
        """One line. Enter alone gives the default; `check` returns it tidied or refuses it."""
        self.say(question)
        while True:
            typed = self._line(f"[{default}] " if default else "") or default
            if not typed and not optional:
                self.say("Something is needed here.")
                continue
            if not typed or check is None:
                return typed
            try:
                return check(typed)
            except ReadingError as error:
                self.say(str(error))

    def lines(self, question: str, *, optional: bool = False) -> list[str]:
        """Several lines, ended by an empty one."""
        self.say(f"{question} One line each; Enter alone ends.")
        found: list[str] = []
        while True:
            typed = self._line(f"{len(found) + 1}. ")
            if typed:
                found.append(typed)
            elif found or optional:
                return found
            else:
                self.say("At least one line is needed.")

    def choice(
        self, question: str, options: Sequence[str], *, default: int = 0, more: str = ""
    ) -> int:
        """The place (from 0) of one of some options, by number or word; `more` explains Enter.

        Gives -1 for Enter alone where `more` says what that means.
        """
        self.say(question)
        for number, option in enumerate(options, 1):
            self.say(f"  {number} {option}")
        if more:
            self.say(f"  Enter: {more}")
        prompt = f"[{default}] " if default else ""
        while True:
            typed = self._line(prompt) or (str(default) if default else "")
            if not typed and more:
                return -1
            found = _which(typed, options)
            if found >= 0:
                return found
            hint = nearest(typed, options) or f"Type a number, 1 to {len(options)}."
            self.say(f"'{typed}' is none of these. {hint}" if typed else f"{hint}")

    def several(self, question: str, options: Sequence[str], more: str) -> list[int]:
        """The places of some of the options: '1 3', or Enter for none."""
        self.say(question)
        for number, option in enumerate(options, 1):
            self.say(f"  {number} {option}")
        self.say(f"  Numbers with spaces between them; Enter: {more}")
        while True:
            typed = self._line("").replace(",", " ").split()
            found = [_which(word, options) for word in typed]
            if -1 not in found:
                return found
            self.say(f"'{typed[found.index(-1)]}' is none of these.")

    def _line(self, prompt: str) -> str:
        typed = self.read(prompt).strip()
        if typed == "b":
            raise Back
        return typed


def _which(typed: str, options: Sequence[str]) -> int:
    """The option that a number, its first words or its text mean; -1 for none."""
    if typed.isdecimal():
        return int(typed) - 1 if 1 <= int(typed) <= len(options) else -1
    squeezed = " ".join(typed.lower().split())
    begins = [
        n for n, option in enumerate(options) if squeezed and option.lower().startswith(squeezed)
    ]
    exact = [n for n in begins if options[n].lower() == squeezed]
    return exact[0] if exact else begins[0] if len(begins) == 1 else -1
