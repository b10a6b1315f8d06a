"""From the text typed at a step to the entry that closes it."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta

from expert.errors import ReadingError, nearest
from expert.knowledge import judge
from expert.knowledge.complaints import complaint_meant
from expert.knowledge.hazard_model import ENDS_THE_JOB, LEAVES_ALL
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.model import Quantity, Rulebase
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.entries import Draft, Entry
from expert.procedure.reading_time import when_read
from expert.units.kinds import Kind
from expert.units.measure import Measure, format_value
from expert.units.parse import accepted, parse_measure

_ALL = "all"
_ADJUST_FORM = "Type what was changed; the position before; the position after, with ';' between."


@dataclass(frozen=True)
class Accepted:
    """What to append, and a sentence for the person where one is due."""

    drafts: tuple[Draft, ...]
    message: str = ""


@dataclass(frozen=True)
class NeedsConfirmation:
    """A second question about an unusual value. Nothing has been entered yet."""

    question: str
    text: str


@dataclass(frozen=True)
class Answering:
    """Judges typed texts. `barometer` [Pa] of the site; `system` is that of bare numbers.

    `suit` gives a quantity the edges that hold on a member of the rack; `instruments` are the ways
    of reading that the crew has in place of the usual ones.
    """

    rulebase: Rulebase
    barometer: float
    system: str
    suit: Callable[[Quantity, str], Quantity] = lambda quantity, _: quantity
    instruments: tuple[str, ...] = ()

    def accept(
        self,
        active: Active,
        text: str,
        now: datetime,
        *,
        earlier: Entry | None = None,
        started: datetime | None = None,
        sure: bool = False,
        minute: float | None = None,
        taken: datetime | None = None,
    ) -> Accepted | NeedsConfirmation:
        """The entry for a text, or the second question. Raises ReadingError.

        `earlier` is what stood at the step before it was reopened, `started` when its clock was,
        `taken` when the value was read, where that is not now.
        """
        step_type = active.step.type
        if not text.strip() and earlier is not None and (kept := _kept(active, earlier)):
            return Accepted((kept,))
        if active.quantity:
            return self._value(active, text, now, started, sure, minute, taken)
        if step_type == "caution":
            return self._caution(active, text)
        if step_type == "members":
            return _members(active, text)
        if step_type == "clock":
            return self._clock(active, text, now)
        if step_type == "adjust":
            parts = [part.strip() for part in text.split(";")]
            if len(parts) != 3:
                raise ReadingError(_ADJUST_FORM)
            return self.adjust(active, *parts)
        if step_type == "sign":
            name = judge.words(text, "the name")
            return Accepted((Draft("sign", active.key, {"name": name}),))
        judge.confirmed(text)
        done = Draft("done", active.key, _done_data(active))
        if active.not_for:
            note = f"Passed over, not for this job: {active.not_for}."
            return Accepted((done, Draft("note", active.key, {"text": note})))
        return Accepted((done,))

    def adjust(self, active: Active, what: str, before: str, after: str) -> Accepted:
        """The entry of an adjustment from its three answers."""
        named = {"what": what, "from": before, "to": after}
        data: dict[str, object] = {
            name: judge.words(text, label)
            for (name, text), label in zip(
                named.items(),
                ("what was changed", "the position before", "the position after"),
                strict=True,
            )
        }
        return Accepted((Draft("adjust", active.key, {**data, "round": active.round}),))

    def expected(self, active: Active) -> str:
        """A sentence that says what is accepted at a step."""
        if active.quantity in self.rulebase.quantities:
            quantity = self._quantity(active)
            if quantity.is_choice:
                return judge.choices_text(quantity.choices)
            if quantity.kind is Kind.TEXT:
                return "Type a few words."
            edges = (quantity.refuse_below, quantity.refuse_above)
            band = judge.band_text(*edges, quantity.kind, self.system)
            sentence = accepted(quantity.kind, self.system, quantity.unit)
            sentence += f" Accepted: {band}." if band else ""
            words = f" {judge.OR_WORDS}" if self._words_do(active, quantity) else ""
            return sentence + words
        if active.step.type == "members":
            return _which(active)
        forms = {
            "caution": "Type yes when it is so; no when it is not, or 'no: why'.",
            "adjust": _ADJUST_FORM,
            "sign": "Type your name; Enter alone does not sign.",
            "clock": "Press Enter to start the clock, or type when it was: 2 min ago, at 11:42.",
        }
        return forms.get(active.step.type, "Press Enter when done.")

    def default(self, active: Active, earlier: Entry | None, seconds: float | None) -> str:
        """What Enter alone gives, as text; empty where there is nothing to offer."""
        if earlier is not None and earlier.kind == "answer":
            typed, phrase = earlier.text("text"), earlier.text("value")
            return phrase if phrase and typed.isdecimal() else typed  # '1' for 'still frosted'
        if earlier is not None and earlier.kind == "adjust":
            return "; ".join(earlier.text(name) for name in ("what", "from", "to"))
        if active.step.type == "members" and active.offers:
            return ", ".join(earlier.members if earlier is not None else ()) or _ALL
        if seconds is not None and active.step.type in ("time", "clock"):
            shown = format_value(Kind.DURATION, seconds, self.system)
            return f"{shown} ago" if active.step.type == "clock" else shown
        return ""

    def _quantity(self, active: Active) -> Quantity:
        return self.suit(self.rulebase.quantities[active.quantity], active.subject)

    def _value(
        self,
        active: Active,
        text: str,
        now: datetime,
        started: datetime | None,
        sure: bool,
        minute: float | None,
        taken: datetime | None,
    ) -> Accepted | NeedsConfirmation:
        quantity = self._quantity(active)
        if active.step.type == "time" and started is not None:
            text = self._until(text, started, now)
        word = judge.in_words(text) if self._words_do(active, quantity) else ""
        value = word or self._read(text, quantity)
        question = ""
        if isinstance(value, Measure):
            question = judge.unusual(value, quantity, self.system)
        if question and not sure:
            return NeedsConfirmation(question, text)
        data: dict[str, object] = {
            "quantity": quantity.id,
            "kind": quantity.kind.value,
            "text": " ".join(text.split()),
            "value": value.value if isinstance(value, Measure) else value,
            "plus_minus": value.plus_minus if isinstance(value, Measure) else None,
            "stage": active.stage,
            "round": active.round,
        }
        if isinstance(value, Measure):
            how = judge.how_taken(text, quantity, self.instruments)
            data |= {"way": how.way.id} if how else {}
        if question:
            data["confirmed"] = True
        if taken is not None:
            data["taken"] = taken.isoformat()
        if active.sample:
            data.update(_sample_data(active.sample, taken or now, started, minute))
        return Accepted((Draft("answer", active.key, data),))

    def takes(self, quantity: Quantity, text: str, member: str) -> bool:
        """Whether a text would be taken as a value on a member without a second question."""
        quantity = self.suit(quantity, member)
        if judge.in_words(text) and self._judged(quantity):
            return True
        try:
            value = self._read(text, quantity)
        except ReadingError:
            return False
        return not (isinstance(value, Measure) and judge.unusual(value, quantity, self.system))

    def _read(self, text: str, quantity: Quantity) -> Measure | str:
        if quantity.is_choice:
            try:
                return judge.choice(text, quantity)
            except ReadingError:
                meant = quantity.id == COMPLAINT and complaint_meant(text, self.rulebase)
                if not meant:
                    raise
                return meant
        if quantity.kind is Kind.TEXT:
            return judge.words(text, "a few words")
        return judge.number(
            text,
            quantity,
            barometer=self.barometer,
            system=self.system,
            instruments=self.instruments,
        )

    def _words_do(self, active: Active, quantity: Quantity) -> bool:
        """Whether low, normal or high is an answer: to one reading of what is judged by a limit."""
        return not active.sample and active.step.type != "time" and self._judged(quantity)

    def _judged(self, quantity: Quantity) -> bool:
        number = not quantity.is_choice and quantity.kind is not Kind.TEXT
        return number and any(each.quantity == quantity.id for each in self.rulebase.limits)

    def _until(self, text: str, started: datetime, now: datetime) -> str:
        """How long a clock ran: until now for Enter alone, until the time of 'at 11:42'."""
        typed = " ".join(text.lower().split())
        end = when_read(typed.removeprefix("at "), now) if typed.startswith("at ") else now
        if typed and not typed.startswith("at "):
            return text
        seconds = (end - started).total_seconds()
        if seconds < 0:
            raise ReadingError(f"'{text.strip()}' lies before the start of the clock.")
        return format_value(Kind.DURATION, seconds, self.system)

    def _caution(self, active: Active, text: str) -> Accepted:
        caution = self.rulebase.cautions[active.step.text]
        word, _, reason = text.partition(":")
        yes = judge.yes_or_no(word)
        if reason.strip() and not yes:
            return Accepted((self.refused(active, judge.reason(reason)),))
        if not yes and caution.if_no == ENDS_THE_JOB:
            return Accepted((self.refused(active, ""),), "Then say how the job ends.")
        data = {"caution": caution.id, "answer": "yes" if yes else "no"}
        draft = Draft("acknowledge", active.key, data)
        if yes:
            return Accepted((draft,))
        what_to_do = " ".join(caution.say)
        return Accepted((draft,), f"Stop here. {what_to_do} {self.after_no(active)}")

    def refused(self, active: Active, reason: str) -> Draft:
        """The entry of a no with its reason, after which what the caution guards is left out."""
        data = {"caution": active.step.text, "answer": "no", "reason": reason}
        return Draft("acknowledge", active.key, data)

    def after_no(self, active: Active) -> str:
        """What can be done after a no at a caution."""
        leads_to = self.rulebase.cautions[active.step.text].if_no
        what = "everything else" if leads_to == LEAVES_ALL else "what this guards"
        return f"Answer yes when it is so; or say why not, and {what} is left out."

    def _clock(self, active: Active, text: str, now: datetime) -> Accepted:
        started = now
        typed = " ".join(text.lower().split())
        if typed.startswith("at "):
            started = when_read(typed.removeprefix("at "), now)
            typed = ""
        typed = typed.removesuffix("ago").strip()
        if typed not in ("", "now", *judge.DONE_WORDS):
            ago = parse_measure(typed, Kind.DURATION, system=self.system).value
            if ago < 0:
                raise ReadingError(f"'{text.strip()}' lies ahead. {self.expected(active)}")
            started = now - timedelta(seconds=ago)
        data = {"clock": active.step.clock, "started": started.isoformat()}
        return Accepted((Draft("clock", active.key, data),))


def _members(active: Active, text: str) -> Accepted:
    """The members that a list of ids names, all of them for Enter alone."""
    ids = {" ".join(name.lower().split()): name for name in active.offers}
    typed = " ".join(text.lower().split())
    parts = [typed] if typed in ids else re.split(r" *, *" if "," in typed else " ", typed)
    named = [part for part in parts if part and part != _ALL]
    for part in named:
        if part not in ids:
            raise ReadingError(f"'{part}' is none of them. {nearest(part, ids) or _which(active)}")
    chosen = [name for key, name in ids.items() if key in named or not named]
    return Accepted((Draft("choose", active.key, {"members": chosen}),))


def _which(active: Active) -> str:
    if not active.offers:
        return f"The site file lists no {active.step.text} here. Press Enter to go on."
    return f"Press Enter for all, or type which, with ',' between: {', '.join(active.offers)}."


def _kept(active: Active, earlier: Entry) -> Draft | None:
    """The earlier answer entered again with its own time; None where it must be given again."""
    if earlier.kind in ("adjust", "clock", "choose"):
        return Draft(earlier.kind, active.key, earlier.data)
    if earlier.kind != "answer":
        return None
    taken = earlier.time("taken") or earlier.at
    data = {**earlier.data, "stage": active.stage, "round": active.round}
    return Draft("answer", active.key, {**data, "taken": taken.isoformat()})


def _done_data(active: Active) -> dict[str, object]:
    if active.not_for:
        return {"not_for": active.not_for}
    if active.step.type == "restore":
        return {"restored": active.step.text}
    return {"opened": active.step.opens} if active.step.opens else {}


def _sample_data(
    sample: int, now: datetime, started: datetime | None, minute: float | None
) -> dict[str, object]:
    """Number and time of a sample; `minute` counts from the start of the clock."""
    if minute is not None and started is not None:
        taken = started + timedelta(minutes=minute)
        return {"sample": sample, "at_minute": minute, "taken": taken.isoformat()}
    if minute is None and started is not None:
        minute = round((now - started).total_seconds() / 60, 2)
    return {"sample": sample} if minute is None else {"sample": sample, "at_minute": minute}
