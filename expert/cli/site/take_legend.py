"""A legend from a spreadsheet: its columns are asked once, its racks where they are new."""

from __future__ import annotations

import argparse
import json
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from expert.errors import PackError, ReadingError, Stopped, UsageError
from expert.sites.ask_store import Terms, new_rack
from expert.sites.data import Data
from expert.sites.legend import LegendTaken, fact_of, new_racks, take_in
from expert.sites.legend_columns import CIRCUIT, NOTHING, guess, meant, title_of
from expert.sites.legend_table import LegendTable, read_sheet
from expert.sites.questions import Ask, Asking
from expert.terminal.front import Front, LeaveError, Question

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase

_FILE = "legend-columns.json"
_SHOWN = 12  # troubles told one by one


def take_legend(
    options: argparse.Namespace, front: Front, rules: Rulebase, data: Data, folder: Path
) -> Data:
    """The store with the circuits of a legend. Raises ReadingError, UsageError, Stopped."""
    from expert.cli.job.ask_site import asked

    terms = Terms(rules, options.units)
    sheet = read_sheet(options.legend)
    columns = _columns(options, front, sheet, terms, folder)

    def begin() -> Asking[tuple[Data, str]]:
        from copy import deepcopy

        store = deepcopy(data)
        found = new_racks(sheet, columns, store)
        if not found and not store["racks"]:
            name = yield Ask("On which rack are these circuits? Its letter or name.", label="rack")
            found = {name: {}}
        for name, facts in found.items():
            told = {key: fact_of(key, text, terms) for key, text in facts.items()}
            if told.get("refrigerant") and told.get("application"):
                kept = {key: text for key, text in told.items() if text}
                store["racks"].append({"id": name, "title": f"Rack {name}", **kept})
            else:
                yield from new_rack(
                    terms, store, name, circuits=False, defrost=told.get("defrost", "")
                )
        ids = [each["id"] for each in store["racks"]]
        on = ids[0]
        if len(ids) > 1 and "rack" not in columns.values():
            on = yield Ask("On which rack are these circuits?", ids, label="rack")
        return store, on

    store, on = asked(front, begin, folder, f"legend-{options.legend.stem}", terms)
    taken = take_in(sheet, columns, store, terms, on)
    _tell(front, taken)
    if taken.troubles and not _yes(front, "Keep the rest without them?"):
        raise PackError([])
    if taken.other and not _yes(front, "Put these in the place of what the store says?"):
        raise Stopped("Stopped; nothing was taken from the legend.")
    return taken.data


def _columns(
    options: argparse.Namespace, front: Front, sheet: LegendTable, terms: Terms, folder: Path
) -> dict[str, str]:
    """What each column is: as it was said before, as it is told, and as a person agrees."""
    known = _remembered(folder)
    key = "|".join(sheet.header)
    columns = {name: NOTHING for name in sheet.header} | (
        known[key] if key in known else guess(sheet, terms)
    )
    for told in options.column:
        _change(told, sheet, columns, terms)
    if key in known and not options.column:
        front.show(front.layout.text("The columns are as they were told before."))
    elif not options.yes:
        _agree(front, sheet, columns, terms)
    if CIRCUIT not in columns.values():
        raise UsageError(
            f"No column of {sheet.path} is the circuit. Say which: --column 'COLUMN=circuit'. "
            f"There are: {', '.join(sheet.header)}."
        )
    known[key] = {name: what for name, what in columns.items() if what}
    with suppress(OSError):  # only a convenience
        (folder / _FILE).write_text(json.dumps(known, ensure_ascii=False), encoding="utf-8")
    return columns


def _remembered(folder: Path) -> dict[str, dict[str, str]]:
    try:
        found = json.loads((folder / _FILE).read_text(encoding="utf-8"))
        return {str(key): {str(a): str(b) for a, b in each.items()} for key, each in found.items()}
    except (OSError, ValueError, AttributeError):
        return {}


def _change(told: str, sheet: LegendTable, columns: dict[str, str], terms: Terms) -> None:
    """Put 'COLUMN=WHAT' into the columns. Raises ReadingError."""
    from expert.errors import nearest

    name, equals, what = (part.strip() for part in told.partition("="))
    found = [each for each in sheet.header if each.lower() == name.lower()]
    if name.isdecimal() and 1 <= int(name) <= len(sheet.header):
        found = found or [sheet.header[int(name) - 1]]
    if not found or not equals:
        hint = nearest(name, sheet.header) or f"There are: {', '.join(sheet.header)}."
        raise ReadingError(f"'{told}' is not COLUMN=WHAT of a column that is there. {hint}")
    is_now = meant(what, terms)
    for each, was in columns.items():
        if is_now and was == is_now:
            columns[each] = NOTHING
    columns[found[0]] = is_now


def _agree(front: Front, sheet: LegendTable, columns: dict[str, str], terms: Terms) -> None:
    """A person looks at what was understood, and changes it. Raises Stopped."""
    layout = front.layout

    def wrong(text: str) -> str:
        if not text.strip():
            missing = CIRCUIT not in columns.values()
            return "One column must be the circuit, for example '1=circuit'." if missing else ""
        try:
            _change(text, sheet, {**columns}, terms)
        except ReadingError as error:
            return str(error)
        return ""

    while True:
        lines = ["", *layout.text("The columns of the legend, each with its first cell:")]
        for number, name in enumerate(sheet.header, 1):
            first = sheet.first(name)
            told = f"{name} ({first}): {title_of(columns[name], terms)}" if first else (
                f"{name}: {title_of(columns[name], terms)}"
            )  # fmt: skip
            lines += layout.listed(str(number), told, 2)
        lines += layout.text("Enter: so it is. Else type what one is, like '3=drip time setting'.")
        front.show(lines)
        while True:
            try:
                typed = front.ask(Question("Enter or 3=what> ", check=wrong))
            except (LeaveError, KeyboardInterrupt):
                raise Stopped("Stopped; nothing was taken from the legend.") from None
            if not (refused := wrong(typed)):
                break
            front.show(layout.text(refused))
        if not typed.strip():
            return
        _change(typed, sheet, columns, terms)


def _tell(front: Front, taken: LegendTaken) -> None:
    layout = front.layout
    lines = layout.text(f"{len(taken.circuits)} circuits with {taken.values} values were read.")
    for trouble in taken.troubles[:_SHOWN]:
        lines += layout.listed("-", f"not taken: {trouble}")
    if (more := len(taken.troubles) - _SHOWN) > 0:
        lines += layout.text(f"and {more} more cells.")
    for told in taken.other:
        lines += layout.listed("-", told)
    front.show(lines)


def _yes(front: Front, question: str) -> bool:
    """A yes or no; no where nobody answers."""
    from expert.cli.job.choose_site import one_of

    front.show(front.layout.text(question))
    try:
        return one_of(front, ["yes", "no"], "y/n> ") == "yes"
    except Stopped:
        return False
