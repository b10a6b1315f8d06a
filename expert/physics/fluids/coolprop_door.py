"""The only door to CoolProp. Imported inside functions: the library takes two seconds to load.

Each thread has its own state per refrigerant. A state shared by threads gives wrong values
without an error.
"""

from __future__ import annotations

import threading
from functools import cache
from typing import Any

from expert.physics.fluids.refrigerants import Refrigerant, refrigerant
from expert.physics.frame.physics_errors import NotAvailable

_local = threading.local()


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
    return _new_state(refrigerant(name))


def state(name: str) -> Any:
    """This thread's own CoolProp state of a refrigerant, with no phase imposed."""
    one = refrigerant(name)
    states: dict[str, Any] = _local.__dict__.setdefault("states", {})
    if one.designation not in states:
        states[one.designation] = _new_state(one)
    found = states[one.designation]
    found.unspecify_phase()
    return found


def _new_state(one: Refrigerant) -> Any:
    if not one.available:
        raise NotAvailable(one.designation, one.unavailable)
    if not (one.model or one.model_components):
        raise NotAvailable(
            f"The state of {one.designation}", "its own table holds saturation pressures only"
        )
    coolprop = library()
    if one.model:
        return coolprop.AbstractState("HEOS", one.model)
    built = coolprop.AbstractState("HEOS", "&".join(one.model_components))
    built.set_mass_fractions(list(one.model_components.values()))
    return built
