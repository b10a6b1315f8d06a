"""Which keys the entries of a folder of exercises have, and what each is for."""

from __future__ import annotations

from expert.knowledge.keys import Key, Shape

SECTIONS = (
    "walking",
    "short_names",
    "beside",
    "clocks",
    "schematic",
    "calls",
    "stops",
    "also_right",
    "actions",
    "exercises",
)


def _shape(what: str, *keys: str) -> Shape:
    """A kind of entry from 'key: what for'; a key with '*' is needed."""
    told = (each.partition(": ") for each in keys)
    return Shape(
        what, tuple(Key(k.rstrip("*"), "text", says, k.endswith("*")) for k, _, says in told)
    )


_SOURCE = "source*: where it comes from, for example 'common practice'"
WALK = _shape("a way", "to*: a place", "minutes*: from anywhere else", _SOURCE)
SHORT = _shape("a short name", "word*: what is typed", "reads*: readings, the first that can be")
BESIDE = _shape("what is beside the plant", "reading*: its name", "reads*: what it says")
CLOCK = _shape("a clock", "clock*: of a checklist", "starts*: when it does, on the plant")
PART = _shape("a part", "part*: of the rack", "reads*: readings that stand at it")
CALL = _shape("a call", "complaint*: a choice of 'complaint'", "says*: sentences of the store")
STOP = _shape(
    "a stop", "id*: its name", "value*: a value of the plant", "above*: the mark, with its unit",
    "says*: what comes of it", _SOURCE,
)  # fmt: skip
RIGHT = _shape(
    "what is also right", "fault*: of the model", "causes*: that count as right", "why*: a reason"
)
ACTION = _shape(
    "an action", "id*: its name", "title*: what is done", "also", "place*: where one stands",
    "minutes*: of the work itself", "repairs", "amount", "part", "holds", "ends", "gives", "gate",
    "cautions", "needs", "without", "never", _SOURCE,
)  # fmt: skip
AMOUNT = _shape(
    "an amount", "parameter*: of the plant", "kind*: of what is typed", "way*: to, add or take"
)
EXERCISE = _shape(
    "an exercise", "id*: its name", "title*: what a list says, without the answer",
    "level*: easy, middle or hard", "plant*: {seed: 12, application: low temperature}",
    "faults*: {fault: NAME, severity: 60 %}, one a line", "call", "shows", "causes",
    "teaches", "checklist", "alarm",
)  # fmt: skip
PLANT = _shape("a plant", "seed*: a whole number, by which it is drawn", "application",
                "refrigerant", "weather")  # fmt: skip
FAULT = _shape("a fault", "fault*: of the model", "severity*: 0 % just visible, 100 % gross")
ALARM = _shape(
    "an alarm", "place*: that may not be entered", "reading*: of its meter",
    "reads*: what it shows", "until*: the action that must hold",
)  # fmt: skip
