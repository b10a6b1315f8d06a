"""An amount of refrigerant in exact pounds, as it was typed."""

from __future__ import annotations

import re
from fractions import Fraction
from math import isclose

POUND = Fraction("0.45359237")  # kg, by definition (published: NIST SP 811, B.8)
_UNITS = (POUND, Fraction(1), POUND / 16, Fraction(1000))  # lb, kg, oz, tonne
_NUMBER = re.compile(r"^[-+]?\d*[.,]?\d+")
_DIGITS = 9  # kept where the text is no plain number


def exact_pounds(text: str, kilograms: float) -> Fraction:
    """Pounds [lb] of an amount that was typed as `text` and read as `kilograms`.

    The number is taken from the text and its unit is the one that gives the kilograms, so that
    20 lb of 100 lb is 20 % and not a little more.
    """
    if match := _NUMBER.match(text.strip()):
        number = Fraction(match[0].replace(",", "."))
        for unit in _UNITS:
            if isclose(float(number * unit), kilograms, rel_tol=1e-9, abs_tol=1e-12):
                return number * unit / POUND
    return Fraction(str(round(kilograms / float(POUND), _DIGITS)))
