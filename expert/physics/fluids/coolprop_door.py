"""The only door to CoolProp. Imported inside functions: the library takes two seconds to load.

Each thread has its own state per refrigerant. A state shared by threads gives wrong values
without an error.
"""

from __future__ import annotations

import threading
from functools import cache
from typing import Any

from expert.physics.fluids.refrigerants import Refrigerant, estimated_pairs, refrigerant
from expert.physics.frame.physics_errors import NotAvailable

_local = threading.local()
_lock = threading.Lock()
_estimated: set[frozenset[str]] = set()  # pairs that the library has been given


@cache
def library() -> Any:
    """The CoolProp module, checked for its version. Raises `NotAvailable`."""
    try:
        import CoolProp
    except ImportError as error:
        raise NotAvailable("this calculation", "it needs the CoolProp library") from error
    if CoolProp.__version__.split(".")[0] != "8":
        raise NotAvailable(
            "this calculation",
            f"it needs CoolProp 8; {CoolProp.__version__} is installed, whose blend models differ",
        )
    return CoolProp


def new_state(name: str) -> Any:
    """A fresh CoolProp state of a refrigerant, owned by the caller's thread."""
    return built_state(refrigerant(name))


def state(name: str) -> Any:
    """This thread's own CoolProp state of a refrigerant, with no phase imposed."""
    one = refrigerant(name)
    states: dict[str, Any] = _local.__dict__.setdefault("states", {})
    if one.designation not in states:
        states[one.designation] = built_state(one)
    found = states[one.designation]
    found.unspecify_phase()
    return found


def built_state(one: Refrigerant) -> Any:
    """A fresh state of a refrigerant given whole. Raises `NotAvailable`."""
    if not (one.model or one.model_components):
        raise NotAvailable(
            f"The state of {one.designation}", "its own table holds saturation pressures only"
        )
    coolprop = library()
    if one.model:
        return coolprop.AbstractState("HEOS", one.model)
    _set_estimates(one)
    built = coolprop.AbstractState("HEOS", "&".join(one.model_components))
    built.set_mass_fractions(list(one.model_components.values()))
    return built


def _set_estimates(one: Refrigerant) -> None:
    """Gives the library the estimated pairs of a blend that is carried with them.

    They stay with the library, so a blend for which they are not vouched is refused,
    whether or not they are there already.
    """
    pairs = {p: g for p, g in estimated_pairs().items() if p <= set(one.model_components)}
    if pairs and not one.estimated:
        first, second = sorted(next(iter(pairs)))
        raise NotAvailable(
            one.designation, f"there are no published mixing parameters of {first} with {second}"
        )
    door = library().CoolProp
    with _lock:
        for pair in pairs.keys() - _estimated:
            numbers = sorted(door.get_fluid_param_string(name, "CAS") for name in pair)
            door.apply_simple_mixing_rule(*numbers, "Lorentz-Berthelot")
            door.set_mixture_binary_pair_data(*numbers, "gammaT", pairs[pair])
            _estimated.add(pair)
