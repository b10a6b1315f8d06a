"""An answers file typed by a person at a depth, with every prompt and keystroke counted."""

from __future__ import annotations

from dataclasses import dataclass, field

from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.answers import Answers, Scripted
from expert.procedure.checklist import MEASURING
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.open_now import takeable
from expert.procedure.place_table import LEAST, place_table, still_open
from expert.procedure.screens import HAZARDS, LOOKS, STEP, Screen
from expert.procedure.scripted import _by_itself, _enter, _no
from expert.procedure.session import Session


@dataclass
class TypedCounts:
    """Prompts, keystrokes (Enter is one), and of the prompts those that are readings or looks."""

    prompts: int = 0
    keys: int = 0
    read: int = 0
    shown: set[str] = field(default_factory=set)  # rows of tables: one comes up by itself once

    @property
    def others(self) -> int:
        """Prompts that are no reading or look: hazards, work, clocks, thoughts, the signature."""
        return self.prompts - self.read

    def line(self, text: str, *, reads: bool = False) -> None:
        """One line that is typed at a prompt."""
        self.prompts += 1
        self.keys += len(text) + 1
        self.read += reads


def type_through(
    session: Session, answers: Answers, depth: str, *, tables: bool = False
) -> TypedCounts:
    """Types a file at a depth; with `tables` all that can be read at a place in one line."""
    typed = TypedCounts()
    session.lead(depth)
    session.settle()
    while (screen := session.screen) is not None:
        if tables and _table(session, answers, typed):
            continue
        if screen.kind == STEP:
            _one(session, answers, screen.first, typed)
        else:
            _several(session, answers, screen, typed)
    return typed


def _found(session: Session, answers: Answers, active: Active) -> Scripted:
    found = answers.find(active, _no(session, active))
    if active.searched:
        found = answers.in_search(active, session.picture.closed)
    if found is None and _by_itself(active):
        found = Scripted(answers.place, "")
    assert found is not None, f"{active.key} has no answer: {answers.missing_at(active)}"
    return found


def _one(session: Session, answers: Answers, active: Active, typed: TypedCounts) -> None:
    found = _found(session, answers, active)
    reads = active.step.type in MEASURING and not active.loop
    if found.skip is not None:
        typed.line("s", reads=reads)
        typed.line(found.skip)
    elif found.adjust is not None:
        for part in found.adjust:
            typed.line(part)
    else:
        asks = active.quantity or active.step.type in ("caution", "sign", "members", CLOSE)
        typed.line(_shortest(session, active, found.text or "") if asks else "", reads=reads)
    if _enter(session, active, found):
        typed.line("y")


def _shortest(session: Session, active: Active, text: str) -> str:
    """A choice by its number, a yes as y, a number without the unit of its prompt."""
    quantity = session.runner.rulebase.quantities.get(active.quantity)
    if quantity is not None and quantity.is_choice:
        return str(list(quantity.choices).index(text) + 1) if text in quantity.choices else text
    return "y" if text == "yes" else text.split(" ")[0] if quantity is not None else text


def _several(session: Session, answers: Answers, screen: Screen, typed: TypedCounts) -> None:
    so = [_is_so(answers.find(each, ""), each, screen.kind) for each in screen.parts]
    wanted = so if screen.kind == HAZARDS else [not each for each in so]
    between = " " if len(so) > 9 else ""
    line = between.join(str(n) for n, each in enumerate(wanted, 1) if each)
    if screen.kind == HAZARDS and not line:
        session.apart()
        line = "s"
    else:
        session.tick(line)
    typed.line(line, reads=screen.kind == LOOKS)


def _is_so(found: Scripted | None, part: Active, kind: str) -> bool:
    """Whether the file says that a part of a screen is as listed; what it does not hold is not
    asked in the end, because it hangs on another part."""
    if found is None:
        assert kind == LOOKS, f"{part.key} has no answer"
        return True
    if found.skip is not None:
        return False
    wanted = {HAZARDS: "yes", LOOKS: part.step.usual}.get(kind)
    return wanted is None or found.text == wanted


def _table(session: Session, answers: Answers, typed: TypedCounts) -> bool:
    """All that can be read at this place and stands in the file, in one line; whether it was."""
    current = session.current
    assert current is not None
    rows = place_table(session.open_now(), current, session.runner.rulebase)
    keys = {each.active.key for each in rows}
    if current.key not in keys or len(rows) < LEAST or keys & typed.shown:
        return False
    typed.shown |= keys
    line = []
    for number, row in enumerate(rows, 1):
        found = answers.find(row.active, "")
        if found is None or found.text is None or row.active.key in session.picture.closed:
            continue
        now = {each.active.key for each in takeable(session.open_now())}
        if row.active.key not in now:
            continue
        took = session.take_at(row.active.key, found.text)
        if took.question:
            session.take_at(row.active.key, found.text, sure=True)
        line.append(f"{number} {_shortest(session, row.active, found.text)}")
    if not line:
        return False
    typed.line("; ".join(line), reads=True)
    if still_open(rows, session.open_now()):
        typed.line("")
    return True


def confirmed(outcome: object) -> bool:
    """Whether an outcome asks a second question."""
    return isinstance(outcome, NeedsConfirmation)
