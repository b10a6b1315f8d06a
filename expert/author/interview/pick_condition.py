"""Picks one condition by words: first what it looks at, then how it is."""

from __future__ import annotations

from expert.author.interview.ask import SHOWN, Asker, Back
from expert.author.interview.check_typed import TYPED
from expert.author.interview.find_by_words import guess, quantity_texts, search, sign_texts
from expert.author.interview.new_entries import NewEntries
from expert.author.interview.suggest_value import limit_of
from expert.errors import Problem, ReadingError
from expert.knowledge.conditions import Condition
from expert.knowledge.grammar import ConditionError, parse_condition
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.synonyms import called
from expert.units.kinds import Kind

_STATES = ("high", "low", "very high", "very low", "normal")
_COMPARED = "compared with a number or another reading"
_OTHER = "anything but one of these"


def pick_condition(
    asker: Asker, new: NewEntries, question: str, *, optional: bool = False
) -> str | None:
    """One condition as text, or None for Enter alone where that is allowed.

    Raises Back only at the question itself; further on, going back asks it again.
    """
    while True:
        typed = asker.text(question, optional=optional)
        if not typed:
            return None
        try:
            if found := _chosen(asker, new, typed):
                return found
        except Back:
            new.drop_unfinished()


def _chosen(asker: Asker, new: NewEntries, typed: str) -> str:
    """The condition that was meant, empty where it cannot be read."""
    while True:
        problems = problems_of(typed, new.known)
        if not problems:
            return typed
        if any(mark in typed for mark in (" is ", "<", ">")):
            asker.say(f"{problems[0].message} {problems[0].hint}".strip())
            return ""
        names = _found(typed, new.known)
        if not names and (meant := _guess(typed, new.known)):
            names = _found(meant, new.known)
            asker.say(f"Nothing is called '{typed}'. With '{meant}':")
        for number, (_, title) in enumerate(names, 1):
            asker.say(f"  {number} {title}")
        said = (
            "A number, or another word" if names else f"Nothing is called '{typed}'. Another word"
        )
        again = asker.text(f"{said}; 'n': it is not there yet.")
        if again == "n":
            return state_of(asker, new, new.quantity("" if typed.isdecimal() else typed))
        if again.isdecimal() and 1 <= int(again) <= len(names):
            return state_of(asker, new, names[int(again) - 1][0])
        typed = again


def problems_of(text: str, known: Rulebase) -> list[Problem]:
    """What is wrong with a text as a condition."""
    reader = Reader()
    try:
        condition: Condition = parse_condition(text, TYPED)
    except ConditionError as error:
        return [Problem("condition", f"Cannot read '{text}': {error}.", TYPED, error.hint)]
    resolve(condition, known.quantities, known.signs, reader)
    return reader.problems


def _found(words: str, known: Rulebase) -> list[tuple[str, str]]:
    """Ids and titles of the quantities and signs that some words mean, the best first."""
    quantities = search(words, quantity_texts(known.quantities.values()))
    # what is read comes before what a site file gives, but for what is called exactly so
    exact = {each.id for each in called(words, known.quantities.values())}
    quantities.sort(key=lambda name: bool(known.quantities[name].given) and name not in exact)
    signs = search(words, sign_texts(known.signs.values()))
    found = [(name, f"{known.quantities[name].title} ({name})") for name in quantities[:SHOWN]]
    room = max(SHOWN - len(found), 3)
    return found + [(name, f"sign: {known.signs[name].says} ({name})") for name in signs[:room]]


def _guess(words: str, known: Rulebase) -> str:
    texts = quantity_texts(known.quantities.values()) | sign_texts(known.signs.values())
    return guess(words, texts)


def state_of(asker: Asker, new: NewEntries, name: str) -> str:
    """How a thing that was picked is, as a condition."""
    known = new.known
    if name in known.signs:
        so = asker.choice(f"{known.signs[name].says}:", ("it is so", "it is not so"))
        return f"not {name}" if so else name
    quantity = known.quantities[name]
    return _word(asker, quantity) if quantity.is_choice else _number(asker, new, quantity)


def _word(asker: Asker, quantity: Quantity) -> str:
    words = list(quantity.choices)
    chosen = asker.choice(f"{quantity.title}: how is it?", [*words, _OTHER])
    if chosen < len(words):
        return f"{quantity.id} is {words[chosen]}"
    unwanted = asker.choice("Anything but which?", words)
    return f"{quantity.id} is not {words[unwanted]}"


def _number(asker: Asker, new: NewEntries, quantity: Quantity) -> str:
    if quantity.kind is Kind.TEXT:
        return f"{quantity.id} is known"
    while True:
        chosen = asker.choice(f"{quantity.title}: how is it?", [*_STATES, _COMPARED])
        if chosen == len(_STATES):
            return _compared(asker, new, quantity)
        state = _STATES[chosen]
        limit = limit_of(quantity.id, new.known, {})
        if limit is None:
            new.limit(quantity)
            limit = limit_of(quantity.id, new.known, {})
        edge = {"very low": "very_low", "low": "low", "high": "high", "very high": "very_high"}
        if limit is None or state not in edge or getattr(limit, edge[state]) is not None:
            return f"{quantity.id} is {state}"
        asker.say(f"The limit '{limit.id}' has no edge for that; it could never be {state}.")


def _compared(asker: Asker, new: NewEntries, quantity: Quantity) -> str:
    def check(text: str) -> str:
        if problems := problems_of(f"{quantity.id} {text}", new.known):
            raise ReadingError(f"{problems[0].message} {problems[0].hint}".strip())
        return text

    question = f"{quantity.id} ... Write the rest: '> 20 F', or '> other_reading + 3 psi'."
    return f"{quantity.id} {asker.text(question, check=check)}"
