"""Questions one after the other, whose answers are all that is kept: they can be asked again.

An interview is a generator that yields an `Ask` and is sent the answer. Its answers as a list of
texts bring it back to the same question after a break, and 'b' takes the last one away.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import field
from typing import Generic, TypeVar

from expert.errors import ReadingError, nearest
from expert.made_when_used import dataclass

T = TypeVar("T")


@dataclass(frozen=True)
class Ask:
    """One question. `take` tidies a text or refuses it with ReadingError.

    Of `choices` one is taken by its number, words or beginning; with `free` any other text too.
    `leave` says what Enter alone means; without it an answer is needed.
    """

    text: str
    choices: Sequence[str] = ()
    take: Callable[[str], str] | None = None
    leave: str = ""
    free: bool = False
    label: str = ""
    heading: str = ""


Asking = Generator[Ask, str, T]


def taken(ask: Ask, text: str) -> str:
    """The answer that a text is, empty for Enter. Raises ReadingError."""
    typed = " ".join(text.split())
    if not typed:
        if ask.leave:
            return ""
        raise ReadingError("Nothing was typed, and this is needed.")
    if ask.choices and (found := _chosen(ask, typed)):
        return found
    if ask.choices and not ask.free:
        hint = nearest(typed.lower(), ask.choices) or f"It can be: {', '.join(ask.choices)}."
        raise ReadingError(f"'{typed}' is none of them. {hint}")
    return ask.take(typed) if ask.take else typed


def _chosen(ask: Ask, typed: str) -> str:
    if typed.isdecimal() and 1 <= int(typed) <= len(ask.choices):
        return ask.choices[int(typed) - 1]
    squeezed = typed.lower()
    exact = [each for each in ask.choices if each.lower() == squeezed]
    begins = [each for each in ask.choices if each.lower().startswith(squeezed)]
    found = exact or (begins if len(begins) == 1 and not ask.free else [])
    return found[0] if found else ""


@dataclass
class Questions(Generic[T]):
    """An interview where it stands. `result` is there once nothing more is asked."""

    begin: Callable[[], Asking[T]]
    answers: list[str] = field(default_factory=list)
    current: Ask | None = None
    result: T | None = None

    def __post_init__(self) -> None:
        self._again([*self.answers])

    def answer(self, text: str) -> None:
        """Go on with an answer. Raises ReadingError; then nothing has changed."""
        assert self.current is not None
        found = taken(self.current, text)
        self._send(found)
        self.answers.append(found)

    def back(self) -> bool:
        """Take the last answer away; False where there is none."""
        if not self.answers:
            return False
        self._again(self.answers[:-1])
        return True

    def _send(self, text: str | None) -> None:
        try:
            self.current = next(self._asking) if text is None else self._asking.send(text)
        except StopIteration as end:
            self.current, self.result = None, end.value

    def _again(self, answers: list[str]) -> None:
        """From the beginning, as far as the answers are still taken."""
        self._asking, self.answers, self.result = self.begin(), [], None
        self._send(None)
        for text in answers:
            if self.current is None:
                break
            try:
                self.answer(text)
            except ReadingError:
                break
