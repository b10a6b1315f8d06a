"""Reads the tests of rules, those beside a rule and those in its proof."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from expert.errors import nearest
from expert.knowledge.entry_model import FACTS
from expert.knowledge.keys import PROOF, TEST
from expert.knowledge.model import Rule
from expert.knowledge.reader import Reader
from expert.knowledge.rule_test_model import Given, Proof, RuleTest
from expert.knowledge.yaml_nodes import Fields, Items, Node

PLURALS = {"circuits": "circuit", "compressors": "compressor", "cases": "case"}
EXPECTATIONS = ("fires", "silent", "undecided")


def read_proof(node: Node, reader: Reader) -> Proof | None:
    """Further tests of a rule."""
    fields = reader.entry(node, PROOF)
    if fields is None:
        return None
    named = fields.fields["rule"]
    tests = read_tests(fields.fields["tests"], reader)
    return Proof(reader.text(named, "rule"), tests, named.place)


def proof_by_rule(
    proofs: Iterable[Proof], rules: Mapping[str, Rule], reader: Reader
) -> dict[str, tuple[Proof, ...]]:
    """The proofs of each rule; one of a rule that is not there becomes a problem."""
    found: dict[str, tuple[Proof, ...]] = {}
    for proof in proofs:
        if proof.rule in rules:
            found[proof.rule] = (*found.get(proof.rule, ()), proof)
        elif proof.rule:
            hint = nearest(proof.rule, rules) or "Delete it where the rule is gone."
            message = f"There is no rule '{proof.rule}' to prove."
            reader.unknown("unknown-rule", proof.rule, message, proof.place, hint)
    return found


def read_tests(node: Node | None, reader: Reader) -> tuple[RuleTest, ...]:
    """A list of tests; a missing one is empty."""
    return tuple(
        test
        for item in reader.items(node, "tests")
        if (test := _rule_test(item, reader)) is not None
    )


def _rule_test(node: Node, reader: Reader) -> RuleTest | None:
    fields = reader.entry(node, TEST)
    if fields is None:
        return None
    got = fields.fields
    given = _given(got["given"], reader)
    given += _given(got.get("as found"), reader, stage="as found")
    for plural in PLURALS:
        named = got.get(plural)
        if isinstance(named, Fields):
            for subject, inner in named.fields.items():
                given += _given(inner, reader, kind=PLURALS[plural], subject=subject)
        elif named is not None:
            reader.problem("not-a-mapping", f"{plural} must be 'id: {{...}}' lines.", named.place)
    facts = reader.fields(got.get("facts"), "facts", (*FACTS, "has"))
    return RuleTest(
        given,
        reader.word(got["expect"], "expectation", EXPECTATIONS, "fires"),
        {key: reader.text(value, key) for key, value in facts.fields.items()} if facts else {},
        fields.place,
        {
            key: value.place
            for each in (facts, got.get("finds"))
            for key, value in (each.fields.items() if isinstance(each, Fields) else ())
        },
        _finds(got.get("finds"), reader),
        reader.text(got.get("edge"), "edge"),
    )


def _finds(node: Node | None, reader: Reader) -> dict[str, str]:
    if node is None:
        return {}
    if not isinstance(node, Fields):
        hint = "For example 'finds: {fan-motor-dead: likely}'."
        reader.problem("not-a-mapping", "'finds' must be 'cause: word' lines.", node.place, hint)
        return {}
    return {cause: reader.text(word, cause) for cause, word in node.fields.items()}


def _given(
    node: Node | None, reader: Reader, *, kind: str = "", subject: str = "", stage: str = ""
) -> tuple[Given, ...]:
    if not isinstance(node, Fields):
        if node is not None:
            hint = "For example 'given: {case_air: 12 F}'."
            message = "'given' must be 'quantity: value' lines."
            reader.problem("not-a-mapping", message, node.place, hint)
        return ()
    given = []
    for name, value in node.fields.items():
        texts = reader.texts(value, name)
        if isinstance(value, Items) and not value.items:
            reader.problem("empty", f"'{name}' has no reading; leave it out.", value.place)
        place = node.key_place(name)
        given.append(Given(name, texts, value.place, kind, subject, stage, place))
    return tuple(given)
