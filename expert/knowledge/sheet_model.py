"""A sheet of a store: what is normal for a quantity by weather and by the state of the plant."""

from __future__ import annotations

from expert.made_when_used import dataclass


@dataclass(frozen=True)
class StoreSheet:
    """How a quantity stands on a sheet: which reading `of` the plant it is held against, by which
    temperature the rows go, from how far [K] a row still counts, and what must be the `same`."""

    of: str
    weather: str
    within: float
    same: tuple[str, ...] = ()


@dataclass(frozen=True)
class StoreSheetRow:
    """A row of a sheet: the weather [K], each state in its words, and the value [SI] as typed."""

    weather: float
    state: tuple[tuple[str, str], ...]
    value: float
    weather_text: str
    text: str
