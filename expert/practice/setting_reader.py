"""Reads nodes of a folder of exercises: a reader that knows the names of a rulebase."""

from __future__ import annotations

from collections.abc import Iterable

from expert.errors import nearest
from expert.knowledge.model import Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Items, Node


class SettingReader(Reader):
    """A reader whose names must be there; one that is not is told with the nearest."""

    def __init__(self, rulebase: Rulebase) -> None:
        super().__init__()
        self.rulebase = rulebase

    def choice(self, name: str, word: str, node: Node) -> None:
        """Note where a reading is not there, or cannot say a word."""
        quantity = self.rulebase.quantities.get(name)
        if quantity is None:
            self.known(name, self.rulebase.quantities, "reading", node)
        else:
            self.known(word, quantity.choices, f"choice of {name}", node)

    def one(self, node: Node | None, what: str, among: Iterable[str]) -> str:
        """One of some names; '' where there is no node."""
        name = self.text(node, what)
        if node is not None:
            self.known(name, among, what, node)
        return name

    def names(self, node: Node | None, what: str, among: Iterable[str]) -> tuple[str, ...]:
        """Some of some names, alone or in a list."""
        known = list(among)
        items = node.items if isinstance(node, Items) else (node,) if node else ()
        return tuple(self.one(item, what, known) for item in items)

    def known(self, name: str, among: Iterable[str], what: str, node: Node) -> None:
        """Note a name that is not among some."""
        names = list(among)
        if name not in names:
            hint = nearest(name, names)
            self.problem("unknown-name", f"There is no {what} '{name}'.", node.place, hint)
