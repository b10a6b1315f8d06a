"""What is known in a job as one short text, to be kept beside it and read back as it was.

Kept like this when a job is finished, so that nothing is derived again for its columns.
"""

from __future__ import annotations

import json
import zlib
from base64 import b64decode, b64encode
from typing import Any

from expert.columns.asked_limits import AskedLimit
from expert.columns.flat_value import FlatSample, FlatValue
from expert.columns.known_values import Gathered, JobHead, JobValues, View

FORM = 1


def packed(values: JobValues) -> str:
    """The text of what is known in a job, without its head."""
    views = [
        [view.stage, view.subject, view.judged, {n: _row(each) for n, each in view.known.items()}]
        for view in values.views
    ]
    gathered = [[g.stage, g.kind, g.count, sorted(g.beside)] for g in values.gathered]
    asked = [[a.subject, a.quantity, a.value, a.plus_minus, a.answer] for a in values.asked]
    said = [FORM, values.frame, values.whole, views, gathered, asked]
    return b64encode(zlib.compress(json.dumps(said, separators=(",", ":")).encode())).decode()


def unpacked(head: JobHead, text: str) -> JobValues:
    """What such a text says. Raises ValueError for one that was not made so."""
    try:
        said = json.loads(zlib.decompress(b64decode(text, validate=True)))
        form, frame, whole, views, gathered, asked = said
        if form != FORM:
            raise ValueError(f"form {form}")
        return JobValues(
            head, frame, whole,
            tuple(
                View(stage, subject, judged, {name: _value(row) for name, row in known.items()})
                for stage, subject, judged, known in views
            ),
            tuple(
                Gathered(stage, kind, count, frozenset(beside))
                for stage, kind, count, beside in gathered
            ),
            tuple(AskedLimit(*each) for each in asked),
        )  # fmt: skip
    except (zlib.error, TypeError, AttributeError) as error:
        raise ValueError(str(error)) from None


def _row(known: FlatValue) -> list[Any]:
    samples = [[each.value, each.plus_minus, each.seconds] for each in known.samples]
    return [known.value, known.plus_minus, known.origin, *([samples] if samples else [])]


def _value(row: list[Any]) -> FlatValue:
    value, spread, origin, *rest = row
    samples = rest[0] if rest else ()
    return FlatValue(value, spread, origin, tuple(FlatSample(*each) for each in samples))
