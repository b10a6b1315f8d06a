"""What a company pack changes in a checklist that came with the program: steps added, left out.

Here they are only read and kept; `procedure/pack_steps.py` puts them into the checklist.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from expert.knowledge.overlay import who_says
from expert.knowledge.pack_keys import ADD_STEPS, LEAVE_OUT_STEPS
from expert.knowledge.pack_model import StepChange
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Items, Node


def read_step_changes(
    added: Iterable[Node], left_out: Iterable[Node], reader: Reader
) -> tuple[StepChange, ...]:
    """The changes of all packs in the order of their files."""
    found = [change for node in added if (change := _added(node, reader))]
    return (*found, *_left_out(left_out, reader))


def _added(node: Node, reader: Reader) -> StepChange | None:
    fields = reader.entry(node, ADD_STEPS)
    if fields is None:
        return None
    got = fields.fields
    places = [key for key in ("before", "after") if key in got]
    if len(places) != 1:
        message = "It says neither 'before:' nor 'after:' which step." if not places else (
            "It says both 'before:' and 'after:'."
        )  # fmt: skip
        reader.problem("no-place", message, fields.place, "Name one step, by its id.")
        return None
    steps = got["steps"]
    if not isinstance(steps, Items) or not steps.items:
        reader.problem("not-a-list", "'steps' must be a list of steps.", steps.place)
        return None
    return _change(fields, places[0], reader, steps.items)


def _left_out(nodes: Iterable[Node], reader: Reader) -> Iterator[StepChange]:
    for node in nodes:
        if (fields := reader.entry(node, LEAVE_OUT_STEPS)) is not None:
            yield _change(fields, "step", reader)


def _change(fields: Fields, key: str, reader: Reader, steps: tuple[Node, ...] = ()) -> StepChange:
    named = fields.fields[key]
    return StepChange(
        reader.text(fields.fields["checklist"], "checklist"), reader.text(named, key), steps,
        key == "before", *who_says(fields, reader), place=fields.place, at_place=named.place,
    )  # fmt: skip
