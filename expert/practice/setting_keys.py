"""Which keys the entries of a folder of exercises have, with their forms and what each is for."""

from __future__ import annotations

from expert.knowledge.key_shapes import Key, Shape


def _shape(what: str, *keys: str) -> Shape:
    """A kind of entry from 'key form: what for'; a key with '*' is needed."""
    told = []
    for each in keys:
        head, _, says = each.partition(": ")
        name, form = head.split()
        told.append(Key(name.rstrip("*"), form, says, name.endswith("*")))
    return Shape(what, tuple(told))


_ID = "id* kebab_id: its name in files and commands"
_SOURCE = "source* source: where it comes from, for example 'common practice'"
WALK = _shape(
    "a way", "to* spot: the place one goes to", "minutes* count: from anywhere else", _SOURCE
)
SHORT = _shape(
    "a short name", "word* text: what is typed",
    "reads* quantities: readings; the first that can be taken then is meant",
)  # fmt: skip
BESIDE = _shape("what is beside the plant", "reading* quantity: that the model does not tell",
                "reads* text: what it says")  # fmt: skip
CLOCK = _shape("a clock", "clock* text: of a checklist", "starts* start: when, on the plant")
PART = _shape("a part", "part* text: of the rack", "reads* quantities: readings that stand at it")
CALL = _shape(
    "a call", "complaint* text: a choice of 'complaint'",
    "says* texts: sentences of the store; {case}, {circuit}, {rack} and {weather} are put in",
)  # fmt: skip
STOP = _shape(
    "a stop", _ID, "value* plant_value: a value of the plant",
    "above* measure: the mark, with its unit", "says* text: what comes of it", _SOURCE,
)  # fmt: skip
RIGHT = _shape(
    "what is also right", "fault* fault: a fault of the model",
    "causes* causes: that count as right", "why* text: a reason in physics or meaning",
)  # fmt: skip
AMOUNT = _shape(
    "an amount", "parameter* text: of the plant", "kind* kind: of what is typed",
    "way* way: to, add or take",
)  # fmt: skip
ACTION = _shape(
    "an action", _ID, "title* text: what is done", "also texts: what the trade also calls it",
    "place* spot: where one stands", "minutes* count: of the work itself",
    "holds yes_no: 'yes' where it holds until an action that names it under 'ends'",
    "ends texts: actions that hold no longer",
    "repairs faults: what it puts right where it sits",
    "amount amount: what it turns, sets or charges", "part yes_no: 'yes' where it takes a part",
    "gate action: the gated action of the knowledge that it is",
    "gives gives: readings that read so while it holds",
    "cautions cautions: hazards that are seen to first",
    "needs texts: actions that must hold", "without text: what comes of it where it did not hold",
    "never text: why it stops every exercise", _SOURCE,
)  # fmt: skip
PLANT = _shape(
    "a plant", "seed* seed: a whole number, by which it is drawn",
    "application application: low or medium temperature",
    "refrigerant text: one of the model", "weather weather: at the call",
)  # fmt: skip
FAULT = _shape(
    "a fault", "fault* fault: of the model, named as a cause",
    "severity* measure: 0 % just visible, 100 % gross",
)  # fmt: skip
ALARM = _shape(
    "an alarm", "place* spot: that may not be entered", "reading* quantity: of its meter",
    "reads* text: what it shows", "until* kebab_id: the action that must hold",
)  # fmt: skip
EXERCISE = _shape(
    "an exercise", _ID, "title* text: what a list says, without the answer",
    "level* level: easy, middle or hard", "plant* plant: {seed: 12, application: low temperature}",
    "faults* severities: {fault: NAME, severity: 60 %}, one a line",
    "call text: what the store says; left out, by what it would notice",
    "shows conditions: what must be seen on it, as conditions of rules",
    "causes causes: that count as right; left out, those of its faults",
    "teaches text: what is to be kept in mind", "checklist text: that leads through it",
    "alarm alarm: of a room that may not be entered before it is aired",
)  # fmt: skip
# The sections of a file; those whose entries stand in another's are without one.
SECTIONS = {
    "walking": WALK, "short_names": SHORT, "beside": BESIDE, "clocks": CLOCK, "schematic": PART,
    "calls": CALL, "stops": STOP, "also_right": RIGHT, "actions": ACTION, "exercises": EXERCISE,
}  # fmt: skip
