"""What a person means by a line: a reading, an action with its amount, a cause."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TypeVar

from expert.errors import ReadingError
from expert.knowledge.hints import hint_by_words, words_of
from expert.knowledge.model import Cause, Quantity
from expert.knowledge.synonyms import Named, called, names_of
from expert.practice.attempt import Attempt
from expert.practice.setting_model import PlantAction
from expert.procedure.search import find_reading, is_number
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

_LISTED = 6
MOST_WAITED = 86400.0  # seconds
N = TypeVar("N", bound=Named)


def reading_named(text: str, attempt: Attempt) -> Quantity:
    """The reading that a text names; a worked-out value too, which is told and not read.

    What is called exactly so goes before what has the word in its name, and what this plant tells
    before what it does not. Raises ReadingError where none or several could be meant.
    """
    known = _of_this_plant(attempt)
    told = {name: each for name, each in known.items() if name in attempt.told_at_call}
    word = " ".join(text.lower().split())
    if own := [known[name] for name in attempt.setting.short_names.get(word, ()) if name in known]:
        return _nearest_at_hand(attempt, own)
    for some in (told, known):
        exact = called(word, some.values())
        if len(exact) == 1 or len([q for q in exact if attempt.at_hand(q)]) == 1:
            return _nearest_at_hand(attempt, exact)
    for some in (told, known):
        try:
            found = find_reading(text, some)
        except ReadingError:
            at_hand = [each for each in _all_named(text, some) if attempt.at_hand(each)]
            if len(at_hand) == 1:
                return at_hand[0]
            if hint := _hint(text, known, attempt):
                raise ReadingError(f"'{text}' names no reading. {hint}") from None
            raise
        if found is not None and not found[1]:
            return found[0]
    said = f"'{text}' names no reading and no action."
    hint = _hint(text, known, attempt)
    raise ReadingError(" ".join(filter(None, (said, hint, "'?' lists what can be typed."))))


def _hint(text: str, known: Mapping[str, Quantity], attempt: Attempt) -> str:
    """What a misspelt reading may have been."""
    return hint_by_words(text, known.values(), real_words(attempt))


def real_words(attempt: Attempt) -> set[str]:
    """The words of all that has a name: none of them is another one misspelt."""
    rules, actions = attempt.rulebase, attempt.setting.actions
    found = words_of(rules.quantities.values()) | words_of(rules.causes.values())
    return found | words_of(actions.values())


def _nearest_at_hand(attempt: Attempt, several: list[Quantity]) -> Quantity:
    """The one that can be read now, else one that the plant tells, else the first."""
    ways = (attempt.at_hand, lambda each: each.id in attempt.told_at_call)
    return next((each for way in ways for each in several if way(each)), several[0])


def _all_named(text: str, some: Mapping[str, Quantity]) -> list[Quantity]:
    words = set(text.lower().replace("_", " ").split())
    return [q for q in some.values() if any(words <= set(n.split()) for n in names_of(q))]


def _of_this_plant(attempt: Attempt) -> dict[str, Quantity]:
    """What there is on such a plant; worked-out values too, which are then told so."""
    foreign = attempt.evaluator.foreign
    return {n: q for n, q in attempt.rulebase.quantities.items() if n not in foreign}


def minutes_named(text: str) -> float:
    """Minutes of a wait, '5 min' where nothing was typed. Raises ReadingError."""
    seconds = parse_measure(text or "5 min", Kind.DURATION).value
    if not 0 < seconds <= MOST_WAITED:
        raise ReadingError("Wait for more than nothing, and no more than a day.")
    return seconds / 60


def action_named(
    text: str, actions: Mapping[str, PlantAction], words: Collection[str] = ()
) -> tuple[PlantAction, str]:
    """The action that a text names, and the amount behind it: 'add refrigerant, 5 lb'.

    `words` of the trade are never taken for misspelt ones of an action. Raises
    ReadingError where none or several could be meant.
    """
    typed = text.replace(",", " ").split()
    for end in range(len(typed), 0, -1):
        if end < len(typed) and not is_number(typed[end]):
            continue  # no amount stands there
        found = _named(typed[:end], actions)
        if len(found) == 1:
            return found[0], " ".join(typed[end:])
        if found and end == len(typed):
            raise ReadingError(_which(text, found))
    hint = hint_by_words(text, actions.values(), words, verb_first=True)
    said = (f"'{text}' is no action.", hint, "'actions WORD' lists them.")
    raise ReadingError(" ".join(filter(None, said)))


def cause_named(text: str, causes: Mapping[str, Cause]) -> Cause:
    """The cause that a text names. Raises ReadingError."""
    found = _named(text.split(), causes)
    if len(found) == 1:
        return found[0]
    if found:
        raise ReadingError(_which(text, found))
    hint = hint_by_words(text, causes.values())
    raise ReadingError(f"'{text}' is no cause. {hint}".strip())


def _named(words: list[str], entries: Mapping[str, N]) -> list[N]:
    """Those of exactly this name, else those with a name in which each word begins one."""
    if exact := called(" ".join(words), entries.values()):
        return exact
    typed = [word.lower() for word in words]

    def fits(name: str) -> bool:
        own = name.split()
        return all(any(each.startswith(word) for each in own) for word in typed)

    return [each for each in entries.values() if any(map(fits, names_of(each)))]


def _which(text: str, found: list[N]) -> str:
    more = f"; and {len(found) - _LISTED} more" if len(found) > _LISTED else ""
    listed = "; ".join(each.title for each in found[:_LISTED])
    return f"'{text}' could be: {listed}{more}. Type more of its name."
