"""Reads the states of the plant, what moves what between them, and what a cause acts on."""

from __future__ import annotations

from expert.knowledge.conditions import Condition, Is
from expert.knowledge.influence_model import DIRECTIONS, Complaint, Influence, PlantState, SeenIn
from expert.knowledge.keys import COMPLAINT, INFLUENCE, PLANT_STATE
from expert.knowledge.read_rules import SNAKE, read_id
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node, Text

ENDS = ("high", "low")
MOVES = {"with": 1, "against": -1}
_FORM = "Write the name of a quantity, or '{high: [conditions], low: [...], normal: [...]}'."


def read_plant_state(node: Node, reader: Reader) -> PlantState | None:
    """A state of the plant, and the ways in which it can be known, the most trusted first."""
    fields = reader.entry(node, PLANT_STATE)
    if fields is None:
        return None
    got = fields.fields
    return PlantState(
        id=read_id(got["id"], reader, SNAKE),
        title=reader.text(got["title"], "title"),
        seen_in=tuple(
            seen
            for item in reader.items(got.get("seen_in"), "seen_in")
            if (seen := _seen_in(item, reader)) is not None
        ),
        place=fields.place,
        said={
            sense: reader.text(got[f"{word}_is"], f"{word}_is")
            for word, sense in DIRECTIONS.items()
            if f"{word}_is" in got
        },
    )


def _seen_in(node: Node, reader: Reader) -> SeenIn | None:
    if isinstance(node, Text):
        words: dict[str, tuple[Condition, ...]] = {
            word: (Is(node.text, word, place=node.place),) for word in DIRECTIONS
        }
        return SeenIn(words["high"], words["normal"], words["low"], node.text, node.place)
    if not isinstance(node, Fields):
        reader.problem("not-a-mapping", "This is no way to see a state.", node.place, _FORM)
        return None
    fields = reader.fields(node, "a way to see a state", tuple(DIRECTIONS))
    if fields is None:
        return None
    high, normal, low = (reader.conditions(fields.fields.get(w), w) for w in DIRECTIONS)
    return SeenIn(high, normal, low, "", node.place)


def read_influence(node: Node, reader: Reader) -> Influence | None:
    """One arrow between two states."""
    fields = reader.entry(node, INFLUENCE)
    if fields is None:
        return None
    got = fields.fields
    return Influence(
        id=read_id(got["id"], reader),
        source_state=reader.text(got["from"], "from"),
        target=reader.text(got["to"], "to"),
        sense=MOVES[reader.word(got["moves"], "moves", MOVES, "with")],
        only_when=DIRECTIONS[reader.word(got.get("only_when"), "only_when", ENDS, "normal")],
        always=reader.word(got.get("always"), "always", ("yes", "no"), "no") == "yes",
        when=reader.conditions(got.get("when"), "when"),
        because=reader.text(got["because"], "because"),
        source=reader.source(got["source"], "this influence"),
        place=fields.place,
    )


def read_complaint(node: Node, reader: Reader) -> Complaint | None:
    """What a store says when it calls."""
    fields = reader.entry(node, COMPLAINT)
    if fields is None:
        return None
    got = fields.fields
    return Complaint(
        id=read_id(got["id"], reader),
        says=reader.text(got["says"], "says"),
        subjects=reader.texts(got.get("subjects"), "subjects"),
        systems=reader.texts(got.get("systems"), "systems"),
        or_when=reader.conditions(got.get("or_when"), "or_when"),
        words=reader.texts(got.get("words"), "words"),
        place=fields.place,
    )
