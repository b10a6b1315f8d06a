"""The table of a place: everything that can be read there now, with blanks, in any order."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from expert.errors import ReadingError
from expert.inference.sentences import first_up
from expert.knowledge.model import Quantity
from expert.procedure.by_name import names_one, parts_of
from expert.procedure.open_now import Offer
from expert.procedure.place_table import LEAST, place_table, still_open
from expert.procedure.session import Session
from expert.store.store_errors import StoreError
from expert.terminal.asking import BACK, HELP, LEAVE, Asking
from expert.terminal.commands import COMMANDS
from expert.terminal.front import LeaveError, Question
from expert.terminal.texts import Texts
from expert.units.kinds import Kind, unit_for

_ROW = re.compile(r"^(?P<row>\d+)(?:[.:=)]\s*|\s+)(?P<value>.+)$", re.DOTALL)
_HOW = (
    "A number of the list and its value, or a name and its value, ';' between several; "
    "'at 11:42' behind a value is its time. Enter goes back."
)


class FillIn:
    """Asks for rows until Enter; `take` takes a reading typed with its name."""

    def __init__(
        self, session: Session, texts: Texts, asking: Asking, take: Callable[[str], bool]
    ) -> None:
        self._session = session
        self._texts = texts
        self._asking = asking
        self._take = take
        self._seen: set[str] = set()

    def opens(self) -> bool:
        """Whether the step asked now is one of several of a table that was not shown yet."""
        current, rows = self._session.current, self._rows()
        keys = frozenset(each.active.key for each in rows)
        if current is None or current.key not in keys or len(rows) < LEAST or keys & self._seen:
            return False
        self._seen |= keys
        return True

    def run(self) -> str:
        """The table of the place where the checklist stands; gives a letter that was typed."""
        rows = self._rows()
        if not rows:
            self._asking.say("Nothing more can be read here before the next step.")
            return ""
        self._show(rows)
        while still_open(rows, self._session.open_now()):
            typed = self._asking.ask(Question(f"1-{len(rows)}> "))
            if typed.lower() in LEAVE:
                raise LeaveError
            if not typed or typed.lower() in BACK:
                return ""
            if typed.lower() in HELP:
                self._asking.say(_HOW)
                continue
            if typed.lower() in COMMANDS:
                return typed.lower()
            self._line(typed, rows)
        self._asking.say("All of it is read.")
        return ""

    def _rows(self) -> Sequence[Offer]:
        session = self._session
        return place_table(session.open_now(), session.current, self._texts.rulebase)

    def _line(self, typed: str, rows: Sequence[Offer]) -> None:
        for part in self._session.as_they_can_be(parts_of(typed)):
            self._enter(part, rows)

    def _enter(self, part: str, rows: Sequence[Offer]) -> None:
        match = _ROW.match(part)
        try:
            if match and 1 <= int(match["row"]) <= len(rows):
                self._row(rows[int(match["row"]) - 1], match["value"], rows)
            elif not (names_one(part) and self._take(part)):
                near = self._session.nearest_reading(part) or _HOW
                self._asking.say(f"'{part}' is no row and names no reading. {near}")
        except (ReadingError, StoreError) as error:
            self._asking.say(str(error))

    def _row(self, row: Offer, value: str, rows: Sequence[Offer]) -> None:
        took = self._session.take_at(row.active.key, value)
        if took.question:
            self._asking.say(f"{took.question} Type y to keep it, n to leave it.")
            reply = self._asking.ask(Question("y/n> "))
            if reply.lower() not in ("y", "yes"):
                self._asking.say("Not entered.")
                if reply.lower() not in ("n", "no", ""):
                    self._line(reply, rows)
                return
            took = self._session.take_at(row.active.key, value, sure=True)
        if took.message:
            self._asking.say(took.message)
        entry = self._session.picture.closed.get(row.active.key)
        if entry is not None and took.active is not None:
            self._asking.front.show(
                self._texts.taken(took.title, entry, self._texts.view(
                    self._session, took.active, self._asking.front.layout
                ))
            )  # fmt: skip

    def _show(self, rows: Sequence[Offer]) -> None:
        layout = self._asking.front.layout
        spots = " and ".join(dict.fromkeys(each.spot for each in rows))
        lines = layout.text(f"To be read now, {spots}:")
        for number, row in enumerate(rows, 1):
            lines += layout.listed(str(number), self._blank(row), 1)
        self._asking.front.show([*lines, *layout.text(_HOW)])

    def _blank(self, row: Offer) -> str:
        active = row.active
        quantity = self._texts.rulebase.quantities[active.quantity]
        member = f"{active.subject} " if active.subject else ""
        sample = f", sample {active.sample}" if active.sample else ""
        entry = self._session.picture.closed.get(active.key)
        filled = entry.text("text") if entry is not None else self._unit(quantity)
        return f"{member}{first_up(quantity.title)}{sample}: {filled}"

    def _unit(self, quantity: Quantity) -> str:
        if quantity.is_choice:
            return f"_ {' / '.join(quantity.choices)}"
        if quantity.kind is Kind.TEXT:
            return "_"
        unit = quantity.unit or unit_for(quantity.kind, self._texts.runner.system).name
        return f"_ {unit}".rstrip()
