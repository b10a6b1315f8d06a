"""Which column of a log holds which quantity of which circuit, as the site file says it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from expert.made_when_used import dataclass

ISO, EPOCH = "iso", "epoch seconds"
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
DECIMALS = {"point": ".", "comma": ","}
BY_ITSELF = "find out"
NO_VALUE = ("", "-", "--", "---", "n/a", "na", "nan", "null", "none")


@dataclass(frozen=True)
class LogColumn:
    """One column: SI value = number * factor + offset; `words` turns texts into choices.

    `named` tells that the subject was named and not met by a pattern: then it must be there.
    """

    subject: str
    quantity: str
    column: str
    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0
    words: Mapping[str, str] = field(default_factory=dict)
    named: bool = False


@dataclass(frozen=True)
class LogMap:
    """How a log is read. `time` is the column of the stamps; where these are written in two columns
    it is that of the date, and `clock` that of the time of day.

    `form` is 'iso', 'epoch seconds' or a pattern such as %m/%d/%Y %H:%M.
    `zone` is the IANA name for stamps without an offset. `encoding`, `separator` and `decimal`
    are 'find out' unless told. `no_value` are the words that stand for no value, in small letters.
    """

    time: str
    zone: str
    form: str = ISO
    encoding: str = BY_ITSELF
    separator: str = BY_ITSELF
    decimal: str = BY_ITSELF
    no_value: frozenset[str] = frozenset(NO_VALUE)
    columns: tuple[LogColumn, ...] = ()
    clock: str = ""
