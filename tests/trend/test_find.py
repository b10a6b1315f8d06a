"""Defrosts found in small hand-made curves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shipped_knowledge import shipped_rules

from expert.knowledge.site import Subject
from expert.trend.curve_limits import Settings, settings_for
from expert.trend.curves import Curve, Curves, runs, without_stuck
from expert.trend.find_defrosts import find_defrosts, out_of_use
from expert.trend.measure_defrost import measure

NONE = Curve(np.empty(0), np.empty(0))
DAY = 1440
MINUTES = np.arange(DAY, dtype=float)


@pytest.fixture(scope="module")
def settings() -> Settings:
    facts = {"application": "low temperature", "defrost": "hot gas"}
    return settings_for(shipped_rules(), Subject("A1", "A1", "circuit", "A", facts))


def kelvin(f: np.ndarray) -> np.ndarray:
    return (f + 459.67) / 1.8


def coil(shape: tuple[tuple[float, float], ...], keep: np.ndarray | None = None) -> Curve:
    """A coil at -20 F but for some corners (minute, F)."""
    rng = np.random.default_rng(5)
    corners = ((0, -20), *shape, (DAY, -20))
    x = np.interp(MINUTES, *zip(*corners, strict=True)) + rng.normal(0, 0.2, DAY)
    curve = Curve(MINUTES * 60, kelvin(x))
    return curve if keep is None else Curve(curve.t[keep], curve.x[keep])


def curves(of: Curve, **more: Curve) -> Curves:
    names = ("air", "pressure", "state", "valve", "hot_gas", "liquid", "suction")
    return Curves(60.0, of, **{name: more.get(name, NONE) for name in names})


# begins at 600, at 32 F from 603 to 609, ends at 613, cooling from 618 on
DEFROST = ((600, -20), (603, 32), (609, 32), (613, 56), (618, 50), (632, -20))


def test_a_defrost_from_the_coil_alone(settings: Settings) -> None:
    (found,) = find_defrosts(curves(coil(DEFROST)), settings)
    measure(found, curves(coil(DEFROST)), settings, kelvin(np.array(55.0)).item(), 24 * 60, 1e9)
    assert found.judged
    assert found.start / 60 == pytest.approx(600, abs=1.5)
    assert found.length is not None and found.length / 60 == pytest.approx(13, abs=1.5)
    assert found.drip is not None and found.drip / 60 == pytest.approx(5, abs=1.5)
    assert found.plateau is not None and found.plateau / 60 == pytest.approx(6, abs=1.2)
    assert found.plateau_level == pytest.approx(273.15, abs=0.3)
    assert (found.ended_by, found.left_melting) == ("temperature", True)


def test_without_settings_what_ended_it_is_unknown(settings: Settings) -> None:
    (found,) = find_defrosts(curves(coil(DEFROST)), settings)
    measure(found, curves(coil(DEFROST)), settings, None, None, 1e9)
    assert found.ended_by == "unknown"


def test_a_gap_in_a_decisive_place_is_never_bridged(settings: Settings) -> None:
    for start in (598, 604, 612):
        keep = (start > MINUTES) | (start + 8 < MINUTES)
        (found,) = find_defrosts(curves(coil(DEFROST, keep)), settings)
        assert found.why_not == "gap in the log", start
    away = (MINUTES < 700) | (MINUTES > 800)
    (found,) = find_defrosts(curves(coil(DEFROST, away)), settings)
    assert found.judged


def test_a_ripple_is_no_defrost_and_a_warm_circuit_is_out_of_use(settings: Settings) -> None:
    ripple = coil(((600, -20), (605, 0), (620, 0), (625, -20)))
    assert find_defrosts(curves(ripple), settings) == []
    assert out_of_use(ripple, settings) == []
    off = coil(((600, -20), (640, 60), (1000, 60), (1040, -20)))
    assert find_defrosts(curves(off), settings) == []
    ((first, last),) = out_of_use(off, settings)
    assert (last - first) / 60 == pytest.approx(400, abs=40)


def test_a_state_tells_of_a_defrost_that_leaves_the_coil_cold(settings: Settings) -> None:
    state = np.zeros(DAY)
    state[597:600], state[600:620], state[620:625] = 1, 2, 3
    stated = Curve(MINUTES * 60, state)
    (found,) = find_defrosts(curves(coil(()), state=stated), settings)
    assert found.stated and not found.heated
    assert found.pump_down is not None and found.length is not None and found.drip is not None
    assert [each / 60 for each in (found.pump_down, found.length, found.drip)] == [3, 20, 5]


@pytest.mark.parametrize("cut", [slice(600, DAY), slice(0, 12)], ids=["its end", "its beginning"])
def test_a_defrost_that_the_log_shows_in_part_is_none(settings: Settings, cut: slice) -> None:
    state = np.zeros(DAY)
    state[cut] = 2
    assert find_defrosts(curves(coil(()), state=Curve(MINUTES * 60, state)), settings) == []
    whole = state.copy()
    whole[0] = whole[-1] = 0
    assert len(find_defrosts(curves(coil(()), state=Curve(MINUTES * 60, whole)), settings)) == 1


def test_a_stuck_sensor_is_unknown() -> None:
    x = np.sin(MINUTES)
    x[300:900] = 1.0
    kept, lost = without_stuck(Curve(MINUTES * 60, x), 6 * 3600)
    assert lost == pytest.approx(600 * 60, abs=120)
    assert len(kept) == DAY - 600
    assert without_stuck(Curve(MINUTES * 60, np.sin(MINUTES)), 6 * 3600)[1] == 0


def test_runs() -> None:
    first, last = runs(np.array([True, False, True, True]))
    assert (first.tolist(), last.tolist()) == ([0, 2], [0, 3])


def test_the_sites_own_number_stands_in_for_a_setting() -> None:
    rules = shipped_rules()
    subject = Subject("A1", "A1", "circuit", "A", {"defrost": "hot gas"})
    (limit,) = (each for each in rules.limits if each.quantity == "log_gap")
    own = replace(subject, limits=(replace(limit, high=1800.0),))
    assert settings_for(rules, own).gap == 1800.0
