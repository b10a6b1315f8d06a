"""What a site file would say of a plant of the model."""

from __future__ import annotations

from expert.plant.design import HOLD_BACK, Plants


def height_of(plants: Plants, row: int) -> float:
    """Altitude of a store [m], from its barometer."""
    return float((1 - (plants.barometer[row] / 101325.0) ** (1 / 5.25588)) / 2.25577e-5)


def fitted(plants: Plants, row: int, circuit: int) -> tuple[str, ...]:
    """The devices that a plant and its looked-at circuit have, as a site file names them."""
    has = []
    if plants.head_control[row] == HOLD_BACK:
        has.append("condenser hold-back valve")
    if plants.subcooler[row] > 0:
        has.append("mechanical subcooler")
    if plants.valve_electronic[row, circuit] > 0:
        has.append("electronic expansion valve")
    return tuple(has)


def defrosted_by(always: bool, plants: Plants, row: int, circuit: int, seed: int) -> str:
    """By hot gas where it must be; of medium temperature every other circuit, too."""
    piped = plants.hot_gas_leak[row, circuit] > 0 or plants.bypass_leak[row, circuit] > 0
    return "hot gas" if always or piped or seed % 2 else "off cycle"
