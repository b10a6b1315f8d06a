"""Jobs as JSON Lines: one whole job a line, to take to another machine and bring together again.

A line is `{"form": 2, "job": {...}, "entries": [...]}`; `schema()` describes it. A line of form 1,
whose entries have neither `who` nor `hash`, is still read.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from expert.errors import RackwalkError
from expert.procedure.corrections import corrections
from expert.procedure.entries import KINDS, Entry
from expert.procedure.history import history_of, items_of, measured
from expert.procedure.picture import fold, reading_of
from expert.store.chain import first_broken, hashes, head_of, root_of, row_of
from expert.store.job_row import FILLED_IN, Job

FORM = 2
FORMS = (1, 2)
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,119}")  # it becomes the name of a file
_TIMES = ("created", "finished")
_KEPT = [field.name for field in fields(Job) if field.name not in FILLED_IN]
_OLD_ENTRY = {"seq": int, "at": str, "kind": str, "step": str, "data": dict}
_ENTRY = {**_OLD_ENTRY, "who": str, "hash": str}


class LineError(RackwalkError):
    """A line that is no job."""

    exit_code = 3


@dataclass(frozen=True)
class JobLine:
    """What one line holds, or why it holds none."""

    number: int
    job: Job | None = None
    entries: tuple[Entry, ...] = ()
    problem: str = ""


def to_line(job: Job, entries: Iterable[Entry], kept: Sequence[str] | None = None) -> str:
    """A whole job as one line without its end.

    `kept` are the hashes of its entries as they were kept, so that what was altered since is told
    wherever the line is read; without them they are made.
    """
    entries = tuple(entries)
    if kept is None:
        kept = tuple(hashes(root_of(head_of(job)), entries))
    fields: dict[str, object] = {}
    for name in _KEPT:
        value = getattr(job, name)
        fields[name] = value.isoformat() if isinstance(value, datetime) else value
    listed = [
        {
            "seq": each.seq, "at": each.at.isoformat(), "kind": each.kind, "step": each.step,
            "data": dict(each.data), "who": each.who, "hash": hash_,
        }
        for each, hash_ in zip(entries, kept, strict=True)
    ]  # fmt: skip
    return json.dumps({"form": FORM, "job": fields, "entries": listed}, allow_nan=False)


def read_lines(lines: Iterable[str]) -> Iterator[JobLine]:
    """Every line as a job or as a problem; empty lines are passed over."""
    for number, text in enumerate(lines, 1):
        if not text.strip():
            continue
        try:
            job, entries = from_line(text)
        except LineError as error:
            yield JobLine(number, problem=str(error))
        else:
            yield JobLine(number, job, entries)


def from_line(text: str) -> tuple[Job, tuple[Entry, ...]]:
    """The job of a line; the reverse of `to_line`. Raises LineError."""
    try:
        found = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise LineError("it is not whole JSON; the file may have been cut off") from None
    if not isinstance(found, dict) or not isinstance(found.get("job"), dict):
        raise LineError("it is not a job as 'rackwalk jobs export' writes it")
    form = found.get("form")
    if form not in FORMS:
        properties = " and ".join(map(str, FORMS))
        raise LineError(f"it is of form {form}, this rackwalk reads {properties}")
    job, listed = _job(found["job"]), found.get("entries")
    if not isinstance(listed, list):
        raise LineError("'entries' must be a list")
    keys = _ENTRY if form == FORM else _OLD_ENTRY
    entries = tuple(_entry(each, number, keys) for number, each in enumerate(listed, 1))
    if form == FORM:
        rows = ((row_of(entry), each["hash"]) for entry, each in zip(entries, listed, strict=True))
        if (broken := first_broken(root_of(head_of(job)), rows)) is not None:
            what = f"entry {broken}" if broken > 1 else "its head or entry 1"
            raise LineError(f"job {job.id} was altered: {what} is not as it was written")
    if problem := unreadable(entries):
        raise LineError(problem)
    return job, entries


def unreadable(entries: tuple[Entry, ...]) -> str:
    """Why some entries cannot be worked with, empty where they can.

    Everything that is made of entries alone is made once.
    """
    for entry in entries:
        if entry.kind not in KINDS:
            return f"entry {entry.seq} is of the unknown kind '{entry.kind[:40]}'"
        try:
            if entry.kind == "answer":
                if not isinstance(entry.data["value"], str | int | float):
                    raise TypeError(entry.data["value"])
                if not entry.text("quantity"):
                    raise KeyError("quantity")
                reading_of(entry)
                measured(entry.data)
            elif entry.kind == "history":
                history_of(entry)
            items_of(entry)
            for name in ("taken", "started"):
                entry.time(name)
        except (ValueError, TypeError, KeyError, AttributeError, OverflowError):
            return f"entry {entry.seq} holds values of the wrong sort"
    try:
        picture = fold(entries)
        len(picture.readings) + len(picture.adjustments) + len(picture.still_open)
        corrections(entries)
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError):
        return "its entries do not fit one another"
    return ""


def _job(found: dict[str, Any]) -> Job:
    values: dict[str, Any] = {}
    for name in _KEPT:
        value = found.get(name)
        if name in _TIMES and (value is not None or name == "created"):
            value = _time(value, name)
        elif name not in _TIMES and not isinstance(value, str):
            raise LineError(f"'{name}' of the job must be text")
        values[name] = value
    if unknown := sorted(set(found) - set(_KEPT)):
        raise LineError(f"'{unknown[0]}' is no part of a job")
    if not values["uid"]:
        raise LineError("the job has no 'uid'")
    for name in ("id", "uid", "branch_of"):
        if values[name] and not _NAME.fullmatch(values[name]):
            raise LineError(f"'{name}' of the job may hold letters, digits, '-', '_' and '.' only")
    return Job(**values)


def _entry(found: object, number: int, keys: Mapping[str, type]) -> Entry:
    if not isinstance(found, dict) or set(found) != set(keys):
        raise LineError(f"entry {number} must have {', '.join(keys)}")
    for name, kind in keys.items():
        if not isinstance(found[name], kind) or isinstance(found[name], bool):
            raise LineError(f"'{name}' of entry {number} is of the wrong sort")
    if found["seq"] != number:
        raise LineError(f"entry {number} is numbered {found['seq']}; none may be missing")
    at = _time(found["at"], f"at' of entry '{number}")
    who = str(found.get("who", ""))
    return Entry(number, at, found["kind"], found["step"], found["data"], who)


def _time(value: object, name: str) -> datetime:
    try:
        at = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        raise LineError(f"'{name}' must be a time with its zone, like 2026-03-14T09:30:00+00:00")
    return at


def _no_number(name: str) -> float:
    raise ValueError(name)


def schema() -> dict[str, object]:
    """JSON Schema (2020-12) of a line."""
    text, time = {"type": "string"}, {"type": "string", "format": "date-time"}
    properties: dict[str, object] = {name: text for name in _KEPT}
    properties |= {"created": time, "finished": {"type": ["string", "null"], "format": "date-time"}}
    properties["uid"] = {
        "type": "string", "minLength": 1,
        "description": "the same for all copies of a job on all machines",
    }  # fmt: skip
    properties["branch_of"] = {
        "type": "string",
        "description": "uid of the job of which this is another history, continued elsewhere",
    }
    entry = {
        "seq": {"type": "integer", "minimum": 1, "description": "1, 2, 3 ... without a gap"},
        "at": time, "kind": text, "step": text, "data": {"type": "object"},
        "who": {"type": "string", "description": "who entered it; empty where that was not kept"},
        "hash": {
            "type": "string",
            "description": "SHA-256 of the hash before and of the entry; the first holds the job",
        },
    }  # fmt: skip
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A rackwalk job: one line of 'rackwalk jobs export'",
        **_object({
            "form": {"const": FORM},
            "job": _object(properties),
            "entries": {"type": "array", "items": _object(entry)},
        }),
    }  # fmt: skip


def _object(properties: dict[str, object]) -> dict[str, object]:
    return {
        "type": "object", "properties": properties, "required": list(properties),
        "additionalProperties": False,
    }  # fmt: skip
