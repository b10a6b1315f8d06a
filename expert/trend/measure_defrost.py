"""The numbers of one defrost: plateau, termination, drip, pressures, recovery."""

from __future__ import annotations

import numpy as np

from expert.trend.curve_limits import Settings
from expert.trend.curves import Curve, Curves, middle, smooth
from expert.trend.seen_defrost import TEMPERATURE, TIME, Defrost

_RECOVERY_LOOK = 600.0  # s after cooling on at which the quantities of recovery are defined
_STANDS = 3  # samples: fewer may only have passed by
_EARLIER = (3600.0, 600.0)  # s before a defrost: from so long before to so short before


def measure(
    found: Defrost,
    curves: Curves,
    settings: Settings,
    termination: float | None,
    fail_safe: float | None,
    next_start: float,
) -> None:
    """Fill in the numbers of a defrost; `termination` [K] and `fail_safe` [s] are the settings.

    What a gap hides stays unknown.
    """
    gap = max(settings.gap, 2.5 * curves.step)
    _before(found, curves, gap)
    _recovery(found, curves, settings, gap, next_start)
    if found.end is not None:
        _with_gas_on(found, curves)
    if found.heated and len(curves.coil):
        _melting(found, curves.coil, settings)
    if found.end is not None and len(curves.coil):
        part = curves.coil.between(found.end - 2 * curves.step, found.end + 2 * curves.step)
        found.coil_at_end = float(part.x.max()) if len(part) else None
        found.air_at_end = curves.air.median(found.end - 2 * curves.step, found.end)
    found.ended_by = _ended_by(found, settings, curves.step, termination, fail_safe)
    if found.end is None and _outlasted(found, curves, settings, termination, fail_safe):
        found.ended_by = TIME


def _before(found: Defrost, curves: Curves, gap: float) -> None:
    early, late = (found.start - each for each in _EARLIER)
    found.air_before = curves.air.median(early, late)
    coil = curves.coil.median(early, late)
    if found.air_before is not None and coil is not None:
        found.coil_below_air = found.air_before - coil
    found.suction_before = curves.suction.median(early, late)


def _with_gas_on(found: Defrost, curves: Curves) -> None:
    """Pressures of the second half with gas on, when they have settled."""
    assert found.end is not None
    middle = found.start + 0.4 * (found.end - found.start)
    late = found.end - curves.step
    found.pressure = curves.pressure.median(middle, late)
    found.hot_gas = curves.hot_gas.median(middle, late)
    found.liquid = curves.liquid.median(middle, late)
    found.suction = curves.suction.median(middle, late)
    if found.cooling is None or found.pressure is None or (found.drip or 0) < 1.5 * curves.step:
        return
    drip = curves.pressure.between(found.end, found.cooling - 0.5 * curves.step)
    floor = curves.pressure.median(found.start - 1800, found.start - 600)
    if len(drip) and floor is not None and found.pressure > floor + 2e5:
        found.pressure_kept = (float(drip.x[-1]) - floor) / (found.pressure - floor)


def _melting(found: Defrost, coil: Curve, settings: Settings) -> None:
    """How long the coil stood at one temperature near melting, which one, and whether it left it.

    Ice takes up heat without warming, so the sensor of a frosted coil stands still near 32 F.
    """
    end = found.end if found.end is not None else found.cooling
    if end is None:
        return
    low, high = settings.melting_search
    width = settings.melting_width
    part = coil.between(found.start, end)
    near = (part.x > low) & (part.x < high)
    held = part.held() * near
    if not near.any():
        found.plateau = 0.0 if part.x.max() > high else None
        return
    centres = np.arange(low, high, width / 8)
    stays = (np.abs(part.x - centres[:, None]) <= width / 2) @ held
    best = float(stays.max())
    level = float(centres[stays >= 0.95 * best].mean())
    found.plateau = best
    inside = np.abs(part.x - level) <= width / 2
    if best >= settings.melting_shortest and inside.sum() >= _STANDS:
        found.plateau_level = middle(part.x[inside])
        found.left_melting = bool(smooth(part)[-6:].max() > level + 1.5 * width)


def _ended_by(
    found: Defrost,
    settings: Settings,
    step: float,
    termination: float | None,
    fail_safe: float | None,
) -> str:
    """What ended it, as far as length and temperature tell it by the settings."""
    if found.length is None:
        return "unknown"
    margin = settings.termination_margin
    warm = termination is not None and found.coil_at_end is not None
    reached = warm and (found.coil_at_end or 0) >= (termination or 0) - margin
    slack = 1.5 * step + 30
    full = fail_safe is not None and found.length >= fail_safe - slack
    if reached and not full:
        return TEMPERATURE
    if full and (not reached or not warm):
        return TIME
    return "unknown"


def _outlasted(
    found: Defrost,
    curves: Curves,
    settings: Settings,
    termination: float | None,
    fail_safe: float | None,
) -> bool:
    """Whether a coil that rose too slowly to show the end never came to its setting in the time."""
    if found.cooling is None or termination is None or fail_safe is None:
        return False
    part = curves.coil.between(found.start, found.cooling)
    cold = len(part) > 0 and float(part.x.max()) < termination - settings.termination_margin
    return cold and found.cooling - found.start >= fail_safe


def _recovery(
    found: Defrost, curves: Curves, settings: Settings, gap: float, next_start: float
) -> None:
    if found.cooling is None:
        return
    look = found.cooling + _RECOVERY_LOOK
    found.pressure_after = curves.pressure.median(look - 90, look + 90)
    found.suction_after = curves.suction.median(look - 90, look + 90)
    if found.air_before is None:
        return
    until = min(found.cooling + settings.longest_recovery, next_start)
    air = curves.air.between(found.cooling - 120, until)
    if len(air) < 3:
        return
    back = smooth(air) <= found.air_before + settings.recovery_band
    warm = np.flatnonzero(~back)
    if not warm.size:
        found.recovery = 0.0
        return
    again = np.flatnonzero(back[warm[0] :])
    end = float(air.t[warm[0] + again[0]]) if again.size else until
    if curves.air.gap_in(found.cooling, end, gap):
        return
    found.recovery = max(end - found.cooling, 0.0)
