"""Asks for what is new with a rule: a quantity, a limit, a sign, a cause.

Each answer goes into the entry at once, so that an entry that was interrupted is gone on with.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from expert.author.interview.ask import SHOWN, Asker
from expert.author.interview.check_typed import (
    Check,
    band,
    edge,
    measured,
    minutes,
    several_words,
    slug,
    source,
    split,
    unused,
)
from expert.author.interview.draft import Draft, with_draft
from expert.author.interview.find_by_words import cause_texts, search
from expert.knowledge.key_shapes import Shape
from expert.knowledge.keys import CAUSE, LIMIT, QUANTITY, SIGN
from expert.knowledge.model import Cause, Quantity, Rulebase
from expert.knowledge.read_limits import LOWER, UPPER
from expert.knowledge.read_quantities import SUBJECTS
from expert.knowledge.read_rules import CAUSE_SUBJECTS
from expert.units.kinds import Kind, unit_for
from expert.units.measure import difference_kind

KINDS = {
    "something told in words, for example open or shut": Kind.CHOICE,
    "a temperature": Kind.TEMPERATURE,
    "a difference of temperatures": Kind.TEMPERATURE_DIFFERENCE,
    "a pressure on a gauge": Kind.GAUGE_PRESSURE,
    "a difference of pressures": Kind.PRESSURE_DIFFERENCE,
    "a time": Kind.DURATION,
    "a share in %": Kind.SHARE,
    "a number of things": Kind.COUNT,
    "a length or height": Kind.LENGTH,
    "a current in amperes": Kind.CURRENT,
    "a voltage": Kind.VOLTAGE,
    "a weight": Kind.MASS,
    "an air speed": Kind.SPEED,
}
ENDANGERS = {
    "safety: people": "safety",
    "food: product": "food",
    "leak: refrigerant gets out": "leak",
    "equipment: a machine": "equipment",
    "energy: power is wasted": "energy",
}
SHAPES: Mapping[str, Shape] = {
    "quantities": QUANTITY, "limits": LIMIT, "signs": SIGN, "causes": CAUSE,
}  # fmt: skip


def whole(draft: Draft) -> Draft:
    """The draft without entries that are not finished."""
    kept = dict(draft)
    for section, shape in SHAPES.items():
        entries = draft.get(section)
        if isinstance(entries, list):
            kept[section] = [entry for entry in entries if _is_whole(entry, shape)]
    return kept


class NewEntries:
    """Asks for new entries and puts them into a draft; `keep` writes the draft to disk."""

    def __init__(
        self, asker: Asker, base: Rulebase, draft: Draft, keep: Callable[[], None]
    ) -> None:
        self.asker = asker
        self.base = base
        self.draft = draft
        self.keep = keep

    @property
    def known(self) -> Rulebase:
        """The rulebase with what the draft holds so far."""
        return with_draft(self.base, whole(self.draft))[0]

    def finish(self) -> None:
        """Go on with entries that were interrupted."""
        for section, ask in (
            ("quantities", self._quantity), ("limits", self._limit), ("signs", self._sign),
            ("causes", self._cause),
        ):  # fmt: skip
            for entry in self._entries(section):
                if not _is_whole(entry, SHAPES[section]):
                    self.asker.say(f"Going on with {entry.get('title') or section}:")
                    ask(entry)

    def drop_unfinished(self) -> None:
        """Forget the entries that were interrupted."""
        kept = whole(self.draft)
        self.draft.update({section: kept[section] for section in SHAPES if section in kept})
        self.keep()

    def drop(self, name: str) -> None:
        """Forget the entry of an id, if the draft made it."""
        for section in ("quantities", "signs", "causes"):
            entries = self._entries(section)
            entries[:] = [entry for entry in entries if entry.get("id") != name]

    def quantity(self, typed: str) -> str:
        """A new thing to measure or look at; gives its id."""
        return self._quantity(self._new("quantities"), typed)

    def limit(self, quantity: Quantity) -> None:
        """The normal band of a quantity that has none."""
        self.asker.say(f"There is no limit yet for: {quantity.title}.")
        name = unused(quantity.id.replace("_", "-"), {limit.id for limit in self.known.limits})
        self._limit(self._new("limits", id=name, of=quantity.id))

    def sign(self) -> str:
        """A new sign; gives its id."""
        return self._sign(self._new("signs"))

    def cause(self, typed: str) -> str:
        """A new cause; gives its id."""
        return self._cause(self._new("causes"), typed)

    def _quantity(self, entry: Draft, typed: str = "") -> str:
        ask, known = self.asker, self.known.quantities
        title = self._text(
            entry, "title", "What does a technician call it? A few words.", default=typed
        )
        self._fill(entry, "id", lambda: unused(slug(title, "_"), known, "_"))
        self._one_of(entry, "subject", "On what is it measured or seen?", SUBJECTS)
        self._fill(entry, "kind", lambda: KINDS[self._pick("What is it?", tuple(KINDS))].value)
        kind = Kind(str(entry["kind"]))
        if kind is Kind.CHOICE:
            question = "With which words is it answered? Put commas between them."
            self._fill(entry, "choices", lambda: split(ask.text(question, check=several_words)))
        self._text(entry, "where", "Where exactly?")
        self._text(entry, "with", "With which instrument, or eyes, ear, hand?")
        if kind is not Kind.CHOICE:
            spread = difference_kind(kind)
            example = f"1 {unit_for(spread).name}".strip()
            question = f"How exact is it, plus or minus? For example '{example}'."
            self._text(entry, "accuracy", question, check=measured(spread))
        question = "How many minutes does it take, standing at the place?"
        self._text(entry, "effort", question, default="2", check=minutes)
        self._fill(entry, "cautions", lambda: self._cautions("Which hazards has taking it?"))
        self._fill(entry, "source", lambda: source(ask, f"What you said of '{title}'"))
        return str(entry["id"])

    def _limit(self, entry: Draft) -> str:
        kind = self.known.quantities[str(entry["of"])].kind
        question = "What is normal? '15 to 20 psi', 'at least 3 psi' or 'at most 2 psi'."
        normal = self._text(entry, "normal", question, check=band(kind, {}))
        for key, side, without in (
            ("very_low", "below", UPPER),
            ("very_high", "above", LOWER),
        ):
            if normal.startswith(without):
                continue
            named = {name: str(value) for name, value in entry.items() if name in _EDGES}
            question = f"And {side} what is it {key.replace('_', ' ')}? Enter: no such edge."
            self._text(entry, key, question, check=edge(kind, named, key), optional=True)
        self._fill(entry, "source", lambda: source(self.asker, "This limit"))
        return str(entry["id"])

    def _sign(self, entry: Draft) -> str:
        question = "What is then so? A short sentence in small letters, as 'the coil is starved'."
        says = self._text(entry, "says", question)
        self._fill(entry, "id", lambda: unused(slug(says, "_"), self.known.signs, "_"))
        return str(entry["id"])

    def _cause(self, entry: Draft, typed: str = "") -> str:
        ask, causes = self.asker, self.known.causes
        systems = ", ".join(sorted({cause.system for cause in causes.values()}))
        title = self._text(
            entry, "title", "What do you call what is wrong? Begin with a capital.", default=typed
        )
        self._fill(entry, "id", lambda: unused(slug(title, "-"), causes))
        self._text(entry, "system", f"Which part of the plant? One of these or another: {systems}.")
        self._one_of(entry, "subject", "What is it wrong with?", CAUSE_SUBJECTS)
        self._text(entry, "is", "What is it, and what does it do? One or two sentences.")
        self._fill(entry, "confirm", lambda: ask.lines("How is it proven?"))
        self._fill(entry, "do", lambda: ask.lines("What is to be done, in order?"))
        self._fill(entry, "cautions", lambda: self._cautions("Which hazards has the work?"))
        parts = "Which parts may it need? General words."
        self._fill(entry, "parts", lambda: ask.lines(parts, optional=True))
        self._fill(
            entry,
            "urgency",
            lambda: ENDANGERS[self._pick("What does it endanger?", tuple(ENDANGERS))],
        )
        self._fill(entry, "leads_to", lambda: self._effects(causes))
        self._text(entry, "not_when", "What does it look like when it is not this?")
        self._fill(entry, "source", lambda: source(ask, f"What you said of '{title}'"))
        return str(entry["id"])

    def _effects(self, known: Mapping[str, Cause]) -> list[str]:
        """Causes that follow from it, found by words."""
        found: list[str] = []
        question = "Does another known cause follow from it? A word of it; Enter: no more."
        while typed := self.asker.text(question, optional=True):
            names = search(typed, cause_texts(known.values()))[:SHOWN]
            if not names:
                self.asker.say(f"Nothing is called '{typed}'.")
                continue
            titles = [known[name].title for name in names]
            chosen = self.asker.choice("Which one?", titles, more="none of these")
            found += [names[chosen]] if chosen >= 0 else []
        return list(dict.fromkeys(found))

    def _cautions(self, question: str) -> list[str]:
        cautions = list(self.known.cautions.values())
        chosen = self.asker.several(question, [each.title for each in cautions], "none")
        return [cautions[place].id for place in chosen]

    def _entries(self, section: str) -> list[Draft]:
        entries = self.draft.setdefault(section, [])
        assert isinstance(entries, list)
        return entries

    def _new(self, section: str, **begun: str) -> Draft:
        entry: Draft = {**begun}
        self._entries(section).append(entry)
        return entry

    def _pick(self, question: str, options: Sequence[str]) -> str:
        return options[self.asker.choice(question, options)]

    def _one_of(self, entry: Draft, key: str, question: str, options: Sequence[str]) -> None:
        self._fill(entry, key, lambda: self._pick(question, options))

    def _text(
        self,
        entry: Draft,
        key: str,
        question: str,
        *,
        default: str = "",
        check: Check | None = None,
        optional: bool = False,
    ) -> str:
        return self._fill(
            entry,
            key,
            lambda: self.asker.text(question, default=default, check=check, optional=optional),
        )

    def _fill(self, entry: Draft, key: str, ask: Callable[[], object]) -> str:
        """The answer that stands in the entry, or that of the question; kept at once."""
        if key not in entry:
            entry[key] = ask()
            self.keep()
        value = entry[key]
        return value if isinstance(value, str) else ""


_EDGES = ("normal", "very_low", "very_high")


def _is_whole(entry: Draft, shape: Shape) -> bool:
    return all(key in entry for key in shape.required)
