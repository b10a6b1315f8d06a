"""The single letters, or whole words, that may be typed instead of an answer."""

from __future__ import annotations

from expert.knowledge.model import Rulebase
from expert.procedure.active import Active
from expert.units.kinds import Kind

COMMANDS = {
    "?": ("help", "why", "how"),
    "b": ("back",),
    "s": ("skip",),
    "n": ("note",),
    "p": ("photo", "photos"),
    "t": ("think",),
    "w": ("whole",),
    "f": ("fill", "table"),
    "c": ("list",),
    "x": ("close",),
    "q": ("stop", "quit"),
}
MEANING = {
    "?": "why and how", "b": "back one step", "s": "skip, with a reason", "n": "note",
    "p": "photo files, with a caption",
    "t": "what do we think so far", "w": "the whole of it",
    "f": "fill in what can be read here now", "c": "list of steps, to change one",
    "x": "close the job undone", "q": "stop and keep",
}  # fmt: skip
SHORT = {
    "?": "?help", "b": "b back", "s": "s skip", "q": "q stop", "f": "f fill in",
    "t": "t think", "n": "n note", "c": "c list", "x": "x close", "p": "p photo",
}  # fmt: skip


def asks_yes_or_no(active: Active, rulebase: Rulebase) -> bool:
    """Whether `n` means no at a step and not note."""
    if active.step.type == "caution" and not active.quantity:
        return True
    quantity = rulebase.quantities.get(active.quantity)
    return quantity is not None and "no" in quantity.choices


def command_in(text: str, active: Active, rulebase: Rulebase) -> str:
    """The letter of the command that a line gives at a step; nothing where it is an answer.

    A phrase of a choice is always an answer, and so is `n` where the answer is yes or no, or the
    name of a member where these are chosen.
    Where words are asked, only the letters are commands.
    """
    typed = " ".join(text.lower().split())
    quantity = rulebase.quantities.get(active.quantity)
    if quantity is not None and typed in quantity.choices:
        return ""
    if _answers(typed, active, rulebase):
        return ""
    if typed in COMMANDS:
        return typed
    if asks_words(active, rulebase):
        return ""
    return next((letter for letter, words in COMMANDS.items() if typed in words), "")


def asks_words(active: Active, rulebase: Rulebase) -> bool:
    """Whether any words may be an answer at a step."""
    quantity = rulebase.quantities.get(active.quantity)
    if quantity is not None:
        return quantity.kind is Kind.TEXT
    return active.step.type in ("sign", "adjust", "open", "close")


def letter(command: str, active: Active, rulebase: Rulebase) -> str:
    """What to type for a command at a step."""
    return COMMANDS[command][0] if _answers(command, active, rulebase) else command


def _answers(typed: str, active: Active, rulebase: Rulebase) -> bool:
    """Whether a line that could be a command is an answer: no, or the name of a member."""
    if typed in (name.lower() for name in active.offers):
        return True
    return typed == "n" and asks_yes_or_no(active, rulebase)
