"""One question before a job is begun: choices or a value, Enter alone, `?` and q."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from expert.errors import RackwalkError, ReadingError, Stopped, nearest
from expert.made_when_used import dataclass
from expert.terminal.front import Front, LeaveError, Question

NOT_KNOWN = "not known"
Take = Callable[[str], str]


@dataclass(frozen=True)
class PlantQuestion:
    """What is asked: choices with what each means, or a value that `take` reads.

    Enter alone gives `alone`, where there is one; `says` is how that is told. With `meant` what
    each choice means stands beside it, else `?` tells it; with `again` they were listed just now.
    """

    text: str
    label: str = ""
    choices: Mapping[str, str] | Sequence[str] = ()
    take: Take | None = None
    alone: str = ""
    says: str = ""
    meant: bool = False
    again: bool = False

    def taken(self, typed: str) -> str:
        """The answer in a text. Raises ReadingError, or what `take` raises."""
        text = " ".join(typed.split())
        if not text:
            if self.alone:
                return self.alone
            raise ReadingError("Nothing was typed.")
        if self.alone and text.lower() == self.alone.lower():
            return self.alone
        return self.take(text) if self.take is not None else choice_of(text, tuple(self.choices))


def choice_of(text: str, choices: Sequence[str]) -> str:
    """One of some choices, by its number, its words or their beginning. Raises ReadingError."""
    typed = text.lower()
    if typed.isdecimal() and 1 <= int(typed) <= len(choices):
        return choices[int(typed) - 1]
    same = [each for each in choices if each.lower() == typed]
    begins = same or [each for each in choices if each.lower().startswith(typed)]
    if len(begins) == 1:
        return begins[0]
    hint = nearest(typed, choices) or f"It can be: {', '.join(choices)}."
    raise ReadingError(f"'{text}' is none of them. {hint}")


def ask_of_plant(asked: PlantQuestion, front: Front) -> str:
    """One answer that can be taken. Raises Stopped."""
    says = f" Enter alone: {asked.says or asked.alone}." if asked.alone else ""
    front.show(["", *front.layout.text(f"{asked.text}{says}"), *_listed(asked, front)])

    def wrong(text: str) -> str:
        try:
            if text.lower() not in ("q", "?"):
                asked.taken(text)
        except RackwalkError as error:
            return str(error)
        return ""

    label = f"1-{len(asked.choices)}> " if asked.choices else f"{asked.label}> "
    while True:
        try:
            typed = front.ask(Question(label, check=wrong))
        except (LeaveError, KeyboardInterrupt):
            raise Stopped("Stopped before a job was begun.") from None
        if typed.lower() == "q":
            raise Stopped("Stopped before a job was begun.")
        if typed == "?":
            front.show(_help(asked, front))
        elif refused := wrong(typed):
            front.show(front.layout.text(refused))
        else:
            return asked.taken(typed)


def _listed(asked: PlantQuestion, front: Front) -> list[str]:
    lines: list[str] = []
    for number, each in enumerate(() if asked.again else asked.choices, 1):
        meaning = asked.choices[each] if asked.meant and isinstance(asked.choices, Mapping) else ""
        lines += front.layout.listed(str(number), f"{each}: {meaning}" if meaning else each, 2)
    return lines


def _help(asked: PlantQuestion, front: Front) -> list[str]:
    """What each choice means, and how one leaves."""
    layout, lines = front.layout, list[str]()
    if isinstance(asked.choices, Mapping):
        for each, meaning in asked.choices.items():
            lines += layout.named(each, meaning, 2) if meaning else []
    return [*lines, *layout.text("q leaves; no job was begun yet.")]
