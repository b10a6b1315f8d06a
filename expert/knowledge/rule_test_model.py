"""What a test of a rule says: what is given, and what then comes of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from expert.errors import Place
from expert.knowledge.entry_model import NOWHERE, Places
from expert.made_when_used import dataclass


@dataclass(frozen=True)
class Given:
    """One `name: value` of a rule's test, as written, with its place.

    `kind` and `subject` say on which circuit, compressor or case it is given; empty for the
    subject of the test. `stage` is 'as found' where the test gives readings of both stages.
    """

    name: str
    texts: tuple[str, ...]
    place: Place
    kind: str = ""
    subject: str = ""
    stage: str = ""
    name_place: Place = NOWHERE


@dataclass(frozen=True)
class RuleTest:
    """One test of a rule, beside it or in its proof: what is given, and whether it then fires.

    `finds` gives for causes the words for the certainty that all rules together come to (or for
    what speaks against). `edge`
    names the edge or condition beside which the figures lie, where that is all they are for.
    """

    given: tuple[Given, ...]
    expect: str
    facts: Mapping[str, str] = field(default_factory=dict)
    place: Place = NOWHERE
    places: Places = field(default_factory=dict, compare=False, repr=False)
    finds: Mapping[str, str] = field(default_factory=dict)
    edge: str = ""


@dataclass(frozen=True)
class Proof:
    """Further tests of a rule, kept apart from it so that its file stays short."""

    rule: str
    tests: tuple[RuleTest, ...]
    place: Place
