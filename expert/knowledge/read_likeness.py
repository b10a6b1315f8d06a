"""Reads how often causes show what, and holds it against the names that there are."""

from __future__ import annotations

from functools import partial

from expert.errors import Place
from expert.knowledge.keys import LIKENESS, USUAL_WORDS
from expert.knowledge.likeness_model import NUMBER_WORDS, Likeness, Shares, UsualWords
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.read_rules import read_share
from expert.knowledge.reader import Reader
from expert.knowledge.refer import refer
from expert.knowledge.yaml_nodes import Fields, Node

_ROUNDED = 0.02  # so much more than one may shares come to that were rounded
_FORM = "Write 'evaporator_superheat: {high: 0.85, normal: 0.1}'."


def read_likeness(node: Node, reader: Reader) -> Likeness | None:
    """How often plants with a cause show what."""
    fields = reader.entry(node, LIKENESS)
    if fields is None:
        return None
    got = fields.fields
    shows = got["shows"]
    if not isinstance(shows, Fields):
        reader.problem("not-a-mapping", "'shows' names quantities.", shows.place, _FORM)
        return None
    return Likeness(
        reader.text(got["cause"], "cause"),
        {name: _shares(each, reader) for name, each in shows.fields.items()},
        reader.source(got["source"], "this likeness"),
        fields.place,
    )


def read_usual_words(node: Node, reader: Reader) -> UsualWords | None:
    """How often a plant shows what, whatever the cause."""
    fields = reader.entry(node, USUAL_WORDS)
    if fields is None:
        return None
    got = fields.fields
    return UsualWords(
        reader.text(got["quantity"], "quantity"),
        _shares(got["shows"], reader),
        reader.source(got["source"], "these words"),
        fields.place,
    )


def _shares(node: Node, reader: Reader) -> Shares:
    if not isinstance(node, Fields):
        reader.problem("not-a-mapping", "Each word has its share.", node.place, _FORM)
        return {}
    found = {word: read_share(each, reader) for word, each in node.fields.items()}
    if sum(found.values()) > 1 + _ROUNDED:
        message = f"Together these are {sum(found.values()):.2f}, more than all plants."
        reader.problem("not-a-share", message, node.place, "Shares of the words come to 1 or less.")
    return found


def check_likenesses(rulebase: Rulebase, reader: Reader) -> None:
    """Adds a problem for every name that is not there, and for what is usual of nothing."""

    def check(quantity: str, shares: Shares, place: Place) -> None:
        def here(_: str) -> Place:
            return place

        refer((quantity,), rulebase.quantities, "quantity", here, reader)
        if (known := rulebase.quantities.get(quantity)) is not None:
            refer(shares, _words(known), f"word of '{quantity}' called", here, reader)

    for usual in rulebase.usual_words.values():
        check(usual.quantity, usual.shows, usual.place)
    for each in rulebase.likenesses.values():
        refer((each.cause,), rulebase.causes, "cause", partial(_at, each.place), reader)
        for name, shares in each.shows.items():
            check(name, shares, each.place)
            if name in rulebase.quantities and name not in rulebase.usual_words:
                message = f"Nothing says what '{name}' usually shows."
                hint = "Add it under 'usual_words:'; only beside that a likeness tells something."
                reader.problem("no-usual-words", message, each.place, hint)


def _at(place: Place, _: str) -> Place:
    return place


def _words(quantity: Quantity) -> tuple[str, ...]:
    return tuple(quantity.choices) if quantity.is_choice else NUMBER_WORDS
