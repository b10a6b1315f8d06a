"""Which front end serves: the prompt on a real terminal, else line by line."""

from __future__ import annotations

import os
import sys

from expert.errors import Stopped
from expert.knowledge.where import ROOMS
from expert.terminal.front import Front, LeaveError, Question
from expert.terminal.line_by_line import PlainFront
from expert.terminal.plain_first import PlainFirst

_DUMB = ("dumb", "unknown")
VARIABLE = "RACKWALK_PLAIN"


def open_front(plain: bool = False) -> Front:
    """The front end that fits this terminal; `plain` asks for line by line."""
    if plain or os.environ.get(VARIABLE) or not _terminal():
        return PlainFront()
    return PlainFirst()


def ask_who(front: Front, begun_by: str = "") -> str:
    """The name of the person at work; it stands in every entry. Raises Stopped."""

    def wrong(text: str) -> str:
        return "" if text.strip() else "Type your name; it stands in every entry of the job."

    message = f"Begun by {begun_by}. Who goes on with it?" if begun_by else "Who does this job?"
    front.show(front.layout.text(message))
    while True:
        try:
            typed = " ".join(front.ask(Question("Your name> ", check=wrong)).split())
        except (LeaveError, KeyboardInterrupt):
            raise Stopped("Stopped before anything was entered.") from None
        if not (refused := wrong(typed)):
            return typed
        front.show(front.layout.text(refused))


def ask_rooms(front: Front) -> list[str]:
    """The rooms in which somebody works beside another, by their numbers. Raises Stopped."""

    def rooms(text: str) -> list[str]:
        numbers = {str(number): room for number, room in enumerate(ROOMS, 1)}
        return [numbers[sign] for sign in text if sign in numbers]

    def wrong(text: str) -> str:
        signs = text.replace(" ", "").replace(",", "")
        if signs and len(rooms(signs)) == len(signs):
            return ""
        return "Type the numbers of the places where you are: 1 motor room, 2 case, 3 roof."

    front.show(front.layout.text(wrong("")))
    while True:
        try:
            typed = front.ask(Question("1-3> ", check=wrong))
        except (LeaveError, KeyboardInterrupt):
            raise Stopped("Stopped before anything was entered.") from None
        if not (refused := wrong(typed)):
            return rooms(typed)
        front.show(front.layout.text(refused))


def _terminal() -> bool:
    if os.environ.get("TERM", "").lower() in _DUMB:
        return False
    return sys.stdin.isatty() and sys.stdout.isatty()
