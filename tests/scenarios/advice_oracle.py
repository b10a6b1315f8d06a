"""When a gated action may be advised, judged from the readings alone.

Written apart from the gates and without their code: plain numbers and words, no limits, no signs.
What was not read never counts as good.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from expert.inference.evaluation_model import Evaluation, Reading, each_finding
from expert.units.kinds import unit_for
from expert.units.measure import Measure

Values = Mapping[str, float | str]
UNREAD = float("nan")  # no comparison with it holds


FROST_ON_CIRCUITS = "frost on the circuits"  # the worst that was seen; only where all were seen


def values_of(
    evaluation: Evaluation, readings: Iterable[Reading], circuits: Iterable[str] = ()
) -> Values:
    """What was read and computed, in F, psi, % and words; frost also of the circuits named."""
    told: dict[str, float | str] = {}
    frost = {r.subject: str(r.value) for r in readings if r.quantity == "frost_before"}
    seen = [frost.get(circuit, "") for circuit in circuits]
    if "iced solid" in seen or (seen and all(seen)):
        told[FROST_ON_CIRCUITS] = "iced solid" if "iced solid" in seen else "seen"
    for name, known in evaluation.known.items():
        value = known.value
        if isinstance(value, Measure):
            unit = unit_for(value.kind, "us")
            told[name] = (value.value - unit.offset) / unit.factor
        else:
            told[name] = value
    return told


def advised(evaluation: Evaluation) -> Iterator[tuple[str, str]]:
    """The gated actions that are advised, each with its cause."""
    for finding in each_finding(evaluation.findings):
        for remedy in finding.cause.remedy:
            if remedy.action and remedy.text in finding.do:
                yield remedy.action, finding.cause.id


def dangers(action: str, told: Values, has: tuple[str, ...]) -> list[str]:
    """Why an action may not be advised with these readings; empty where it may."""
    if action not in _ASKED:
        return [f"no oracle for {action}"]
    return [why for why, fine in _ASKED[action](told, has) if not fine]


Asked = Iterator[tuple[str, bool]]


def _number(told: Values, name: str) -> float:
    value = told.get(name, UNREAD)
    assert not isinstance(value, str)
    return value


def _not(told: Values, name: str, *words: str) -> bool:
    return told.get(name) not in words


def _coils_seen(told: Values) -> Asked:
    looked = {"starved_coils", "frost_before", FROST_ON_CIRCUITS} & set(told)
    yield "no coil was looked at", bool(looked)
    yield "the coil of a circuit is iced", _not(told, FROST_ON_CIRCUITS, "iced solid")
    yield "a coil is iced", _not(told, "starved_coils", "iced")
    yield "the coil is iced", _not(told, "frost_before", "iced solid")


def _no_defrost(told: Values) -> Asked:
    yield "defrosts were not counted, or one runs", _number(told, "other_circuits_defrosting") < 1


def _state_known(told: Values) -> Asked:
    yield "the condenser is not known to be in full use", told.get("condenser_mode") == "full"
    yield "reclaim is not known to be off", told.get("heat_reclaim") == "off"
    yield "circuits are pumped down", _not(told, "circuits_pumped_down", "some")
    yield from _no_defrost(told)


def _level_agrees(told: Values) -> bool:
    level, touched = (_number(told, name) for name in ("receiver_level", "receiver_level_by_touch"))
    return not abs(level - touched) > 15


def _add_refrigerant(told: Values, has: tuple[str, ...]) -> Asked:
    yield from _coils_seen(told)
    yield from _state_known(told)
    low = 30 if "condenser hold-back valve" in has else 20
    yield "the level is not read low", _number(told, "receiver_level") < low
    yield "subcooling is unread, or plenty", _number(told, "condenser_subcooling") < 12
    yield "gauge and shell disagree", _level_agrees(told)
    full = _number(told, "receiver_level_full_condenser")
    yield "full condenser shows enough", not full > low
    drop = 4 if "two driers in series" in has else 2
    yield "the drier is not excluded", _number(told, "drier_pressure_drop") <= drop
    line = "liquid_line_cold_spot" in told or _number(told, "standing_liquid_drop") < 4
    yield "the liquid line is not excluded", line
    yield "a part of the liquid line is cold", told.get("liquid_line_cold_spot", "none") == "none"
    yield "the line loses pressure", not _number(told, "standing_liquid_drop") > 9
    yield "the drier cools the liquid", not _number(told, "drier_temperature_drop") > 4
    yield "the king valve is part shut", _not(told, "king_valve", "part shut")
    yield "a drop leg is part shut", _not(told, "drop_leg_valves", "one part shut")
    yield "the condenser loses pressure", not _number(told, "condenser_drop") > 22
    condensing = _number(told, "saturated_condensing_temperature")
    warm = _number(told, "outdoor_temperature") > 50 or 65 <= condensing <= 115
    yield "head is not known to be held", warm or "head_raised" in told
    yield "raising head put it right", _not(told, "head_raised", "all came right")
    yield "another refrigerant is inside", _not(told, "refrigerant_identity", "mixed or other")


def _recover_refrigerant(told: Values, has: tuple[str, ...]) -> Asked:
    yield from _state_known(told)
    yield "circuits are not known to be in service", told.get("circuits_pumped_down") == "none"
    high = 75 if "condenser hold-back valve" in has else 60
    yield "the level is not read high", _number(told, "receiver_level") > high
    yield "the shell was not felt", "receiver_level_by_touch" in told
    yield "gauge and shell disagree", _level_agrees(told)


def _proven(told: Values) -> Asked:
    yield "not proven a second time", told.get("second_test") == "agrees"
    yield "its supply is not proven", told.get("part_signal") in ("present", "no electrics")


def _replace_compressor(told: Values, has: tuple[str, ...]) -> Asked:
    yield "leaking back is not excluded", told.get("leak_back") == "excluded"
    yield "hot gas leaks back", _not(told, "hot_gas_line_in_cooling", "warm")
    yield "the rack is not known to be steady", told.get("rack_steady") == "yes"
    yield from _no_defrost(told)
    yield from _coils_seen(told)
    yield from _proven(told)


def _turn_stem(told: Values, has: tuple[str, ...]) -> Asked:
    yield "the rack is not known to be steady", told.get("rack_steady") == "yes"
    yield "the circuit is not known to cool", told.get("circuit_mode") == "cooling"
    yield from _no_defrost(told)
    yield "superheat is unread", "evaporator_superheat" in told
    yield "the coil was not seen", told.get("frost_before", "iced solid") != "iced solid"
    fans = told.get("fans_in_cooling") in ("all turning", "none fitted")
    yield "fans were not seen turning", fans
    yield "the bulb was not felt", told.get("expansion_valve_bulb") == "tight and insulated"
    glass = {told.get("sight_glass"), told.get("case_sight_glass")}
    subcooling = _number(told, "subcooling_at_valve")
    yield "liquid at the valve is unread", "clear" in glass or subcooling >= 3
    yield "bubbles", "bubbles" not in glass
    yield "no liquid at the valve", not subcooling < 2
    push = _number(told, "pressure_across_valve")
    held = _number(told, "saturated_condensing_temperature") > 60
    yield "pressure is unread, or too little", held or 75 <= push <= 260
    yield "too little pressure", not push < 70


def _adjust_differential(told: Values, has: tuple[str, ...]) -> Asked:
    yield from _no_defrost(told)
    yield "gas is not known to be on", told.get("hot_gas_valve") == "open"
    read = {"defrost_differential", "differential_of_largest_circuit"} & set(told)
    yield "the differential is unread", bool(read)
    yield "head is low or unread", _number(told, "saturated_condensing_temperature") > 60


def _purge(told: Values, has: tuple[str, ...]) -> Asked:
    yield "air is not proven, stopped", _number(told, "stopped_condenser_gap") > 3
    yield "the face was not seen clean", told.get("condenser_face") == "clean"


def _replace_charge(told: Values, has: tuple[str, ...]) -> Asked:
    yield "not analysed", told.get("refrigerant_identity") == "mixed or other"
    yield "not proven a second time", told.get("second_test") == "agrees"


def _open_circuit(told: Values, has: tuple[str, ...]) -> Asked:
    yield "not proven empty", told.get("opening_section") == "isolated and empty"


def _charge_carbon_dioxide(told: Values, has: tuple[str, ...]) -> Asked:
    yield "dry ice", _number(told, "co2_charging_pressure") >= 75
    yield "the room is unread, or full of gas", _number(told, "room_carbon_dioxide") <= 2500
    yield "the tank is not read low", _number(told, "co2_flash_tank_level") < 20
    yield "a relief blows", told.get("co2_relief", "quiet") == "quiet"


def _never(told: Values, has: tuple[str, ...]) -> Asked:
    yield "never", False


def _condemn(told: Values, has: tuple[str, ...]) -> Asked:
    return _proven(told)


_ASKED: Mapping[str, Callable[[Values, tuple[str, ...]], Asked]] = {
    "add-refrigerant": _add_refrigerant,
    "adjust-differential": _adjust_differential,
    "charge-carbon-dioxide": _charge_carbon_dioxide,
    "condemn-part": _condemn,
    "open-circuit": _open_circuit,
    "purge-non-condensables": _purge,
    "raise-safety-setting": _never,
    "recover-refrigerant": _recover_refrigerant,
    "replace-charge": _replace_charge,
    "replace-compressor": _replace_compressor,
    "turn-expansion-valve-stem": _turn_stem,
}
