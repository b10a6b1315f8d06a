"""Single-phase states: one state of the library for each thread, phases checked first."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from check_values import kelvin

from expert.physics.fluids import coolprop_door as properties
from expert.physics.fluids import single_phase
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.physics_errors import NotAvailable, OutOfRange, PhysicsError


def test_each_thread_has_its_own_state() -> None:
    ready = threading.Barrier(4)

    def own(_: int) -> int:
        ready.wait()
        found = id(properties.state("R-449A"))
        ready.wait()
        return found

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(own, range(4)))) == 4


def test_many_threads_get_the_values_of_one() -> None:
    def entropy(step: int) -> float:
        return single_phase.gas("R-448A", 3e5, 280.0 + step % 40).entropy

    alone = [entropy(step) for step in range(160)]
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(entropy, range(160))) == alone


def test_the_state_of_a_thread_is_used_again() -> None:
    assert properties.state("R-22") is properties.state("r22")


def test_gas_of_an_entropy_has_that_entropy() -> None:
    start = single_phase.gas("R-454C", 2e5, 270.0)
    end = single_phase.gas_of_entropy("R-454C", 12e5, start.entropy)
    assert end.entropy == pytest.approx(start.entropy, rel=1e-9)
    assert end.pressure == 12e5


def test_gas_of_an_enthalpy_has_that_enthalpy() -> None:
    start = single_phase.gas("R-448A", 12e5, 350.0)
    found = single_phase.gas_of_enthalpy("R-448A", 12e5, start.enthalpy)
    assert found.temperature == pytest.approx(350.0, abs=1e-6)


def test_wet_gas_is_refused() -> None:
    liquid = single_phase.liquid("R-22", 12e5, 290.0)
    with pytest.raises(PhysicsError, match="wet"):
        single_phase.gas_of_entropy("R-22", 12e5, liquid.entropy)


def test_liquid_warmer_than_its_bubble_temperature_is_refused() -> None:
    with pytest.raises(OutOfRange, match="not all liquid"):
        single_phase.liquid("R-407A", 12e5, kelvin(100))


def test_saturated_states_have_the_densities_of_the_table() -> None:
    fluid, t = saturation("R-455A"), kelvin(50)
    vapour = single_phase.gas("R-455A", fluid.dew_pressure(t), t)
    liquid = single_phase.liquid("R-455A", fluid.bubble_pressure(t), t)
    assert vapour.density == pytest.approx(fluid.vapour_density(t), rel=1e-5)
    assert liquid.density == pytest.approx(fluid.liquid_density(t), rel=1e-5)


def test_another_version_of_the_library_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    import CoolProp

    properties.library.cache_clear()
    monkeypatch.setattr(CoolProp, "__version__", "7.2.0")
    try:
        with pytest.raises(NotAvailable, match="needs CoolProp 8"):
            properties.library()
    finally:
        monkeypatch.undo()
        properties.library.cache_clear()
