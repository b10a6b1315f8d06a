"""A call without a site file: its complaint, then what of the plant matters for it, as a site.

Only what the open causes of the complaint hang on is asked; what is not known stays unknown.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Collection, Mapping
from datetime import datetime

import yaml

from expert.cli.job.load_knowledge import load_rules, site_of_text
from expert.cli.readings.kinds_of_plant import KINDS, OF_KIND, OF_SUBJECT, SINGLE
from expert.cli.readings.plant_question import NOT_KNOWN, PlantQuestion, ask_of_plant
from expert.errors import RackwalkError, ReadingError, UsageError
from expert.inference.hangs_on import complaint_of, hangs_on
from expert.knowledge.complaints import complaint_meant
from expert.knowledge.fact_words import APPLICATIONS, DEFROSTS
from expert.knowledge.influence_model import CASES, COMPLAINT, COOLS, PARALLEL, PLANT_KIND
from expert.knowledge.judge import choice
from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.made_when_used import dataclass
from expert.physics.air.barometer import barometer
from expert.physics.fluids.refrigerants import refrigerant
from expert.sites.ask_store import WHOSE_LAW
from expert.sites.site_roles import case_types
from expert.terminal.front import Front
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

_YES, _NO = "yes", "no"
_ON_RACK = "rack"
_SEA_LEVEL = "0 m"


@dataclass(frozen=True)
class ToldByCall:
    """A plant as a site of its own, and what was complained of, empty where that is not told."""

    site: Site
    complaint: str = ""


def ask_plant(
    options: argparse.Namespace, front: Front, *, asking: bool, say: str = "What is complained of?"
) -> ToldByCall:
    """The call from the options and, to a person, from questions; `say` asks the complaint.

    Raises UsageError for an option that is wrong, and for what is missing where nobody is asked.
    """
    rules = load_rules(options.rulebase)
    complaint = _complaint(front, rules, say) if asking else ""
    said = _meant(complaint, rules) if complaint else ""
    told: dict[str, str] = {}

    def tell(name: str, asked: PlantQuestion, wanted: bool = True) -> str:
        if getattr(options, name) is not None:
            told[name] = _given(options, name, asked)
        elif asking and wanted:
            told[name] = ask_of_plant(asked, front)
        elif asking or not wanted:
            told[name] = asked.alone
        else:
            raise UsageError(f"Say which plant: --site FILE, or --{name} and what else is known.")
        return told[name]

    about, first = _may_be_about(said, rules)
    about = about if options.on is None else KINDS
    tell("on", PlantQuestion("What is it about?", choices=about, alone=NOT_KNOWN, meant=True))
    kind = first if told["on"] == NOT_KNOWN else _subject(told["on"])
    matters = hangs_on(said, kind, rules)
    tell(
        "refrigerant",
        PlantQuestion(
            "Which refrigerant, by the label on the plant? Pressures and some cautions hang on it.",
            "refrigerant", take=_refrigerant, alone=NOT_KNOWN,
        ),
    )  # fmt: skip
    tell(
        "application",
        PlantQuestion("Which application?", choices=APPLICATIONS, alone=NOT_KNOWN),
        "application" in matters,
    )
    tell(
        "defrost",
        PlantQuestion("Which defrost?", choices=(*DEFROSTS, NOT_KNOWN), alone=NOT_KNOWN),
        "defrost" in matters or not asking,
    )
    single = told["on"] == SINGLE
    values = _values(options, front, rules, single=single, asking=asking)
    if told["on"] == NOT_KNOWN:
        del values[PLANT_KIND]
    elif told["on"] == "circuit":  # it was chosen as a case or a cold room
        values.setdefault(COOLS, CASES)
    case = ""
    if asking and kind == "circuit" and "case_type" in matters:
        case = ask_of_plant(
            PlantQuestion("Which kind of case?", choices=case_types(rules), alone=NOT_KNOWN), front
        )
    fitted = []
    for device in sorted(_devices(rules) & matters) if asking else ():
        question = PlantQuestion(
            f"Is this fitted: {device}?", choices=(_YES, _NO, NOT_KNOWN), alone=NOT_KNOWN
        )
        answer = ask_of_plant(question, front)
        fitted += [device] if answer == _YES else []
        values |= _without(device, rules) if answer == _NO else {}
    tell(
        "altitude",
        PlantQuestion(
            "How high is the store, for example 5280 ft or 300 m?", "altitude",
            take=_altitude(options.units), alone=_SEA_LEVEL,
            says="reckoned as at the sea; 1,000 ft higher a gauge shows 0.5 psi more",
        ),
    )  # fmt: skip
    _law(tell, options, asking=asking)
    text = _site_text(told, kind, values, fitted, case if case != NOT_KNOWN else "")
    return ToldByCall(site_of_text(text, "what was told of the plant", rules), complaint)


def _complaint(front: Front, rules: Rulebase, say: str) -> str:
    """The complaint as it was typed; empty where it is not known."""
    quantity = rules.quantities[COMPLAINT]

    def take(text: str) -> str:
        _meant(text, rules)
        return text

    asked, words = PlantQuestion(say, choices=quantity.choices, take=take, alone=NOT_KNOWN), ""
    while (typed := ask_of_plant(asked, front)) != NOT_KNOWN:
        meant = _meant(typed, rules)
        if words and meant == asked.alone:
            return words
        if typed.isdecimal() or meant == typed.lower():
            return meant
        words = typed
        text = f"'{typed}' is taken as: {meant}. Type a number or other words if it is not that."
        asked = PlantQuestion(text, choices=quantity.choices, take=take, alone=meant, again=True)
    return ""


def _meant(text: str, rules: Rulebase) -> str:
    """The choice that a complaint in plain words means. Raises ReadingError."""
    try:
        return choice(text, rules.quantities[COMPLAINT])
    except ReadingError:
        meant = complaint_meant(text, rules)
        if not meant:
            raise
        return meant


def _may_be_about(said: str, rules: Rulebase) -> tuple[Mapping[str, str], str]:
    """What a call may be about, the likeliest first, and of which kind of subject that is."""
    about = complaint_of(said, rules)
    subjects = about.subjects if about and about.subjects else ("rack", "circuit")
    named = dict.fromkeys(OF_SUBJECT[each] for each in subjects if each in OF_SUBJECT)
    return {each: KINDS[each] for each in (*named, SINGLE)}, next(iter(named))


def _subject(on: str) -> str:
    return "circuit" if on == "circuit" else _ON_RACK


def _law(
    tell: Callable[[str, PlantQuestion], str], options: argparse.Namespace, *, asking: bool
) -> None:
    """By whose law: asked once, since it stays so for a person."""
    usual = JURISDICTIONS[0]
    if options.jurisdiction is None and not asking:
        options.jurisdiction = usual
    unset = options.jurisdiction is None
    law = tell("jurisdiction", PlantQuestion(WHOSE_LAW, choices=JURISDICTIONS, alone=usual))
    if unset:
        from expert.cli.job.remember import remember_law

        remember_law(law)


def _values(
    options: argparse.Namespace, front: Front, rules: Rulebase, *, single: bool, asking: bool
) -> dict[str, str]:
    """Values of the kind of plant: what options say, and of a single unit also what it cools."""
    kind = {PLANT_KIND: SINGLE if single else PARALLEL}
    for name, quantity in OF_KIND.items():
        choices = rules.quantities[quantity].choices
        asked = PlantQuestion("What does it cool?", choices=choices, alone=NOT_KNOWN)
        told = NOT_KNOWN
        if getattr(options, name) is not None:
            told = _given(options, name, asked)
        elif name == "cools" and single and asking:
            told = ask_of_plant(asked, front)
        kind |= {quantity: told} if told != NOT_KNOWN else {}
    return kind


def _given(options: argparse.Namespace, name: str, asked: PlantQuestion) -> str:
    """What an option says. Raises UsageError."""
    try:
        return asked.taken(getattr(options, name))
    except RackwalkError as error:
        raise UsageError(f"--{name}: {error}") from None


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


def _site_text(
    told: dict[str, str], kind: str, values: dict[str, str], fitted: Collection[str], case: str
) -> str:
    title = {SINGLE: "the unit", NOT_KNOWN: "the plant"}.get(told["on"], "the rack")
    rack: dict[str, object] = {
        "id": "R", "title": title, "refrigerant": told["refrigerant"],
        "application": told["application"], "values": values,
    }  # fmt: skip
    if told["defrost"] != NOT_KNOWN:
        rack["defrost"] = told["defrost"]
    if fitted:
        rack["has"] = list(fitted)
    if kind == "circuit":
        circuit = {"id": "C", "title": "the circuit"}
        rack["circuits"] = [circuit | ({"case_type": case} if case else {})]
    # no two plants without a site file may lend one another their readings
    name = f"no site file, {datetime.now().astimezone():%Y-%m-%d %H:%M:%S}"
    head = {"name": name, "altitude": told["altitude"], "jurisdiction": told["jurisdiction"]}
    if told["altitude"] == _SEA_LEVEL:
        head["note"] = "Its altitude was not told; reckoned as at the sea."
    site = {"site": head, "racks": [rack]}
    return yaml.safe_dump(site, sort_keys=False, allow_unicode=True)


def _refrigerant(text: str) -> str:
    return refrigerant(text).designation


def _altitude(system: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        measure = parse_measure(text, Kind.LENGTH, system=system)
        barometer(measure.value)
        return f"{measure.value:.1f} m"

    return read
