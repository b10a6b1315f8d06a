"""The keys with which a pack says what it is, and what it changes or explains of the one below."""

from __future__ import annotations

from expert.knowledge.key_shapes import SOURCE, shape

PACK = shape(
    "pack",
    ("name*", "text", "short name of the pack, as reports print it"),
    ("version*", "text", "its version, for example 1.0.0"),
    ("title", "text", "one line on what it is"),
    ("description", "text", "whose it is and what it is for"),
    ("over", "text", "name of the pack it lies over; 'rackwalk-base' is the one shipped"),
    ("base", "text", "folder of that pack, from here; left out, it is the one shipped"),
)
OVERRIDE = shape(
    "an override of a limit",
    ("limit*", "limit", "id of the limit of the pack below"),
    ("normal", "normal", "the normal band that holds instead"),
    ("very_low", "measure", "the edge that holds instead"),
    ("very_high", "measure", "the edge that holds instead"),
    ("note", "text", "what a technician should know about the numbers"),
    ("reason*", "text", "why this company judges otherwise"),
    ("author*", "text", "who decided it"),
    ("date*", "date", "when, as 2026-03-14"),
    SOURCE,
)
SWITCH_OFF = shape(
    "a rule switched off",
    ("rule*", "rule", "id of the rule of the pack below"),
    ("reason*", "text", "why it does not hold at this company"),
    ("author*", "text", "who decided it"),
    ("date*", "date", "when, as 2026-03-14"),
)
_DECIDED = (
    ("reason*", "text", "why this company does it otherwise"),
    ("author*", "text", "who decided it"),
    ("date*", "date", "when, as 2026-03-14"),
)
ADD_STEPS = shape(
    "steps added to a checklist",
    ("checklist*", "kebab_id", "id of the checklist, as 'rackwalk list' shows it"),
    ("after", "text", "id of the step behind which they stand"),
    ("before", "text", "or of the step above which they stand"),
    ("steps*", "steps", "the steps, as a checklist has them"),
    *_DECIDED,
)
LEAVE_OUT_STEPS = shape(
    "a step left out of a checklist",
    ("checklist*", "kebab_id", "id of the checklist, as 'rackwalk list' shows it"),
    ("step*", "text", "id of the step; never one that protects"),
    *_DECIDED,
)
EXPLAINED = shape(
    "an explanation",
    (
        "what*",
        "text",
        "what 'rules coverage' or 'rules analyse' lists, by its name or its beginning",
    ),
    ("why*", "text", "why it is left as it is"),
)
