"""The plus/minus of every result against many draws of its readings.

At the examples of the help, and at the kinks of formulas that are cut at a bound. The judge is
Monte Carlo (JCGM 101:2008): readings are drawn from normal distributions whose standard deviation
is the plus/minus of an ordinary instrument; the error of the model is set aside.
"""

from __future__ import annotations

import math
import random
import statistics
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

import pytest
from budget import NIGHTLY, step
from test_impossible_states import usual

from expert.cli.calc.any_formula import asked_of
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.instruments import usual_accuracy
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.frame.uncertainty import model_error, propagate

State = Mapping[str, Any]  # the inputs of a formula by name
DRAWS = 2500  # the spread of a spread is then 1.4 %
FEWER = 2500 if NIGHTLY else 1000  # 2.2 %, far from a bend
FEW = 300  # where each draw asks the library; the spread is then known to 4 %


def errors_of(name: str) -> dict[str, float]:
    formula = CATALOG[name]
    _, values = usual(formula)
    found = {}
    for asked in asked_of(formula):
        value = values[asked.name]
        assert not isinstance(value, str)
        spread = usual_accuracy(asked.name, asked.kind, value) if asked.reading else None
        if spread:
            found[asked.name] = spread
    return found


def asks_the_library(name: str) -> bool:
    """Whether each draw would cost milliseconds."""
    return "CoolProp 8 equations" in CATALOG[name].source.replace("saturation from CoolProp", "")


READ = [name for name in CATALOG if errors_of(name)]
TABLED = [name for name in READ if not asks_the_library(name)]
LIBRARY = [name for name in READ if asks_the_library(name)]


@pytest.mark.parametrize("name", TABLED[:: step(8)])
def test_the_plus_minus_is_within_ten_per_cent_of_many_draws(name: str) -> None:
    carried, drawn = both(name, FEWER)
    assert carried == pytest.approx(drawn, rel=0.10)


@pytest.mark.parametrize("name", LIBRARY if NIGHTLY else LIBRARY[:1])
def test_it_is_so_for_those_that_ask_the_library_too(name: str) -> None:
    carried, drawn = both(name, FEW)
    assert carried == pytest.approx(drawn, rel=0.10)


# What leads each formula that is cut at a bound to that bound, in SI.
KINKS: dict[str, tuple[str, float]] = {
    "expected_condensing_temperature": ("floor", 309.26),
    "expected_condensing_pressure": ("floor", 309.26),
    "flash_gas": ("liquid_temperature", 303.59),
    "flash_gas_volume": ("liquid_temperature", 303.59),
    "drier_temperature_drop": ("drop", 40e3),
    "drier_hidden_pressure_drop": ("pressure", 1.327e6),
    "moisture_load": ("humidity", 0.117),
    "moisture_heat": ("humidity", 0.117),
    "moisture_load_against_rating": ("humidity", 0.117),
    "case_load_at_humidity": ("humidity", 0.117),
    "voltage_unbalance": ("c", 464.0),  # there A lies as far above the average as C below
    "current_unbalance": ("b", 22.0),
}


def test_the_kink_of_every_formula_that_is_said_to_have_one_is_known() -> None:
    assert KINKS.keys() == {name for name, formula in CATALOG.items() if formula.bends}


@pytest.mark.parametrize("off", [-1.0, 0.0, 1.0])
@pytest.mark.parametrize("name", [n for n in KINKS if NIGHTLY or not asks_the_library(n)])
def test_it_is_so_at_the_kink_and_an_error_to_either_side(name: str, off: float) -> None:
    moved, kink = KINKS[name]
    state = {moved: kink + off * width(name, moved, kink)}
    carried, drawn = both(name, DRAWS, state)
    assert carried == pytest.approx(drawn, rel=0.10)


# These run away towards a state that is not there (an empty lying vessel, air without moisture, a
# vacuum that did not rise); no bound cuts them.
RUN_AWAY = {
    "receiver_volume_share", "receiver_charge", "receiver_charge_at_pressure",
    "receiver_charge_change", "store_dew_point", "surface_sweat_margin",
    "standing_vacuum_late_share",
}  # fmt: skip
SOUGHT = [name for name in TABLED if name not in RUN_AWAY]


@pytest.mark.parametrize("name", SOUGHT if NIGHTLY else SOUGHT[::9])
def test_a_formula_that_is_cut_at_a_bound_says_so(name: str) -> None:
    """Every input is moved by up to twenty errors; a curve is straight when looked at near."""
    assert CATALOG[name].bends or not list(kinks(name))


def kinks(name: str) -> Iterator[State]:
    errors = errors_of(name)
    context, values = usual(CATALOG[name])
    for moved, start in values.items():
        if isinstance(start, str):
            continue
        for i in range(-20, 21):
            state = {**values, moved: start + i * width(name, moved, start)}
            ends = {each: around(name, context, state, each, e) for each, e in errors.items()}
            total = math.hypot(*(high - low for low, _, high in ends.values())) / 2
            for across, three in ends.items():
                if unlike(three) > 0.25 * total:
                    near = ({**state, across: state[across] + k * errors[across] / 10}
                            for k in range(-10, 11))  # fmt: skip
                    yield from (
                        one for one in near
                        if unlike(around(name, context, one, across, errors[across] / 10))
                        > 0.04 * total
                    )  # fmt: skip


def width(name: str, moved: str, start: float) -> float:
    """A step of an input: its error, or that of a reading of its kind, or a twentieth."""
    formula, errors = CATALOG[name], errors_of(name)
    alike = [e for other, e in errors.items() if formula.inputs[other] is formula.inputs[moved]]
    return errors.get(moved) or min(alike, default=0.05 * abs(start))


def around(
    name: str, context: Context, state: State, across: str, error: float
) -> tuple[float, float, float]:
    """The result an error below, here, and an error above; all alike where one is refused."""
    try:
        low, here, high = (
            CATALOG[name].compute(context, **{**state, across: state[across] + k * error})
            for k in (-1, 0, 1)
        )
    except PhysicsError:
        return 0.0, 0.0, 0.0
    return low, here, high


def unlike(three: tuple[float, float, float]) -> float:
    """How much the changes to both sides differ; rounding does not count."""
    low, here, high = three
    return max(abs(high - 2 * here + low) - 1e-9 * abs(here), 0.0)


def both(name: str, draws: int, instead: State = MappingProxyType({})) -> tuple[float, float]:
    """What is carried through, and the spread of the draws."""
    formula, errors = CATALOG[name], errors_of(name)
    context, values = usual(formula)
    values = {**values, **instead}
    numbers = {k: v for k, v in values.items() if not isinstance(v, str)}
    spread = propagate(formula, context, values, errors)[1]  # type: ignore[arg-type]
    own = model_error(formula, context, numbers)
    carried = math.sqrt(max(spread**2 - own**2, 0.0))
    chance = random.Random(7)
    drawn = []
    for _ in range(draws):
        moved = {k: chance.gauss(numbers[k], error) for k, error in errors.items()}
        try:
            drawn.append(formula.compute(context, **{**values, **moved}))
        except PhysicsError:  # a reading beyond the range: as good as not taken
            continue
    assert len(drawn) > (0.6 if instead else 0.95) * draws  # beyond a kink some are refused
    return carried, statistics.stdev(drawn)


def test_most_formulas_with_readings_are_drawn() -> None:
    assert len(TABLED) > 35
