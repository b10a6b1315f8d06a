"""The plus/minus of every result against many draws of its readings, at the examples of the help.

First order against Monte Carlo (JCGM 101:2008): readings are drawn from normal distributions whose
standard deviation is the plus/minus of an ordinary instrument; the error of the model is set aside.
"""

from __future__ import annotations

import math
import random
import statistics

import pytest
from budget import NIGHTLY
from test_impossible_states import usual

from expert.cli.calc.formula import asked_of
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.instruments import usual_accuracy
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.frame.uncertainty import model_error, propagate
from expert.units.kinds import PSI

DRAWS = 2500  # the spread of a spread is then 1.4 %
FEW = 300  # where each draw asks the library; the spread is then known to 4 %
# At the bend, where the subcooling is just used up, first order is not what the draws give. Inputs
# that lead away from it [Pa].
BENT = {
    "flash_gas": {"line_drop": 40 * PSI},
    "flash_gas_volume": {"line_drop": 60 * PSI},
    "drier_temperature_drop": {"drop": 50 * PSI},
}


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


READ = [name for name in CATALOG if errors_of(name) and name not in BENT]
TABLED = [name for name in READ if not asks_the_library(name)]
LIBRARY = [name for name in READ if asks_the_library(name)]


@pytest.mark.parametrize("name", TABLED)
def test_the_plus_minus_is_within_ten_per_cent_of_many_draws(name: str) -> None:
    carried, drawn = both(name, DRAWS)
    assert carried == pytest.approx(drawn, rel=0.10)


@pytest.mark.parametrize("name", LIBRARY if NIGHTLY else LIBRARY[::8])
def test_it_is_so_for_those_that_ask_the_library_too(name: str) -> None:
    carried, drawn = both(name, FEW)
    assert carried == pytest.approx(drawn, rel=0.10)


@pytest.mark.parametrize("name", [n for n in BENT if NIGHTLY or not asks_the_library(n)])
def test_away_from_its_bend_it_is_so_for_those_that_have_one(name: str) -> None:
    carried, drawn = both(name, FEW if asks_the_library(name) else DRAWS, **BENT[name])
    assert carried == pytest.approx(drawn, rel=0.10)


def both(name: str, draws: int, **instead: float) -> tuple[float, float]:
    """What is carried through to first order, and the spread of the draws."""
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
    assert len(drawn) > 0.95 * draws
    return carried, statistics.stdev(drawn)


def test_most_formulas_with_readings_are_drawn() -> None:
    assert len(TABLED) > 35
