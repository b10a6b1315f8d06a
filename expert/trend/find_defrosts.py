r"""Finds the defrosts of a circuit in its curves, and when each began, ended and cooled again.

A hot gas defrost as its coil shows it, without a column that states it:

    F
    50 |                        _.           <- top: it passes melting, else it is no defrost
    32 |             ,--------'  \            <- melting: frost takes the heat, the coil waits
       |            /             \
     6 |- - - - - -/- - - - - - - -\- - - -  <- half way between usual and melting: the span
       |          /                 \
   -20 |----------                   '-----  <- usual coil temperature (median)
       +----------|-------------|----|-----> time
                start          end  cooling

    span      from the first to the last sample above half way, as long as a defrost can be
    start     back from the steepest rise to where it hardly rises; with a pressure, where that
              has gone three tenths of its way up
    end       where the pressure lets go, else where the coil stops rising
    cooling   where its fall after the end begins; what lies between is drip time

A gap in the log inside of it leaves the defrost there, and not judged.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from expert.trend.curve_limits import Settings
from expert.trend.curves import Curve, Curves, crossing, middle, runs, smooth
from expert.trend.seen_defrost import Defrost

COOLING, PUMP_DOWN, HEATING, DRIP = range(4)  # places in the choices of the defrost state
OPEN = 0  # place in the choices of the valve
_HALF_WAY = 0.5  # between the usual coil temperature and melting a coil is warming
_FALLEN = 0.25  # of its steepest fall: there the fall begins
_BEFORE = 1800.0  # s looked at before a defrost
_GONE = 0.3  # share of the way between two pressures that tells a change from a ripple


@dataclass(frozen=True)
class _HintedTime:
    """A time in which something tells of a defrost; edges [s]."""

    first: float
    last: float
    stated: bool


def find_defrosts(curves: Curves, settings: Settings) -> list[Defrost]:
    """The defrosts in order of time; one that a gap spoils is there and not judged."""
    stated = list(_stated(curves, settings))
    usual = middle(curves.coil.x) if len(curves.coil) else 0.0
    warm = list(_warm(curves.coil, usual, curves.step, settings))
    spans = list(stated)
    for span in warm:
        margin = 0.5 * settings.length[0]
        if not any(
            t.first - 900 < span.last and span.first < t.last + 900 + margin for t in stated
        ):
            spans.append(span)
    spans.sort(key=lambda span: span.first)
    return [_defrost(span, usual, curves, settings) for span in spans]


def _stated(curves: Curves, settings: Settings) -> Iterator[_HintedTime]:
    """The times in which the state column says defrost, or the valve column says open."""
    for curve, wanted in ((curves.state, HEATING), (curves.valve, OPEN)):
        if not len(curve):
            continue
        for first, last in zip(*runs(curve.x == wanted), strict=True):
            if first == 0 or last == len(curve) - 1:
                continue  # begun before the log or not over at its end
            yield _HintedTime(float(curve.t[first]), float(curve.t[last]), stated=True)
        return


def _warm(coil: Curve, usual: float, step: float, settings: Settings) -> Iterator[_HintedTime]:
    """The times in which the coil stands far above its usual temperature and reaches melting."""
    if len(coil) < 10:
        return
    melting = settings.melting[0]
    if usual > melting - 2.5:
        return  # a coil that is as warm as melting ice while it cools tells nothing
    level = usual + _HALF_WAY * (melting - usual)
    first, last = runs(coil.x > level)
    spans: list[list[int]] = []
    for one, other in zip(first, last, strict=True):
        if spans and coil.t[one] - coil.t[spans[-1][1]] < 3.5 * step:
            spans[-1][1] = int(other)
        else:
            spans.append([int(one), int(other)])
    for one, other in spans:
        edge = one == 0 or other == len(coil) - 1
        long = settings.length[0] <= coil.t[other] - coil.t[one] + step <= settings.length[1]
        top = np.sort(coil.x[one : other + 1])[-2:].min()
        if long and not edge and top > melting - settings.melting_width:
            yield _HintedTime(float(coil.t[one]), float(coil.t[other]), stated=False)


def out_of_use(coil: Curve, settings: Settings) -> list[tuple[float, float]]:
    """Times [s] in which the coil stayed warm for longer than any defrost: no defrost is due."""
    if len(coil) < 10:
        return []
    melting = settings.melting[0]
    usual = middle(coil.x)
    level = melting if usual > melting - 2.5 else usual + _HALF_WAY * (melting - usual)
    spans = zip(*runs(coil.x > level), strict=True)
    found = [(float(coil.t[one]), float(coil.t[other])) for one, other in spans]
    return [(one, other) for one, other in found if other - one > settings.length[1]]


def _defrost(span: _HintedTime, usual: float, curves: Curves, settings: Settings) -> Defrost:
    gap = max(settings.gap, 2.5 * curves.step)
    found = Defrost(span.first, stated=span.stated)
    source = curves.state if len(curves.state) else curves.valve
    if span.stated and source.gap_in(span.first - 1, span.last + 1, gap):
        found.why_not = "gap in the log"
        return found
    if span.stated:
        found.start, found.end = _edges(source, span, gap)
    if not len(curves.coil):
        found.why_not = "" if span.stated else "no coil temperature"
        found.pump_down, found.cooling = _around(curves.state, found.start, span.last, gap)
        return found
    if curves.coil.gap_in(span.first - 2 * gap, span.last + 2 * gap, gap):
        found.why_not = "gap in the log"
        return found
    coil = curves.coil
    part = coil.between(found.start, span.last + max(600.0, 1.5 * curves.step))
    level = usual + _HALF_WAY * (settings.melting[0] - usual)
    found.heated = bool(len(part)) and float(part.x.max()) > level
    if not span.stated:
        _from_curves(found, span, curves)
    found.pump_down, found.cooling = _around(curves.state, found.start, span.last, gap)
    if found.pump_down is None:
        found.pump_down = _pumped_down(curves, found.start)
    if found.cooling is None and found.heated:
        after = found.end if found.end is not None else span.last - 600
        found.cooling = _cooling_on(coil, after, usual)
    if found.cooling is not None and coil.gap_in(found.start - gap, found.cooling + gap, gap):
        found.why_not = "gap in the log"
    return found


def _edges(source: Curve, span: _HintedTime, gap: float) -> tuple[float, float | None]:
    """When a column changed to defrost and back: half way between two samples."""
    first, last = np.searchsorted(source.t, (span.first, span.last))
    return (
        float(source.t[first - 1] + source.t[first]) / 2,
        float(source.t[last] + source.t[last + 1]) / 2,
    )


def _around(
    state: Curve, start: float, last: float, gap: float
) -> tuple[float | None, float | None]:
    """The length of the pump-down before and the time of cooling after, where the state tells."""
    if not len(state):
        return None, None
    first = int(np.searchsorted(state.t, start)) - 1
    begin = first
    while begin >= 0 and state.x[begin] == PUMP_DOWN:
        begin -= 1
    pump_down = None
    if 0 <= begin < first and not state.gap_in(state.t[begin], start, gap):
        pump_down = start - float(state.t[begin] + state.t[begin + 1]) / 2
    after = int(np.searchsorted(state.t, last)) + 1
    if after >= len(state) or state.x[after] != DRIP:
        return pump_down, None
    while after < len(state) and state.x[after] == DRIP:
        after += 1
    if after == len(state) or state.gap_in(last, state.t[after], gap):
        return pump_down, None
    return pump_down, float(state.t[after - 1] + state.t[after]) / 2


def _from_curves(found: Defrost, span: _HintedTime, curves: Curves) -> None:
    """Gas or heat on and off, where no column tells: from pressure and coil."""
    coil, pressure = curves.coil, curves.pressure
    found.start = _on_by_coil(coil, span.first)
    near = pressure.between(span.first - _BEFORE, span.last + 600)
    before = pressure.median(span.first - _BEFORE, span.first - 600)
    top = float(np.sort(near.x)[int(0.9 * len(near))]) if len(near) else None
    pressed = before is not None and top is not None and top > before + 2e5
    if pressed and before is not None and top is not None:
        level = before + _GONE * (top - before)
        above = np.flatnonzero(near.x > level)
        if above[0] > 0:
            found.start = crossing(near, int(above[0]), level)
    if pressed and before is not None and top is not None:
        found.end = _let_go(near, found.start, span.last)
    if found.end is None:
        found.end = _stops_rising(coil, found.start, span.last)


def _on_by_coil(coil: Curve, first: float) -> float:
    """When the coil began to warm: from where it rises fastest, back to where it hardly rises."""
    part = coil.between(first - _BEFORE, first + 300)
    if len(part) < 4:
        return first
    slope = np.gradient(smooth(part), part.t)
    at = int(np.argmax(slope))
    while at > 0 and slope[at] > _FALLEN * slope.max():
        at -= 1
    return float(part.t[at] + part.t[min(at + 1, len(part) - 1)]) / 2


def _stops_rising(coil: Curve, start: float, last: float) -> float | None:
    """When the coil stopped rising towards its peak, None where it lay flat and had none.

    A sensor lags behind: its peak comes after the end, but its rise slackens at the end.
    """
    part = coil.between(start, last + 300)
    if len(part) < 4:
        return None
    x = smooth(part)
    at = int(np.argmax(x))
    climb = (part.t > part.t[at] - 420) & (part.t <= part.t[at])
    if climb.sum() < 2 or x[at] - x[climb].min() < 3.0:
        return None
    slope = np.gradient(x, part.t)
    steep = float(np.sort(slope[climb])[-max(int(0.4 * climb.sum()), 1)])
    while at > 0 and slope[at] < 0.5 * steep:
        at -= 1
    return float(part.t[at] + part.t[min(at + 1, len(part) - 1)]) / 2


def _let_go(pressure: Curve, start: float, last: float) -> float | None:
    """When the pressure left the height it had with gas on."""
    part = pressure.between(start, last + 600)
    early = part.x[part.t < start + 0.6 * (last - start)]
    if not len(early):
        return None
    held = middle(early)
    if (falls := np.flatnonzero((part.x < 0.9 * held) & (part.t > start + 180))).size:
        return float(part.t[falls[0] - 1] + part.t[falls[0]]) / 2
    return None


def _pumped_down(curves: Curves, start: float) -> float | None:
    """How long the pressure lay below its usual height just before the gas came on."""
    part = curves.pressure.between(start - _BEFORE, start)
    if len(part) < 10:
        return None
    earlier = part.x[part.t < start - 0.4 * _BEFORE]
    if len(earlier) < 5:
        return None
    usual = middle(earlier)
    spread = 1.4826 * middle(np.abs(earlier - usual)) + 500.0
    below = part.x < usual - 4 * spread
    at = len(part) - 1
    if not below[at]:
        at -= 1  # the last sample may already have felt the gas
    first = at
    while first >= 0 and below[first]:
        first -= 1
    return None if first in (at, -1) else start - float(part.t[first] + part.t[first + 1]) / 2


def _cooling_on(coil: Curve, end: float, usual: float) -> float | None:
    """When the coil began to fall fast after a defrost.

    From its steepest fall back to where it hardly falls; the fall must go most of the way down.
    """
    part = coil.between(end, end + 2700)
    if len(part) < 5:
        return None
    x = smooth(part)
    low = np.flatnonzero(x < usual + 0.4 * (x.max() - usual))
    if not low.size:
        return None
    slope = np.gradient(x, part.t)[: low[0] + 1]
    if len(slope) < 2:
        return None
    at = int(np.argmin(slope))
    while at > 0 and slope[at] < 2 * _FALLEN * slope.min():
        at -= 1
    return float(part.t[at] + part.t[at + 1]) / 2
