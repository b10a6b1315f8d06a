"""What is wrong with a line that was typed, and which letter it is; nothing is entered."""

from __future__ import annotations

from expert.errors import ReadingError
from expert.knowledge.model import Rulebase
from expert.procedure.active import Active
from expert.procedure.by_name import names_one, parts_of
from expert.procedure.screens import HAZARDS, STEP, Screen, ticked
from expert.procedure.session import Session
from expert.procedure.taking import take
from expert.terminal.asking import refusal
from expert.terminal.commands import COMMANDS, command_in


def screen_command(screen: Screen, text: str, rulebase: Rulebase) -> str:
    """The letter that a line is at a screen of several; empty where it is an answer."""
    if screen.kind == HAZARDS:
        return command_in(text, screen.first, rulebase)
    typed = text.lower()
    return typed if typed in COMMANDS else ""


def refused(session: Session, active: Active, text: str) -> str:
    """Why a step does not take an answer; empty where it does."""
    return refusal(lambda: session.runner.accept(session.picture, active, text, session.now()))


def wrong_line(session: Session, screen: Screen, text: str) -> str:
    """What is wrong with a line; empty where it can be taken."""
    active, parts, rulebase = screen.first, parts_of(text), session.runner.rulebase
    if screen.kind != STEP:
        if screen_command(screen, text, rulebase):
            return ""
        wrong = refusal(lambda: ticked(screen, text))
    else:
        if command_in(text, active, rulebase):
            return ""
        if active.step.type == "adjust" and text and text.count(";") != 2:
            return ""
        wrong = refused(session, active, text)
    if not wrong or len(parts) > 1 or not names_one(text):
        return "" if len(parts) > 1 and any(map(names_one, parts)) else wrong
    try:
        named = take(session.runner, session.picture, text, session.now())
    except ReadingError as error:
        return f"{wrong} As the name of a reading: {error}"
    return "" if named is not None else f"{wrong} {session.nearest_reading(text)}".rstrip()
