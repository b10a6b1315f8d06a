"""Reads the words that give away a hazard, a stop, a protection or the never-done."""

from __future__ import annotations

import re

from expert.knowledge.hazard_model import MEANINGS, Telltale
from expert.knowledge.keys import TELLTALE
from expert.knowledge.read_rules import read_id
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Node


def read_telltale(node: Node, reader: Reader) -> Telltale | None:
    """Words that give something away."""
    fields = reader.entry(node, TELLTALE)
    if fields is None:
        return None
    got = fields.fields
    telltale = Telltale(
        id=read_id(got["id"], reader),
        words=_patterns(got["words"], "words", reader),
        source=reader.source(got["source"], "this telltale"),
        caution=reader.text(got.get("caution"), "caution"),
        means=reader.word(got.get("means"), "meaning of words", MEANINGS),
        unless=_patterns(got.get("unless"), "unless", reader),
        say=reader.text(got.get("say"), "say"),
        hard=reader.word(got.get("hard"), "answer", ("yes", "no"), "no") == "yes",
        place=fields.place,
    )
    if bool(telltale.caution) == bool(telltale.means):
        reader.problem("telltale", "A telltale has either 'caution:' or 'means:'.", fields.place)
    return telltale


def _patterns(node: Node | None, what: str, reader: Reader) -> tuple[str, ...]:
    texts = reader.texts(node, what)
    for text in texts:
        try:
            re.compile(text)
        except re.error as error:
            assert node is not None
            message = f"'{text}' is no regular expression: {error}."
            reader.problem("bad-expression", message, node.place)
            return ()
    return texts
