"""What a page shows of the step or steps that are asked now, and how they are answered there."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from expert.inference.sentences import first_up
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.model import Quantity
from expert.procedure.active import Active
from expert.procedure.closing import STATES
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.corrections import answer_of
from expert.procedure.history import DONE, NOT_LOOKED_AT, STILL_OPEN
from expert.procedure.open_items import TYPE as OPEN_ITEM
from expert.procedure.open_now import Offer, takeable
from expert.procedure.people import room_of
from expert.procedure.screens import HAZARDS, LOOKS, STEP, Screen
from expert.procedure.search import TYPE as SEARCH
from expert.procedure.spots import spot_of
from expert.terminal.diagnosis_so_far import member_name
from expert.terminal.listing import title_of
from expert.terminal.step_view import StepView
from expert.units.kinds import Kind, unit_for, units_of
from expert.web.live_jobs import AtWork
from expert.web.paragraphs import PAGE

# How a step is answered on a page.
(SCREEN, CAUTION, NUMBER, CHOICE, WORDS, CLOCK, TIME, ADJUST, SIGN, MEMBERS, STOP, CALL, OPEN,
 CLOSING, ENDED, PLAIN) = (
    "screen", "caution", "number", "choice", "words", "clock", "time", "adjust", "sign", "members",
    "stop", "call", "open", "closing", "ended", "plain",
)  # fmt: skip
_BY_TYPE = {
    "caution": CAUTION, "clock": CLOCK, "adjust": ADJUST, "sign": SIGN, "members": MEMBERS,
    "stop": STOP, "call": CALL, OPEN_ITEM: OPEN, CLOSE: CLOSING, SEARCH: ENDED,
}  # fmt: skip
# Below zero they mean something; of other kinds no reading is, so that no sign is offered.
_SIGNED = (Kind.TEMPERATURE, Kind.TEMPERATURE_DIFFERENCE, Kind.GAUGE_PRESSURE)
_NUMBER_FIRST = re.compile(r"^\s*(?P<sign>[-+\u2212]?)\s*(?P<rest>.*?)\s*$", re.DOTALL)
ANSWERS = (DONE, STILL_OPEN, NOT_LOOKED_AT)
ANYWHERE = ("display", "store")


@dataclass(frozen=True)
class Blank:
    """A field for a value: `form` is NUMBER, CHOICE or WORDS; `unit` what a bare number means."""

    form: str
    unit: str = ""
    units: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    signed: bool = False
    colon: bool = False
    minus: bool = False
    default: str = ""
    own_words: bool = False


@dataclass(frozen=True)
class ScreenPart:
    """One of several things that are asked together."""

    number: int
    title: str
    says: tuple[str, ...] = ()
    opens: str = ""


@dataclass(frozen=True)
class StepPage:
    """What is asked now. `keys` are the keys of its steps; `lines` the paragraphs above the form.

    `skips` are the ways to leave it out, each with what it says; empty where it cannot be.
    `elapsed` is what its clock shows and `due` when it is to be answered on it, in seconds. `kept`
    says that a phone may keep the answer while it has no connection.
    """

    keys: tuple[str, ...]
    form: str
    where: str
    spot: str
    title: str
    lines: tuple[str, ...]
    kind: str = STEP
    parts: tuple[ScreenPart, ...] = ()
    blank: Blank | None = None
    expected: str = ""
    skips: tuple[tuple[str, str], ...] = ()
    earlier: tuple[str, ...] = ("", "", "")
    offers: tuple[tuple[str, str, bool], ...] = ()
    states: tuple[tuple[str, str], ...] = tuple(STATES.items())
    answers: tuple[str, ...] = ANSWERS
    searched: bool = False
    again: bool = True
    default: str = ""
    clock: str = ""
    elapsed: float | None = None
    due: float = 0.0
    kept: bool = False

    @property
    def key(self) -> str:
        """The key of the first step."""
        return self.keys[0]


def step_page(work: AtWork, screen: Screen) -> StepPage:
    """The page of what is asked now."""
    session, first = work.session, screen.first
    at = StepView(session.picture, first, session.now(), PAGE)
    spot = spot_of(first, work.texts.rulebase)
    if screen.kind != STEP:
        return _several(work, screen, spot)
    title = _title(first, work)
    said_above = {title.casefold(), title.casefold().partition(", sample ")[0]}
    told = work.texts.asked(at)
    lines = [each for each in told if each.rstrip(".").casefold() not in said_above]
    quantity = work.texts.rulebase.quantities.get(first.quantity)
    clock = session.runner.elapsed(session.picture, first, at.now)
    due = session.runner.due(session.picture, first, at.now)
    default = session.default()
    return StepPage(
        (first.key,), _form(first, quantity), work.texts.where(first), spot, title, tuple(lines),
        blank=blank_of(work, first, default) if quantity is not None else None,
        expected=session.runner.expected(first), skips=_skips(first),
        earlier=_adjusted(work, first), offers=_offers(work, first, default),
        searched=first.searched, again=first.again, default=default, clock=first.step.clock,
        elapsed=clock.seconds if clock else None,
        due=(due - clock.started).total_seconds() if clock and due else 0.0,
        kept=_may_wait(work, first),
    )  # fmt: skip


def _may_wait(work: AtWork, active: Active) -> bool:
    """Whether a step is a reading that is taken as well later, with its time: no wait, no search,
    and nothing that decides on the spot what comes next."""
    if active.step.type == "time" or active.step.after or active.searched:
        return False
    keys = {each.active.key for each in takeable(work.session.open_now())}
    return active.key in keys


def place_rows(work: AtWork) -> Sequence[Offer]:
    """What can be read now, in any order, where a person is; else where the checklist stands."""
    session, rules = work.session, work.texts.rulebase
    current = session.current
    offered = takeable(session.open_now())
    if session.at:
        here = [each for each in offered if room_of(each.active, rules) in session.at]
    elif current is None:
        return ()
    else:
        spot = spot_of(current, rules)
        if spot in ANYWHERE:
            spot = next((each.spot for each in offered if each.spot not in ANYWHERE), spot)
        here = [each for each in offered if each.spot in (spot, *ANYWHERE)]
    return tuple(each for each in here if each.active.step.type != "time")


def row_title(work: AtWork, active: Active) -> str:
    """'A4 Product temperature, sample 2'."""
    member = f"{active.subject} " if active.subject else ""
    return f"{member}{title_of(active, work.texts.rulebase)}"


def blank_of(work: AtWork, active: Active, default: str = "") -> Blank:
    """The field of a reading, with what Enter alone would give in a terminal."""
    quantity = work.texts.rulebase.quantities[active.quantity]
    if quantity.is_choice:
        choices = tuple((phrase, meaning) for phrase, meaning in quantity.choices.items())
        words = quantity.id == COMPLAINT  # what a store says is understood in its own words too
        return Blank(CHOICE, choices=choices, default=default, own_words=words)
    if quantity.kind is Kind.TEXT:
        return Blank(WORDS, default=default)
    unit = quantity.unit or unit_for(quantity.kind, work.session.runner.system).name
    units = tuple(each.name for each in units_of(quantity.kind) if each.name)
    signed = quantity.kind in _SIGNED
    split = _NUMBER_FIRST.match(default)
    minus = bool(split and split["sign"] in ("-", "\N{MINUS SIGN}") and signed)
    bare = split["rest"] if split and signed else default
    number, _, typed_unit = bare.partition(" ")
    if typed_unit in units:
        bare, unit = number, typed_unit
    return Blank(
        NUMBER, unit, units, signed=signed, colon=quantity.kind is Kind.DURATION, minus=minus,
        default=bare,
    )  # fmt: skip


def value_text(typed: str, *, minus: bool = False, unit: str = "") -> str:
    """What was typed into the field of a number, with the key for its sign and its unit."""
    text = " ".join(typed.split()).replace("\N{MINUS SIGN}", "-")
    if not text:
        return ""
    if minus and not text.startswith("-"):
        text = f"-{text.lstrip('+')}"
    bare = re.fullmatch(r"([-+]?[\d.,]+)((?: (?:by|at) .+)?)", text)  # its way or time behind it
    return " ".join(f"{bare[1]} {unit}{bare[2]}".split()) if bare else text


def _several(work: AtWork, screen: Screen, spot: str) -> StepPage:
    first, last = screen.first, screen.parts[-1]
    known = {entry.text("caution") for entry in work.session.picture.acknowledged}
    parts = tuple(
        _part(work, screen, number, each, known) for number, each in enumerate(screen.parts, 1)
    )
    title = {
        HAZARDS: "Caution: tick each that is so",
        LOOKS: "Look at each; tick what is not as said here",
    }.get(screen.kind, "Do each; tick what is not done")
    where = work.texts.where(first).replace(
        f"Step {first.number} ", f"Steps {first.number} to {last.number} ", 1
    )
    keys = tuple(each.key for each in screen.parts)
    return StepPage(keys, SCREEN, where, spot, title, (), screen.kind, parts)


def _part(
    work: AtWork, screen: Screen, number: int, part: Active, known: set[str]
) -> ScreenPart:  # fmt: skip
    rules = work.texts.rulebase
    if screen.kind == HAZARDS:
        caution = rules.cautions[part.step.text]
        says = () if part.step.text in known else tuple(caution.say)
        return ScreenPart(number, f"{caution.title}: {caution.ask}", says)
    title = title_of(part, rules)
    if screen.kind == LOOKS:
        quantity = rules.quantities[part.quantity]
        return ScreenPart(
            number, f"{title}: {part.step.usual}", (quantity.where,) if quantity.where else ()
        )
    return ScreenPart(number, part.step.say or first_up(title), opens=part.step.opens)


def _title(active: Active, work: AtWork) -> str:
    title = title_of(active, work.texts.rulebase).rstrip(".")
    if active.subject:
        return f"{member_name(work.session.runner.members[active.subject])}: {title}"
    return title


def _form(active: Active, quantity: Quantity | None) -> str:
    if active.step.type == "time":
        return TIME
    if quantity is None:
        return _BY_TYPE.get(active.step.type, PLAIN)
    if quantity.is_choice:
        return CHOICE
    return WORDS if quantity.kind is Kind.TEXT else NUMBER


def _skips(active: Active) -> tuple[tuple[str, str], ...]:
    """As the terminal asks: this value, the rest of a watch, the rest of a member."""
    if active.step.type in ("sign", CLOSE, OPEN_ITEM) or (
        active.step.type == "caution" and not active.quantity
    ):
        return ()
    ways = [("step", "this value" if active.sample else "this step")]
    if active.sample:
        ways.append(("rest", "the rest of this watch"))
    if active.subject:
        ways.append(("member", f"what is still to be done on {active.subject}"))
    return tuple(ways)


def _adjusted(work: AtWork, active: Active) -> tuple[str, ...]:
    before = work.session.picture.before(active.key)
    if active.step.type != "adjust" or before is None or before.kind != "adjust":
        return ("", "", "")
    return tuple(before.text(name) for name in ("what", "from", "to"))


def _offers(work: AtWork, active: Active, default: str) -> tuple[tuple[str, str, bool], ...]:
    chosen = [each.strip() for each in default.split(",")]
    return tuple(
        (name, member_name(work.session.runner.members[name]), default == "all" or name in chosen)
        for name in active.offers
    )


@dataclass(frozen=True)
class ClosedStep:
    """A closed step in the list, with what was entered and by whom."""

    key: str
    title: str
    answer: str
    who: str


def closed_steps(work: AtWork) -> list[tuple[str, list[ClosedStep]]]:
    """Every closed step by phase."""
    found: list[tuple[str, list[ClosedStep]]] = []
    for active in work.session.runner.plan(work.session.picture):
        if active.entry is None:
            continue
        member = f", {active.subject}" if active.subject else ""
        turn = f", round {active.round}" if active.round else ""
        head = f"{active.phase.title}{member} ({active.stage}{turn})"
        if not found or found[-1][0] != head:
            found.append((head, []))
        title = title_of(active, work.texts.rulebase).removesuffix(".")
        listed = ClosedStep(active.key, title, answer_of(active.entry), active.entry.who)
        found[-1][1].append(listed)
    return found
