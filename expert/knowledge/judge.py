"""Judges what a person typed for a step: a value, a refusal that helps, or a second question."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from expert.errors import ReadingError, nearest
from expert.knowledge.how_read import HowTaken, as_taken, instead, split_way, taken_how
from expert.knowledge.model import Quantity
from expert.units.kinds import Kind
from expert.units.measure import Measure, format_value
from expert.units.parse import accepted, parse_measure

BANDS = ("very low", "low", "normal", "high", "very high")
OR_WORDS = "Where no more is known: low, normal or high."
DONE_WORDS = ("done", "d", "ok", "yes", "y")
YES, NO = ("yes", "y"), ("no", "n")
_NOT_ANSWERS = ("na", "n/a", "n.a.", "not available", "unknown", "?")


def number(
    text: str,
    quantity: Quantity,
    *,
    barometer: float,
    system: str,
    instruments: Collection[str] = (),
) -> Measure:
    """The measure that was typed, with the accuracy of the way in which it was taken.

    That is the usual one, what somebody with these `instruments` uses instead, or what is said:
    '215 by display'. A bare number takes the unit shown. Raises ReadingError for what cannot be
    read or cannot be.
    """
    how = how_taken(text, quantity, instruments)
    text, _ = split_way(text)
    _refuse_no_answer(text, (), accepted(quantity.kind, system, quantity.unit))
    try:
        read = parse_measure(
            text, quantity.kind, barometer=barometer, system=system, unit=quantity.unit
        )
    except ReadingError as error:
        band = band_text(quantity.refuse_below, quantity.refuse_above, quantity.kind, system)
        raise ReadingError(f"{error} Accepted: {band}." if band else str(error)) from None
    if impossible := refused(read.value, quantity, system):
        raise ReadingError(impossible)
    return as_taken(read, how, quantity.accuracy)


def how_taken(text: str, quantity: Quantity, instruments: Collection[str] = ()) -> HowTaken | None:
    """The way that is said behind a value, else the own instrument's; None for the usual one.

    Raises ReadingError for what is no way of taking it.
    """
    _, named = split_way(text)
    if named:
        return taken_how(named, quantity.title, quantity.ways)
    return instead(quantity.usual_way, quantity.ways, instruments)


def refused(value: float, quantity: Quantity, system: str) -> str:
    """Why an SI value is impossible for a quantity, or nothing."""
    side = _outside(value, quantity.refuse_below, quantity.refuse_above, quantity, system)
    if not side:
        return ""
    band = band_text(quantity.refuse_below, quantity.refuse_above, quantity.kind, system)
    shown = format_value(quantity.kind, value, system)
    return f"{shown} cannot be: it is {side}. Accepted: {band}."


def split_time(text: str) -> tuple[str, float | None]:
    """'12 F at 4 min' to '12 F' and 240 s; None without a time. Raises ReadingError."""
    body, way = split_way(text)
    value, _, time = body.rpartition(" at ")
    if not time[:1].isdecimal() or not value.strip():
        return text, None
    return f"{value} by {way}" if way else value, parse_measure(time, Kind.DURATION).value


def unusual(measure: Measure, quantity: Quantity, system: str) -> str:
    """The second question for a value outside the usual band, or nothing."""
    side = _outside(measure.value, quantity.unusual_below, quantity.unusual_above, quantity, system)
    if not side:
        return ""
    shown = format_value(quantity.kind, measure.value, system)
    usual = band_text(quantity.unusual_below, quantity.unusual_above, quantity.kind, system)
    return f"{shown} is {side}; usual is {usual}. Is {shown} right?"


def in_words(text: str) -> str:
    """'low', 'very high' ... where a number is known only so, else nothing."""
    typed = _squeezed(split_way(text)[0])
    return typed if typed in BANDS else ""


def choice(text: str, quantity: Quantity) -> str:
    """The phrase that was meant: by its words, their unique beginning, or its number from 1."""
    phrases = tuple(quantity.choices)
    typed = _squeezed(text)
    by_words = {_squeezed(phrase): phrase for phrase in phrases}
    if typed in by_words:
        return by_words[typed]
    listed = choices_text(phrases)
    _refuse_no_answer(text, phrases, listed)
    if typed.isdecimal() and text.strip()[:1] == "-":  # of a reading, not of a list
        raise ReadingError(f"'{text}' is none of the choices. {listed}")
    if typed.isdecimal() and len(typed) < 5:
        if 1 <= int(typed) <= len(phrases):
            return phrases[int(typed) - 1]
        raise ReadingError(f"There is no choice {typed}. {listed}")
    begins = [phrase for squeezed, phrase in by_words.items() if squeezed.startswith(typed)]
    if len(begins) == 1:
        return begins[0]
    if begins:
        raise ReadingError(f"'{text}' could be {' or '.join(begins)}. {listed}")
    hint = nearest(typed, by_words)
    raise ReadingError(f"'{text}' is none of the choices. {hint + ' ' if hint else ''}{listed}")


def words(text: str, what: str) -> str:
    """A text that is not empty and not a way of not answering."""
    cleaned = " ".join(text.split())
    _refuse_no_answer(cleaned, (), f"Type {what}.")
    return cleaned


def reason(text: str, otherwise: str = "") -> str:
    """The reason for leaving something out. Raises ReadingError where none is given, which says
    `otherwise` where it is asked for something else."""
    cleaned = " ".join(text.split())
    if len(cleaned) < 3 or _squeezed(cleaned) in _NOT_ANSWERS:
        skipped = "A step is skipped only with a reason. Type why it is left out."
        raise ReadingError(otherwise or skipped)
    return cleaned


def confirmed(text: str) -> None:
    """Raises ReadingError unless the text says that the step is done; Enter alone counts."""
    if text.strip() and _squeezed(text) not in DONE_WORDS:
        raise ReadingError(f"'{text.strip()}' is no answer here. Press Enter or type done.")


def yes_or_no(text: str) -> bool:
    """Whether a question was answered with yes; Enter alone is no answer."""
    typed = _squeezed(text)
    if typed in YES:
        return True
    if typed in NO:
        return False
    raise ReadingError(f"{_quoted(text)} This needs yes or no.")


def choices_text(phrases: Iterable[str]) -> str:
    """'Choose: 1 open, 2 shut.'"""
    listed = ", ".join(f"{n} {phrase}" for n, phrase in enumerate(phrases, 1))
    return f"Choose: {listed}."


def band_text(below: float | None, above: float | None, kind: Kind, system: str) -> str:
    """'80.0 psig to 350.0 psig', 'at least ...', 'at most ...', or nothing without edges."""
    low = None if below is None else format_value(kind, below, system)
    high = None if above is None else format_value(kind, above, system)
    if low is not None and high is not None:
        return f"{low} to {high}"
    if low is not None:
        return f"at least {low}"
    return f"at most {high}" if high is not None else ""


def _outside(
    value: float, below: float | None, above: float | None, quantity: Quantity, system: str
) -> str:
    if below is not None and value < below:
        return f"below {format_value(quantity.kind, below, system)}"
    if above is not None and value > above:
        return f"above {format_value(quantity.kind, above, system)}"
    return ""


def _refuse_no_answer(text: str, phrases: tuple[str, ...], what: str) -> None:
    typed = _squeezed(text)
    if not typed:
        raise ReadingError(f"Nothing was typed. {what}")
    if typed in _NOT_ANSWERS and typed not in (phrase.lower() for phrase in phrases):
        raise ReadingError(
            f"'{text.strip()}' is no answer. {what} If it cannot be had, skip it with a reason."
        )


def _squeezed(text: str) -> str:
    return " ".join(text.lower().replace("-", " ").split())


def _quoted(text: str) -> str:
    return f"'{text.strip()}' is no answer." if text.strip() else "Nothing was typed."
