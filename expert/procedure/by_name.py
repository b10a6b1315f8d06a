"""Readings typed by name at any prompt: 'head 215', 'drier out 151.8 at 11:42', 'A4 suction 13.8'.

Names are looked for among the readings of the checklist: what is asked now, what could be given,
what was answered. A name that fits several is asked, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from expert.errors import ReadingError
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.synonyms import called, names_of, plain_name
from expert.made_when_used import dataclass
from expert.procedure.open_now import Offer
from expert.procedure.reading_time import without_time
from expert.procedure.search import find_reading, is_number, named
from expert.units.kinds import UNITS

_PARTS = re.compile(r"\n|;|,(?=\s)")
_UNIT_WORDS = {word.lower() for unit in UNITS for name in unit.names for word in name.split()} | {
    "ago",
    "vac",
    "vacuum",
    "per",
    *("above", "below", "minus", "plus", "zero"),  # of a value: '3 F below zero' is no -3
}
_LISTED = 5
_SHORTEST = 3  # letters of a word that can name a reading


@dataclass(frozen=True)
class NamedReading:
    """A reading that was named, with the text of its value and of its time ('' for now).

    `offer` is None where the checklist has no such reading; `quantity` is what was meant then.
    """

    text: str
    quantity: Quantity
    value: str
    time: str
    offer: Offer | None


def parts_of(text: str) -> tuple[str, ...]:
    """The readings of a line or of pasted lines, with ';', ', ' or a line end between."""
    parts = (part.strip() for part in _PARTS.split(text) if part.strip())
    return tuple(each for part in parts for each in _apart(part))


def _apart(part: str) -> Iterator[str]:
    """'head 215 outside 82' without a sign between: a name begins behind a number and its unit."""
    words, begin, number = part.split(), 0, False
    for n, word in enumerate(words):
        if n > begin and is_number(word):
            number = True
        elif number and _can_begin(word) and words[n - 1].lower() not in ("at", "by"):
            yield " ".join(words[begin:n])
            begin, number = n, False
    yield " ".join(words[begin:])


def _can_begin(word: str) -> bool:
    """Whether a word could begin the name of a reading: letters, and no unit or 'ago'."""
    return len(word) >= _SHORTEST and word[0].isalpha() and word.lower() not in _UNIT_WORDS


def names_one(text: str) -> bool:
    """Whether a text could begin with the name of a reading: a word, and something behind it."""
    first, _, rest = text.strip().partition(" ")
    return bool(rest) and any(sign.isalpha() for sign in first) and not is_number(text.strip())


def resolve(
    text: str,
    offered: Sequence[Offer],
    rulebase: Rulebase,
    fits: Callable[[Quantity, str, str], bool],
    members: Mapping[str, str],
    here: str = "",
) -> NamedReading | None:
    """The reading that a text names; None where it names none.

    `fits` says whether a value would be taken for a quantity on a member without a question.
    `members` are the kinds of the members (and of the own subject, whose id is `here`) by id.
    Raises ReadingError where several could be meant.
    """
    body, time = without_time(text)
    member, body = _member(body, members)
    kind = members.get(member, "") if member else ""
    own = "" if member == here else member
    among = [each for each in offered if not member or each.active.subject == own]
    quantities = {
        each.active.quantity: rulebase.quantities[each.active.quantity]
        for each in among
        if not kind or kind == rulebase.quantities[each.active.quantity].subject
    }
    for words in ([f"{kind} {body}"] if kind else []) + [body]:
        for name, value in _splits(words, kind):
            found = _meant(name, value, among, quantities, fits)
            if found:
                offer = _one(text, found, quantities)
                quantity = quantities[offer.active.quantity]
                return NamedReading(text, quantity, value, time, offer)
    foreign = find_reading(body, rulebase.quantities)
    if foreign is None or not foreign[1]:
        return None
    return NamedReading(text, foreign[0], foreign[1], time, None)


def _member(body: str, members: Mapping[str, str]) -> tuple[str, str]:
    """The member whose id stands before the name, and the rest."""
    for name in sorted(members, key=len, reverse=True):
        if body.lower().startswith(f"{name.lower()} "):
            return name, body[len(name) :].strip()
    return "", body


def _splits(body: str, kind: str) -> Iterator[tuple[str, str]]:
    """Name and value: the longest name first. Each has at least one word."""
    words = body.replace("_", " ").split()
    least = 2 if kind and body.startswith(f"{kind} ") else 1
    if not words or len(words[0]) < _SHORTEST or not any(map(str.isalpha, words[0])):
        return
    for end in range(len(words) - 1, least - 1, -1):
        yield " ".join(words[:end]), " ".join(words[end:])


def _meant(
    name: str,
    value: str,
    among: Sequence[Offer],
    quantities: Mapping[str, Quantity],
    fits: Callable[[Quantity, str, str], bool],
) -> list[Offer]:
    """The readings that a name could mean, the best that there are: those that take the value,
    of these the ones that can be read now, then those that are asked later, given, answered.

    A name that is one reading's own still means its like where only that can be read now:
    'circuit pressure' while it cools is not the one with gas on, and 'liquid header' with gas on
    not the one at rest, answered before.
    """
    words, exact = plain_name(name).split(), called(name, quantities.values())
    best = _taking(exact or named(words, quantities), value, among, quantities, fits)
    if exact and not any(map(_now, best)):
        if not is_number(value):  # a word that only one of them takes tells which is meant
            held = [q for q in quantities.values() if any(_holds(n, words) for n in names_of(q))]
            others = _taking(held, value, among, quantities, fits)
            if now := [each for each in others if _now(each)]:
                return now
        stems = {_stem(each) for each in exact}
        likes = [each for each in quantities.values() if _stem(each) in stems]
        return [e for e in _taking(likes, value, among, quantities, fits) if _now(e)] or best
    return best


def _holds(name: str, words: Sequence[str]) -> bool:
    return {*words} <= {*name.split()}


def _stem(quantity: Quantity) -> str:
    """The title without what tells a reading from its likes: 'circuit pressure, cooling'."""
    return quantity.title.partition(",")[0]


def _taking(
    meant: Sequence[Quantity],
    value: str,
    among: Sequence[Offer],
    quantities: Mapping[str, Quantity],
    fits: Callable[[Quantity, str, str], bool],
) -> list[Offer]:
    """The best readings of some quantities for a value."""
    numbers = is_number(value)
    ids = {each.id for each in meant if not (numbers and each.is_choice)}
    found = [each for each in among if each.active.quantity in ids]
    taken = [
        each for each in found if fits(quantities[each.active.quantity], value, each.active.subject)
    ]
    if not taken and not numbers:
        return []
    return _best(taken or found)


def _now(offer: Offer) -> bool:
    """Whether a reading is asked and can be taken now."""
    return offer.asked and not offer.closed and not offer.why_not


def _best(found: Iterable[Offer]) -> list[Offer]:
    """Of some readings the first kind that there is: to be read now, asked, not asked, answered."""
    listed = list(found)
    tests: tuple[Callable[[Offer], bool], ...] = (
        _now,
        lambda each: not each.closed and not each.why_not,
        lambda each: each.closed and not each.why_not,
        lambda each: True,
    )
    for test in tests:
        if best := [each for each in listed if test(each)]:
            return best
    return []


def _one(text: str, found: Sequence[Offer], quantities: Mapping[str, Quantity]) -> Offer:
    """The one that is meant: of one quantity the first, of those answered the last; else it is
    asked. Raises ReadingError."""
    first: dict[tuple[str, str], Offer] = {}
    for each in reversed(found) if all(each.closed for each in found) else found:
        first.setdefault((each.active.quantity, each.active.subject), each)
    if len(first) == 1:
        return next(iter(first.values()))
    titles = dict.fromkeys(
        f"{f'{member} ' if member else ''}{quantities[name].title}" for name, member in first
    )
    more = f", and {len(titles) - _LISTED} more" if len(titles) > _LISTED else ""
    listed = "; ".join(list(titles)[:_LISTED])
    raise ReadingError(f"'{text.strip()}' could be: {listed}{more}. Type more of its name.")
