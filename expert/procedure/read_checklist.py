"""Reads the nodes of a checklist file."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from expert.errors import Place, nearest
from expert.knowledge.conditions import Condition
from expert.knowledge.read_quantities import SUBJECTS
from expert.knowledge.read_rules import read_id
from expert.knowledge.reader import Reader
from expert.knowledge.source import Source
from expert.knowledge.where import SPOTS
from expert.knowledge.yaml_nodes import Fields, Node
from expert.procedure.checklist import (
    ANY,
    GO_ON,
    LEAVE_CHECKLIST,
    LEAVE_PHASE,
    STEP_TYPES,
    Checklist,
    Foreign,
    Needs,
    Phase,
    Repeat,
    Step,
)
from expert.units.kinds import Kind

STAGES = ("as found", "as left")
MEMBERS = ("circuit", "compressor", "case")
OTHERWISE = (LEAVE_PHASE, LEAVE_CHECKLIST, GO_ON)
MOST_SAMPLES, MOST_ROUNDS = 200, 20
_CHECKLIST = (
    "id", "title", "revision", "purpose", "subject", "made_for", "applies", "not_for", "needs",
    "source", "phases",
)  # fmt: skip
_REQUIRED = ("id", "title", "revision", "purpose", "subject", "source", "phases")
_NEEDS = ("tools", "people", "permission", "conditions", "time")
_PHASE = ("id", "title", "stage", "place", "unless", "repeat", "for each", "steps")
_ANY_STEP = (
    "id", "place", "say", "does", "harmless", "why", "how", "applies", "not_for", "when", "unless",
)  # fmt: skip
_MORE = {
    "instruct": ("opens", "protects", "clock", "after", "since", "sheet"),
    "ask": ("clock", "after", "since"),
    "observe": ("usual", "clock", "after", "since"),
    "time": ("clock", "after"),
    "clock": ("with",),
    "watch": ("clock", "every", "ask", "until", "at_most", "short when", "short ask"),
    "stop": ("until", "back to", "else"),
    "search": ("hands over", "short names", "not asked"),
}
_ALSO_KEYS = ("clock", "ask")  # types whose names are keys of steps of other types
FOREIGN = ("when", "applies", "not_for", "readings")
_NEEDED = {
    "time": ("clock",),
    "watch": ("ask",),
    "instruct": ("id",),
    "stop": ("id", "until", "else"),
}


def read_checklist(node: Node, reader: Reader) -> Checklist | None:
    """The checklist of a file's root, not yet held against the rulebase."""
    root = reader.fields(node, "a checklist file", ("checklist",), ("checklist",))
    if root is None:
        return None
    fields = reader.fields(root.fields["checklist"], "a checklist", _CHECKLIST, _REQUIRED)
    if fields is None:
        return None
    got = fields.fields
    phases = (_phase(item, reader) for item in reader.items(got["phases"], "phases"))
    return Checklist(
        id=read_id(got["id"], reader),
        title=reader.text(got["title"], "title"),
        revision=reader.text(got["revision"], "revision"),
        purpose=reader.text(got["purpose"], "purpose"),
        subject=reader.word(got["subject"], "subject", (*SUBJECTS, ANY), "circuit"),
        source=reader.source(got["source"], "this checklist"),
        phases=tuple(phase for phase in phases if phase is not None),
        needs=_needs(got.get("needs"), reader),
        applies=reader.applies(got.get("applies")),
        not_for=reader.applies(got.get("not_for")),
        made_for=reader.text(got.get("made_for"), "made_for"),
        place=fields.place,
    )


def _needs(node: Node | None, reader: Reader) -> Needs:
    fields = reader.fields(node, "needs", _NEEDS)
    if fields is None:
        return Needs()
    got = fields.fields
    return Needs(
        tools=reader.texts(got.get("tools"), "tools"),
        people=reader.texts(got.get("people"), "people"),
        permission=reader.texts(got.get("permission"), "permission"),
        conditions=reader.texts(got.get("conditions"), "conditions"),
        time=reader.text(got.get("time"), "time"),
    )


def _phase(node: Node, reader: Reader) -> Phase | None:
    fields = reader.fields(node, "a phase", _PHASE, ("id", "title", "stage", "steps"))
    if fields is None:
        return None
    got = fields.fields
    steps = (read_step(item, reader) for item in reader.items(got["steps"], "steps"))
    unless = reader.conditions(got.get("unless"), "unless")
    return Phase(
        id=read_id(got["id"], reader),
        title=reader.text(got["title"], "title"),
        stage=reader.word(got["stage"], "stage", STAGES, STAGES[0]),
        steps=tuple(left_out_with(step, unless) for step in steps if step is not None),
        unless=unless,
        repeat=_repeat(got.get("repeat"), reader),
        for_each=reader.word(got.get("for each"), "kind to be taken one by one", MEMBERS),
        spot=reader.word(got.get("place"), "place", SPOTS),
        place=fields.place,
    )


def left_out_with(step: Step, unless: tuple[Condition, ...]) -> Step:
    """A step of a phase that is left out; what was opened before it is still put back."""
    return step if step.type == "restore" else replace(step, unless=(*step.unless, *unless))


def _repeat(node: Node | None, reader: Reader) -> Repeat | None:
    keys = ("ask", "while", "at_most")
    fields = reader.fields(node, "repeat", keys, keys)
    if fields is None:
        return None
    got = fields.fields
    return Repeat(
        reader.text(got["ask"], "ask"),
        reader.text(got["while"], "while"),
        reader.whole(got["at_most"], "at_most", 1, MOST_ROUNDS, 1),
    )


def read_step(node: Node, reader: Reader) -> Step | None:
    """A step of a checklist, or of a pack that adds it; None where it cannot be read."""
    if not isinstance(node, Fields):
        reader.problem("not-a-mapping", "A step must be 'type: subject' lines.", node.place)
        return None
    types = [name for name in node.fields if name in STEP_TYPES]
    for leading in ("watch", "time", "ask", "observe", "instruct"):  # 'clock' is a key of them too
        types = [leading] if leading in types and {*types} <= {leading, *_ALSO_KEYS} else types
    if len(types) != 1:
        _no_type(node, types, reader)
        return None
    step_type = types[0]
    allowed = (step_type, *_ANY_STEP, *_MORE.get(step_type, ()))
    fields = reader.fields(
        node, f"a step of type '{step_type}'", allowed, _NEEDED.get(step_type, ())
    )
    if fields is None:
        return None
    got = fields.fields
    step = Step(
        id="",
        type=step_type,
        text="",
        say=reader.text(got.get("say"), "say"),
        why=reader.text(got.get("why"), "why"),
        how=reader.text(got.get("how"), "how"),
        opens=reader.text(got.get("opens"), "opens"),
        sheet=reader.text(got.get("sheet"), "sheet"),
        does=reader.texts(got.get("does"), "does"),
        harmless=reader.text(got.get("harmless"), "harmless"),
        when=reader.conditions(got.get("when"), "when"),
        unless=reader.conditions(got.get("unless"), "unless"),
        applies=reader.applies(got.get("applies")),
        not_for=reader.applies(got.get("not_for")),
        spot=reader.word(got.get("place"), "place", SPOTS),
        place=fields.place,
    )
    step = _subject(step, got[step_type], reader)
    step = _timed(step, fields, reader)
    if step_type == "stop":
        step = _stop(step, fields, reader)
    if "protects" in got:
        says = reader.word(got["protects"], "answer", ("yes", "no"), "no")
        step = replace(step, protects=says == "yes", advises=says == "no")
    if step_type == "watch":
        step = _watch(step, fields, reader)
    if step_type == "search":
        step = replace(
            step, hands_over=_handed(got.get("hands over"), reader),
            short_names=_short_names(got.get("short names"), reader),
            not_asked=tuple(_not_asked(got.get("not asked"), reader)),
        )  # fmt: skip
    step_id = read_id(got["id"], reader) if "id" in got else _default_id(step)
    return replace(step, id=step_id)


def _timed(step: Step, fields: Fields, reader: Reader) -> Step:
    """The clock by which a step goes, how much of it must have passed, what starts it; the usual
    answer of a look."""
    got = fields.fields
    if step.type == "clock":
        return replace(step, starts_with=read_id(got["with"], reader) if "with" in got else "")
    after = reader.measure(got.get("after"), "after", Kind.DURATION)
    if "after" in got and not {"clock", "since"} & set(got):
        message = "'after:' counts from the start of a clock."
        hint = "Write 'clock:' with it, or 'since: STEP'."
        reader.problem("no-clock", message, got["after"].place, hint)
    if "since" in got and ("after" not in got or "clock" in got):
        message = "'since:' says from which step 'after:' counts, in place of a clock."
        reader.problem("since", message, got["since"].place)
    if "since" in got:
        step = replace(step, since=read_id(got["since"], reader))
    if "clock" in got:
        step = replace(step, clock=reader.text(got["clock"], "clock"))
    if not after and "usual" not in got:
        return step
    return replace(step, after=after or 0.0, usual=reader.text(got.get("usual"), "usual"))


def _stop(step: Step, fields: Fields, reader: Reader) -> Step:
    got = fields.fields
    return replace(
        step,
        passed=reader.conditions(got["until"], "until"),
        back_to=read_id(got["back to"], reader) if "back to" in got else "",
        otherwise=reader.word(got["else"], "way out of a stop", OTHERWISE, LEAVE_PHASE),
    )


def _handed(node: Node | None, reader: Reader) -> dict[str, tuple[Checklist, ...]]:
    """The ids of checklists by cause or system; the loader puts the checklists there."""
    if not isinstance(node, Fields):
        if node is not None:
            message = "'hands over' must be 'cause or system: [checklists]' lines."
            reader.problem("not-a-mapping", message, node.place)
        return {}
    return {
        name: tuple(_only_named(each, listed.place) for each in reader.texts(listed, name))
        for name, listed in node.fields.items()
    }


def _short_names(node: Node | None, reader: Reader) -> dict[str, str]:
    if not isinstance(node, Fields):
        if node is not None:
            message = "'short names' must be 'name: quantity' lines."
            reader.problem("not-a-mapping", message, node.place)
        return {}
    return {name: reader.text(value, name) for name, value in node.fields.items()}


def _not_asked(node: Node | None, reader: Reader) -> Iterator[Foreign]:
    """Readings that a search leaves out on a plant of another kind."""
    for item in reader.items(node, "not asked") if node is not None else ():
        if fields := reader.fields(item, "what is not asked", FOREIGN, ("readings",)):
            got = fields.fields
            if len(got) == 1:
                message = "Nothing says on which plant these are not asked."
                hint = "Add 'when:', 'applies:' or 'not_for:'."
                reader.problem("missing-key", message, item.place, hint)
            yield Foreign(
                reader.texts(got["readings"], "readings"),
                reader.conditions(got.get("when"), "when"),
                reader.applies(got.get("applies")),
                reader.applies(got.get("not_for")),
            )


def _only_named(name: str, place: Place) -> Checklist:
    return Checklist(name, "", "", "", "", Source("", ""), (), place=place)


def _no_type(node: Fields, types: list[str], reader: Reader) -> None:
    if types:
        message = f"A step is of one type, and this one is of {' and '.join(types)}."
        reader.problem("two-types", message, node.place, "Make two steps of it.")
        return
    hints = (nearest(key, STEP_TYPES) for key in node.fields)
    hint = next(filter(None, hints), f"Types: {', '.join(STEP_TYPES)}.")
    reader.problem("no-type", "This step has no type.", node.place, hint)


def _subject(step: Step, node: Node, reader: Reader) -> Step:
    """What stands behind the type's key: one or more quantities, an id, a name or a text."""
    if step.type == "show":
        return replace(step, quantities=reader.texts(node, "show"))
    text = reader.text(node, step.type)
    if not text:
        reader.problem("empty", f"Nothing stands behind '{step.type}:'.", node.place)
    if step.type in ("ask", "observe", "time"):
        return replace(step, text=text, quantities=(text,))
    if step.type in ("adjust", "watch", "call"):
        text = read_id(node, reader)
    return replace(step, text=text, clock=text if step.type == "clock" else "")


def _watch(step: Step, fields: Fields, reader: Reader) -> Step:
    got = fields.fields
    most = reader.whole(got.get("at_most"), "at_most", 1, MOST_SAMPLES, 15)
    every = reader.measure(got.get("every"), "every", Kind.DURATION)
    if every is not None and every <= 0:
        reader.problem("not-a-measure", "'every' must be longer than nothing.", got["every"].place)
    return replace(
        step,
        quantities=reader.texts(got["ask"], "ask"),
        every=every or 0.0,
        until=reader.text(got.get("until"), "until"),
        short=reader.conditions(got.get("short when"), "short when"),
        short_asks=reader.texts(got.get("short ask"), "short ask"),
        at_most=most,
    )


def _default_id(step: Step) -> str:
    slug = re.sub(r"[^a-z0-9]+", "-", step.text.lower()).strip("-")
    if step.type in ("ask", "observe", "time", "caution", "adjust", "watch", "call"):
        return slug
    if step.type in ("clock", "restore"):
        return f"{step.type}-{slug}"
    if step.type == "show" and step.quantities:
        return f"show-{step.quantities[0].replace('_', '-')}"
    return step.type
