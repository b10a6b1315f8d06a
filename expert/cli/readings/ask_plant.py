"""A plant without a site file: what is asked of it before a search begins, as a site of its own."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from datetime import datetime

import yaml

from expert.cli.job.load_knowledge import load_rules, site_of_text
from expert.cli.readings.kinds_of_plant import KINDS, OF_KIND, SINGLE
from expert.errors import RackwalkError, ReadingError, Stopped, UsageError, nearest
from expert.knowledge.fact_words import fact_words
from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.physics.air.barometer import barometer
from expert.physics.fluids.refrigerants import refrigerant
from expert.sites.ask_store import WHOSE_LAW
from expert.terminal.front import Front, LeaveError, Question
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

NOT_KNOWN = "not known"


def ask_plant(options: argparse.Namespace, front: Front, *, asking: bool) -> Site:
    """The site of a plant from the options and, to a person, from questions."""
    rules = load_rules(options.rulebase)
    facts = fact_words()
    applications, defrosts = (tuple(facts[name]) for name in ("application", "defrost"))
    has = sorted(_devices(rules))
    told: dict[str, str] = {}
    for name, question, choices, read in (
        ("on", "What is it about?", KINDS, None),
        ("refrigerant", "Which refrigerant, by the label on the plant?", (), _refrigerant),
        ("application", "Which application?", applications, None),
        ("defrost", "Which defrost?", (*defrosts, NOT_KNOWN), None),
        ("altitude", "How high is the store, for example 5280 ft or 300 m?", (), _altitude),
        ("jurisdiction", WHOSE_LAW, JURISDICTIONS, None),
    ):
        taken = _reader(choices, read, options.units)
        given = getattr(options, name)
        if name == "jurisdiction" and given is None and not asking:
            given = JURISDICTIONS[0]
        if given is not None:
            try:
                told[name] = taken(given)
            except RackwalkError as error:
                raise UsageError(f"--{name}: {error}") from None
        elif asking:
            told[name] = _ask(front, question, choices, taken, name)
        else:
            raise UsageError(f"Say which plant: --site FILE, or --{name} and what else is known.")
    kind = _kind_of_plant(options, front, rules, single=told["on"] == SINGLE, asking=asking)
    fitted = []
    known = _reader(_FITTED, None, "", alone=NOT_KNOWN)
    for device in has if asking else ():
        said = _ask(front, f"Is this fitted: {device}? Enter alone: {NOT_KNOWN}.", _FITTED, known)
        if said == _FITTED[0]:
            fitted.append(device)
        elif said == _FITTED[1]:
            kind |= _without(device, rules)
    return site_of_text(_site_text(told, kind, fitted), "what was told of the plant", rules)


def _kind_of_plant(
    options: argparse.Namespace, front: Front, rules: Rulebase, *, single: bool, asking: bool
) -> dict[str, str]:
    """Values of the kind of plant: what options say, and of a single unit also what it cools."""
    kind = {"plant_kind": SINGLE if single else "parallel rack"}
    for name, quantity in OF_KIND.items():
        choices = tuple(rules.quantities[quantity].choices)
        taken = _reader(choices, None, options.units)
        given = getattr(options, name)
        if given is not None:
            try:
                kind[quantity] = taken(given)
            except RackwalkError as error:
                raise UsageError(f"--{name}: {error}") from None
        elif name == "cools" and single and asking:
            kind[quantity] = _ask(front, "What does it cool?", choices, taken)
    return kind


_FITTED = ("yes", "no", NOT_KNOWN)


def _devices(rules: Rulebase) -> set[str]:
    """The devices by which limits and rules tell plants apart."""
    made_for = [each.applies for each in rules.limits]
    made_for += [each.applies for each in rules.rules.values()]
    return {device for each in made_for for device in each.get("has", ())}


def _without(device: str, rules: Rulebase) -> dict[str, str]:
    """What a plant has where a device is known not to be fitted, if there is one choice left."""
    left = {}
    for quantity in rules.quantities.values():
        others = [choice for choice in quantity.choices if quantity.fitted.get(choice) != device]
        if device in quantity.fitted.values() and len(others) == 1:
            left[quantity.id] = others[0]
    return left


def _site_text(told: dict[str, str], kind: dict[str, str], fitted: Sequence[str]) -> str:
    title = "the unit" if told["on"] == SINGLE else "the rack"
    rack: dict[str, object] = {
        "id": "R", "title": title, "refrigerant": told["refrigerant"],
        "application": told["application"], "values": kind,
    }  # fmt: skip
    if told["defrost"] != NOT_KNOWN:
        rack["defrost"] = told["defrost"]
    if fitted:
        rack["has"] = list(fitted)
    if told["on"] == "circuit":
        rack["circuits"] = [{"id": "C", "title": "the circuit"}]
    # no two plants without a site file may lend one another their readings
    name = f"no site file, {datetime.now().astimezone():%Y-%m-%d %H:%M:%S}"
    head = {"name": name, "altitude": told["altitude"], "jurisdiction": told["jurisdiction"]}
    site = {"site": head, "racks": [rack]}
    return yaml.safe_dump(site, sort_keys=False, allow_unicode=True)


def _reader(
    choices: Sequence[str], read: Callable[[str, str], str] | None, system: str, alone: str = ""
) -> Callable[[str], str]:
    """What takes a typed text: one of the choices by words, beginning or number, or a value;
    Enter alone is `alone`, if it may be."""

    def taken(text: str) -> str:
        typed = " ".join(text.lower().split()) or alone
        if not typed:
            raise ReadingError("Nothing was typed.")
        if read is not None:
            return read(text.strip(), system)
        if typed.isdecimal() and 1 <= int(typed) <= len(choices):
            return choices[int(typed) - 1]
        same = [each for each in choices if each.lower() == typed]
        begins = same or [each for each in choices if each.lower().startswith(typed)]
        if len(begins) == 1:
            return begins[0]
        hint = nearest(typed, choices) or f"It can be: {', '.join(choices)}."
        raise ReadingError(f"'{text.strip()}' is none of them. {hint}")

    return taken


def _refrigerant(text: str, _: str) -> str:
    return refrigerant(text).designation


def _altitude(text: str, system: str) -> str:
    measure = parse_measure(text, Kind.LENGTH, system=system)
    barometer(measure.value)
    return f"{measure.value:.1f} m"


def _ask(
    front: Front, question: str, choices: Sequence[str], taken: Callable[[str], str],
    what: str = "",
) -> str:  # fmt: skip
    """One answer that can be taken; `what` is asked for where nothing is to choose. Raises
    Stopped."""
    layout = front.layout
    lines = layout.text(question)
    for number, each in enumerate(choices, 1):
        lines += layout.listed(str(number), each, 2)
    front.show(lines)

    def wrong(text: str) -> str:
        try:
            if text.lower() != "q":
                taken(text)
        except RackwalkError as error:
            return str(error)
        return ""

    label = f"1-{len(choices)}> " if choices else f"{what}> "
    while True:
        try:
            typed = front.ask(Question(label, check=wrong))
        except (LeaveError, KeyboardInterrupt):
            raise Stopped("Stopped before a job was begun.") from None
        if typed.lower() == "q":
            raise Stopped("Stopped before a job was begun.")
        if not (refused := wrong(typed)):
            return taken(typed)
        front.show(layout.text(refused))
