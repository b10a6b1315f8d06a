"""How far a number is moved to see whether a test notices: a step that matters in the trade."""

from __future__ import annotations

from expert.knowledge.model import Limit, Quantity
from expert.units.kinds import Kind, unit_for
from expert.units.measure import difference_kind

_ACCURACIES = 3  # less than this is hidden by the instrument (own choice)
_SHARE = 0.25  # of a band, or of an amount (own choice)


def step_size(quantity: Quantity, value: float = 0.0, *, difference: bool = False) -> float:
    """A step [SI] for a number compared with a quantity: three accuracies of its instrument,
    or a quarter of the number, whichever is more; one unit where there is neither.

    `difference` says that the value is an amount of change of the quantity.
    """
    kind = difference_kind(quantity.kind) if difference else quantity.kind
    amount = kind is difference_kind(kind)  # a quarter of a temperature means nothing
    step = max(_ACCURACIES * (quantity.accuracy or 0.0), _SHARE * abs(value) if amount else 0.0)
    if quantity.kind is Kind.COUNT:
        return max(round(step), 1.0)
    return step or abs(unit_for(difference_kind(quantity.kind)).factor)


def edge_step(limit: Limit, edge: str, quantity: Quantity) -> float:
    """A step [SI] for an edge of a limit: the notch, or a quarter of the normal band if wider."""
    value = getattr(limit, edge)
    step = step_size(quantity, value)
    if limit.low is not None and limit.high is not None:
        step = max(step, _SHARE * (limit.high - limit.low))
    return step
