"""Takes typed values out of YAML nodes and collects every problem on the way."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from functools import lru_cache

from expert.errors import Place, Problem, ReadingError, nearest
from expert.knowledge.conditions import Condition, Group, InStage, Over
from expert.knowledge.entry_model import APPLIES_KEYS
from expert.knowledge.key_shapes import Shape
from expert.knowledge.source import Source
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text
from expert.units.kinds import Kind, unit_for
from expert.units.parse import parse_measure

SOURCE_LABELS = ("published", "common practice", "from memory", "computed", "company", "site")
STAGES = ("as found", "as left")
GROUPS = (
    "Groups are 'any:', 'all:', 'at least 2 of:', 'as found:', 'as left:', and over subjects "
    "'every circuit:', 'any circuit:', 'no circuit:', 'most circuits:', 'at least 2 circuits:'."
)
_BARE = re.compile(r"^[-+]?[\d.,/ ]+$")
_AT_LEAST = re.compile(r"^at least (\d{1,3}) of$")
_OVER = re.compile(
    r"^(?:(?P<count>every|any|no|most)|at least (?P<number>\d{1,3})) "
    r"(?P<kind>circuit|compressor|case)s?$"
)


OPENED = (
    "Name what one needs to open it: title and year, the section of a law (40 CFR 82.157(b)), the "
    "number of a standard or article. Else begin with 'common practice' or 'from memory: ...'."
)


def vague(detail: str) -> str:
    """Why a published source cannot be opened."""
    if "from memory" in detail:
        return f"'{detail}' is called published and from memory: it is one or the other."
    return f"'{detail}' names no document that can be opened."


class Reader:
    """Reads nodes; what is wrong goes to `problems` and a harmless value comes back.

    `lost` holds the ids of entries that could not be read: that they are missing is no news.
    Without `proof` the tests of rules are passed over.
    """

    def __init__(self, *, proof: bool = True) -> None:
        self.proof = proof
        self.problems: list[Problem] = []
        self.lost: set[str] = set()

    def problem(self, code: str, message: str, place: Place, hint: str = "") -> None:
        """Note one problem and go on."""
        self.problems.append(Problem(code, message, place, hint))

    def unknown(self, code: str, name: str, message: str, place: Place, hint: str = "") -> None:
        """Note a name that is not there, unless its entry was found but could not be read."""
        if name not in self.lost:
            self.problem(code, message, place, hint)

    def entry(self, node: Node | None, shape: Shape) -> Fields | None:
        """The node as an entry of a shape, else None."""
        return self.fields(node, shape.what, shape.names, shape.required, shape)

    def fields(
        self,
        node: Node | None,
        what: str,
        allowed: Collection[str],
        required: Collection[str] = (),
        shape: Shape | None = None,
    ) -> Fields | None:
        """The node as a mapping with only allowed keys and all required ones, else None.

        `shape` gives a hint for what is missing.
        """
        if not isinstance(node, Fields):
            if node is not None:
                hint = spacing_hint(node)
                message = f"{_beginning(what)} must be 'key: value' lines."
                self.problem("not-a-mapping", message, node.place, hint)
            return None
        unknown = [key for key in node.fields if key not in allowed]
        for key in unknown:
            hint = nearest(key, allowed) or f"Known here: {', '.join(sorted(allowed))}."
            if " " in key and _is_empty(node.fields[key]):
                hint = "Inside { } a comma begins a new key: put a text with a comma in quotes."
            self.problem(
                "unknown-key", f"'{key}' is not known in {what}.", node.key_place(key), hint
            )
        missing = [key for key in required if key not in node.fields]
        # a mistyped key is not also a missing one
        mistyped = {meant for key in unknown for meant in missing if nearest(key, [meant])}
        untold = [key for key in missing if key not in mistyped]
        if untold:
            names = " and ".join(f"'{key}'" for key in untold)
            says = shape.says(untold[0]) if shape else ""
            hint = f"Add '{untold[0]}: ...': {says}." if says else ""
            self.problem("missing-key", f"{_beginning(what)} lacks {names}.", node.place, hint)
        empty = [key for key in required if _is_empty(node.fields.get(key))]
        for key in empty:
            says = shape.says(key) if shape else ""
            hint = f"Write there: {says}." if says else ""
            self.problem("empty", f"'{key}' of {what} is empty.", node.key_place(key), hint)
        return None if missing or empty else node

    def items(self, node: Node | None, what: str) -> Iterator[Node]:
        """Each node of a list; a missing list is empty."""
        if isinstance(node, Items):
            yield from node.items
        elif node is not None:
            message = f"{_beginning(what)} must be a list."
            hint = "Begin each entry on a line of its own with '- '."
            if isinstance(node, Text) and node.text and what.isidentifier():
                hint = f"Write '{what}: [{node.text}]', or each on a line of its own with '- '."
            self.problem("not-a-list", message, node.place, spacing_hint(node) or hint)

    def text(self, node: Node | None, what: str, default: str = "") -> str:
        """A text; folded white space."""
        if node is None:
            return default
        if not isinstance(node, Text):
            self.problem("not-a-text", f"{what} must be a text.", node.place)
            return default
        return " ".join(node.text.split())

    def texts(self, node: Node | None, what: str) -> tuple[str, ...]:
        """A list of texts; one text alone counts as a list of one."""
        found = []
        for item in (node,) if isinstance(node, Text) else self.items(node, what):
            text = self.text(item, f"each of {what}")
            if text:
                found.append(text)
            elif isinstance(item, Text):
                self.problem("empty", f"{what} is empty; write [] for none.", item.place)
        return tuple(found)

    def word(self, node: Node | None, what: str, known: Collection[str], default: str = "") -> str:
        """One of some known words."""
        text = self.text(node, what, default)
        if node is not None and text not in known:
            hint = nearest(text, known) or f"Known: {', '.join(known)}."
            self.problem("unknown-word", f"'{text}' is no {what}.", node.place, hint)
            return default
        return text

    def whole(self, node: Node | None, what: str, low: int, high: int, default: int) -> int:
        """A whole number within bounds."""
        text = self.text(node, what, str(default))
        if not text.isdecimal() or len(text) > 9 or not low <= int(text) <= high:
            if node is not None:
                self.problem(
                    "not-a-count", f"{what} must be a whole number, {low} to {high}.", node.place
                )
            return default
        return int(text)

    def measure(self, node: Node | None, what: str, kind: Kind) -> float | None:
        """An SI value of a kind, or None."""
        if node is None:
            return None
        text = self.text(node, what)
        if not text:
            if isinstance(node, Text):
                self.problem("empty", f"{what} is empty.", node.place)
            return None
        return self.measure_text(text, node.place, kind)

    def measure_text(self, text: str, place: Place, kind: Kind) -> float | None:
        """An SI value of a text with its unit, or None with a problem at the place."""
        if kind in (Kind.CHOICE, Kind.TEXT):
            message = f"'{text}': a {kind.value} is told in words and has no measure."
            self.problem("not-a-measure", message, place)
            return None
        unit, text = unit_for(kind), text.strip()
        if unit.name and _BARE.match(text):
            hint = f"Write for example '{text} {unit.name}'."
            self.problem("no-unit", f"'{text}' has no unit.", place, hint)
            return None
        try:
            return _value(text, kind)
        except ReadingError as error:
            self.problem("not-a-measure", str(error), place)
            return None

    def source(self, node: Node | None, what: str) -> Source:
        """A source label with its detail; a missing one is a problem of the caller's mapping."""
        text = self.text(node, f"the source of {what}")
        if node is None:
            return Source("from memory")
        label, _, detail = (part.strip() for part in text.partition(":"))
        if label not in SOURCE_LABELS:
            self.problem(
                "unknown-source",
                f"'{label}' is no source label.",
                node.place,
                f"Start with one of: {', '.join(SOURCE_LABELS)}.",
            )
        elif label in ("published", "company") and not detail:
            message = f"A {label} source must be named: '{label}: ...'."
            hint = "Name the standard, book or page; else 'common practice' or 'from memory'."
            self.problem("source-unnamed", message, node.place, hint)
        elif label == "published" and not Source(label, detail).findable:
            self.problem("source-vague", vague(detail), node.place, OPENED)
        return Source(label, detail)

    def applies(self, node: Node | None) -> Mapping[str, tuple[str, ...]]:
        """Which applications something is for."""
        found = self.fields(node, "applies", APPLIES_KEYS)
        if found is None:
            return {}
        applies = {}
        for key, value in found.fields.items():
            if key in APPLIES_KEYS and not (words := self.texts(value, key)):
                self.problem("empty", f"'{key}' of applies names nothing.", found.key_place(key))
            elif key in APPLIES_KEYS:
                applies[key] = words
        return applies

    def conditions(self, node: Node | None, what: str) -> tuple[Condition, ...]:
        """A list of conditions and groups of them."""
        return tuple(
            condition
            for item in self.items(node, what)
            if (condition := self.condition(item)) is not None
        )

    def condition(self, node: Node) -> Condition | None:
        """One condition or group (any, all, at least n of), or None with a problem."""
        from expert.knowledge.grammar import FORMS, ConditionError, parse_condition  # and lark

        if isinstance(node, Text):
            try:
                return parse_condition(node.text, node.place)
            except ConditionError as error:
                text = " ".join(node.text.split())
                place = node.at(error.column)
                message = f"Cannot read '{text}': {error}."
                self.problem("condition", message, place, error.hint or FORMS)
                return None
        if isinstance(node, Fields) and len(node.fields) == 1:
            return self._group(node)
        self.problem("condition", "A condition is a text or one group.", node.place, FORMS)
        return None

    def _group(self, node: Fields) -> Condition | None:
        """any, all, at least n of; as found, as left; most circuits ... , or None."""
        ((key, inner),) = node.fields.items()
        place = node.key_place(key)
        over, counted = _OVER.match(key), _AT_LEAST.match(key)
        if not (over or counted or key in (*STAGES, "any", "all")):
            written = inner.text if isinstance(inner, Text) else ""
            meant = nearest(key, ("any", "all", *STAGES))
            hint = f"Write '{key} is {written}'." if written else f"{meant} {GROUPS}".strip()
            self.problem("unknown-group", f"'{key}' is no group of conditions.", place, hint)
            return None
        members = self.conditions(inner, f"'{key}'")
        if not isinstance(inner, Items) or len(members) < len(inner.items):
            return None
        if not members:
            self.problem("empty-group", f"There is no condition under '{key}:'.", place)
            return None
        if key in STAGES:
            return InStage(key, members, place)
        if over:
            if over["number"] and not int(over["number"]):
                self.problem("empty-group", f"'{key}' asks for nothing.", place)
                return None
            count = "at least" if over["number"] else over["count"]
            return Over(count, over["kind"], members, int(over["number"] or 0), place)
        at_least = int(counted[1]) if counted else 1 if key == "any" else len(members)
        if not 1 <= at_least <= len(members):
            message = f"'{key}' asks for {at_least} of {len(members)} conditions."
            self.problem("empty-group", message, place)
            return None
        return Group(at_least, members, place)


def _beginning(what: str) -> str:
    """'A rule' for 'a rule' at the beginning of a sentence; names of keys in quotes."""
    if what.startswith(("a ", "an ")):
        return f"A{what[1:]}"
    return what if what.startswith("'") or " " in what else f"'{what}'"


def spacing_hint(node: Node) -> str:
    """What to do about a text where 'key: value' lines or a list was wanted."""
    if not isinstance(node, Text):
        return ""
    if re.match(r"^[a-z_]+:\S", node.text):
        return "Put a space after the colon."
    if re.match(r"^-\S", node.text):
        return "Put a space after the '-'."
    return ""


@lru_cache(8192)
def _value(text: str, kind: Kind) -> float:
    """A measure as SI: files say the same few thousand texts over and over."""
    return parse_measure(text, kind).value


def id_hint(text: str, snake: bool = False) -> str:
    """How an id is written, and what it could be here."""
    joint = "_" if snake else "-"
    meant = re.sub(r"[^a-z0-9]+", joint, text.lower()).strip(joint).lstrip("0123456789-_")
    form = f"Small letters, digits and {joint}; starts with a letter."
    return f"{form} Write '{meant}'." if meant else form


def _is_empty(node: Node | None) -> bool:
    """A key with nothing after it, or an empty list; an empty mapping can be meant."""
    if isinstance(node, Text):
        return not node.text.strip()
    return isinstance(node, Items) and not node.items
