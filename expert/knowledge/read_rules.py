"""Reads rules, signs, causes, cautions and the scale of certainty."""

from __future__ import annotations

import re
from collections.abc import Mapping

from expert.errors import Place
from expert.knowledge.certainty_scale import Certainty
from expert.knowledge.hazard_model import IF_NO, LEAVES_OUT, Caution
from expert.knowledge.keys import (
    CAUSE,
    CAUTION,
    CERTAINTY,
    GATE,
    PLAUSIBLE_ERROR,
    RULE,
    SIGN,
)
from expert.knowledge.model import CannotTell, Cause, Gate, PlausibleError, Remedy, Rule, Sign
from expert.knowledge.read_tests import read_tests
from expert.knowledge.reader import Reader, id_hint
from expert.knowledge.yaml_nodes import Fields, Node, Text, places_in
from expert.units.kinds import Kind
from expert.units.measure import difference_kind

URGENCIES = ("safety", "food", "leak", "equipment", "energy")
ACCESS = ("gauges", "opening")
CAUSE_SUBJECTS = ("circuit", "rack", "compressor", "case", "site")
_KEBAB = re.compile(r"^[a-z][a-z0-9-]*$")
SNAKE = re.compile(r"^[a-z][a-z0-9_]*$")


def read_id(node: Node, reader: Reader, form: re.Pattern[str] = _KEBAB) -> str:
    """An id in its form (small letters, digits, hyphens)."""
    text = reader.text(node, "id")
    if not form.match(text):
        reader.problem("bad-id", f"'{text}' is no id.", node.place, id_hint(text, form is SNAKE))
    return text


def read_rule(node: Node, reader: Reader) -> Rule | None:
    """A rule with its tests."""
    fields = reader.entry(node, RULE)
    if fields is None:
        return None
    got = fields.fields
    problems_before = len(reader.problems)
    rule = Rule(
        id=read_id(got["id"], reader),
        when=reader.conditions(got["when"], "when"),
        unless=reader.conditions(got.get("unless"), "unless"),
        evidence_for=_evidence(got, "evidence_for", reader),
        evidence_against=_evidence(got, "evidence_against", reader),
        concludes=reader.texts(got.get("concludes"), "concludes"),
        doubts=reader.texts(got.get("doubts"), "doubts"),
        seen=reader.word(got.get("seen"), "seen", ("yes", "no"), "no") == "yes",
        cannot_tell=_cannot_tell(got.get("cannot_tell"), reader),
        applies=reader.applies(got.get("applies")),
        because=reader.text(got["because"], "because"),
        source=reader.source(got["source"], "this rule"),
        tests=read_tests(got.get("tests"), reader) if reader.proof else (),
        place=fields.place,
        places=_places(fields),
    )
    if len(reader.problems) > problems_before:  # what is missing now was found wanting already
        return rule
    if not rule.when:
        reader.problem("no-condition", f"'{rule.id}' has nothing under 'when:'.", fields.place)
    leads_to = (rule.evidence_for, rule.evidence_against, rule.concludes, rule.cannot_tell)
    if not any(leads_to):
        reader.problem(
            "no-conclusion", f"'{rule.id}' leads to nothing.", fields.place,
            "Give 'evidence_for:', 'evidence_against:', 'concludes:' or 'cannot_tell:'.",
        )  # fmt: skip
    return rule


MET = ("often", "sometimes", "seldom")
_ACTS = {"high": 1, "low": -1, "either": 0}


def _acts_on(node: Node | None, reader: Reader) -> dict[str, int]:
    """What a cause acts on: `{state: high}`, low or either, as 1, -1 or 0."""
    if node is None:
        return {}
    if not isinstance(node, Fields):
        hint = "For example 'acts_on: {condenser_air: low}'."
        said = "It is written 'state: high', 'low' or 'either'."
        reader.problem("not-a-mapping", said, node.place, hint)
        return {}
    return {
        name: _ACTS[reader.word(word, name, tuple(_ACTS), "high")]
        for name, word in node.fields.items()
    }


def _places(fields: Fields) -> Mapping[str, Place]:
    """Where the words of an entry stand that name something else; not those of its tests."""
    return places_in(fields, ("tests",))


def _evidence(got: Mapping[str, Node], key: str, reader: Reader) -> dict[str, str]:
    node = got.get(key)
    if node is None:
        return {}
    if not isinstance(node, Fields):
        cause = node.text if isinstance(node, Text) and node.text else "cause-id"
        hint = f"For example '{key}: {{{cause}: strong}}'."
        reader.problem("not-a-mapping", "Evidence is written 'cause: strength'.", node.place, hint)
        return {}
    return {cause: reader.text(strength, "strength") for cause, strength in node.fields.items()}


def _cannot_tell(node: Node | None, reader: Reader) -> CannotTell | None:
    keys = ("what", "read")
    fields = reader.fields(node, "what cannot be told", keys, keys) if node else None
    if fields is None:
        return None
    return CannotTell(
        reader.text(fields.fields["what"], "what"), reader.texts(fields.fields["read"], "read")
    )


def read_sign(node: Node, reader: Reader) -> Sign | None:
    """A chained conclusion."""
    fields = reader.entry(node, SIGN)
    if fields is None:
        return None
    return Sign(
        read_id(fields.fields["id"], reader, SNAKE),
        reader.text(fields.fields["says"], "says"),
        fields.place,
    )


def read_cause(node: Node, reader: Reader) -> Cause | None:
    """A cause with how to confirm it and what to do."""
    fields = reader.entry(node, CAUSE)
    if fields is None:
        return None
    got = fields.fields
    return Cause(
        id=read_id(got["id"], reader),
        title=reader.text(got["title"], "title"),
        system=reader.text(got["system"], "system"),
        subject=reader.word(got["subject"], "subject", CAUSE_SUBJECTS, "circuit"),
        text=reader.text(got["is"], "is"),
        confirm=reader.texts(got["confirm"], "confirm"),
        remedy=tuple(_remedy(item, reader) for item in reader.items(got["do"], "do")),
        urgency=reader.word(got["urgency"], "urgency", URGENCIES, "equipment"),
        source=reader.source(got["source"], "this cause"),
        cautions=reader.texts(got.get("cautions"), "cautions"),
        parts=reader.texts(got.get("parts"), "parts"),
        leads_to=reader.texts(got.get("leads_to"), "leads_to"),
        applies=reader.applies(got.get("applies")),
        can_be_when=reader.conditions(got.get("can_be_when"), "can_be_when"),
        met=reader.word(got.get("met"), "met", MET, "sometimes"),
        acts_on=_acts_on(got.get("acts_on"), reader),
        symptom=reader.word(got.get("symptom"), "symptom", ("yes", "no"), "no") == "yes",
        not_when=reader.text(got.get("not_when"), "not_when"),
        also=reader.texts(got.get("also"), "also"),
        place=fields.place,
        places=_places(fields),
    )


def _remedy(node: Node, reader: Reader) -> Remedy:
    """A text, or {action, text} where a gate may hold it back."""
    if isinstance(node, Fields):
        fields = reader.fields(node, "a remedy", ("action", "text"), ("action", "text"))
        if fields is None:
            return Remedy("")
        return Remedy(
            reader.text(fields.fields["text"], "text"), read_id(fields.fields["action"], reader)
        )
    if not isinstance(node, Text):
        reader.problem("not-a-text", "each of do must be a text, or {action, text}.", node.place)
        return Remedy("")
    return Remedy(" ".join(reader.texts(node, "do")))


def read_gate(node: Node, reader: Reader) -> Gate | None:
    """What must be known before an action is advised."""
    fields = reader.entry(node, GATE)
    if fields is None:
        return None
    got = fields.fields
    gate = Gate(
        id=read_id(got["id"], reader),
        action=read_id(got["action"], reader),
        needs=reader.conditions(got.get("needs"), "needs"),
        first=reader.text(got["first"], "first"),
        source=reader.source(got["source"], "this gate"),
        never=reader.word(got.get("never"), "answer", ("yes", "no"), "no") == "yes",
        place=fields.place,
    )
    if bool(gate.needs) == gate.never:
        reader.problem("gate", "A gate has either 'needs:' or 'never: yes'.", fields.place)
    return gate


def read_plausible_error(node: Node, reader: Reader) -> PlausibleError | None:
    """By how much a reading of a kind may well be wrong."""
    fields = reader.entry(node, PLAUSIBLE_ERROR)
    if fields is None:
        return None
    got = fields.fields
    kinds = [kind for kind in Kind if kind not in (Kind.CHOICE, Kind.TEXT)]
    kind = Kind(reader.word(got["kind"], "kind", kinds, Kind.TEMPERATURE))
    error = reader.measure(got["error"], "error", difference_kind(kind)) or 0.0
    if error <= 0:
        reader.problem("bad-error", "A plausible error is more than nothing.", got["error"].place)
    source = reader.source(got["source"], "this error")
    return PlausibleError(read_id(got["id"], reader), kind, error, source, fields.place)


def read_caution(node: Node, reader: Reader) -> Caution | None:
    """A hazard with its question."""
    fields = reader.entry(node, CAUTION)
    if fields is None:
        return None
    got = fields.fields
    return Caution(
        id=read_id(got["id"], reader),
        title=reader.text(got["title"], "title"),
        say=reader.texts(got["say"], "say"),
        ask=reader.text(got["ask"], "ask"),
        work=reader.texts(got.get("for"), "for"),
        source=reader.source(got["source"], "this caution"),
        access=reader.word(got.get("access"), "word", ACCESS),
        if_no=reader.word(got.get("if_no"), "way on after a no", IF_NO, LEAVES_OUT),
        on=reader.applies(got.get("on")),
        before=reader.texts(got.get("before"), "before"),
        place=fields.place,
    )


def read_certainty(node: Node, reader: Reader) -> Certainty | None:
    """Named strengths, the words for a certainty, the threshold."""
    fields = reader.entry(node, CERTAINTY)
    if fields is None:
        return None
    scale = fields.fields["strengths"]
    strengths = {}
    if isinstance(scale, Fields):
        strengths = {name: read_share(value, reader) for name, value in scale.fields.items()}
    else:
        reader.problem("not-a-mapping", "strengths must be 'name: number' lines.", scale.place)
    words = []
    for item in reader.items(fields.fields["words"], "words"):
        if word := reader.fields(item, "a word", ("from", "say"), ("from", "say")):
            at_least = read_share(word.fields["from"], reader)
            words.append((at_least, reader.text(word.fields["say"], "say")))
    if words and min(words)[0] > 0:
        place = fields.fields["words"].place
        reader.problem("certainty-words", "One of the words must be from 0.", place)
    return Certainty(
        strengths,
        tuple(sorted(words, reverse=True)),
        read_share(fields.fields["threshold"], reader),
        reader.source(fields.fields["source"], "the scale"),
    )


def read_share(node: Node, reader: Reader) -> float:
    """A number from 0 to 1; 0 with a problem for another."""
    text = reader.text(node, "share")
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value <= 1:
        reader.problem("not-a-share", f"'{text}' must be a number from 0 to 1.", node.place)
        return 0.0
    return value
