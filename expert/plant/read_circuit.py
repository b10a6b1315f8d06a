"""What is read at one circuit while it cools: case, coil, valve, regulator."""

from __future__ import annotations

import numpy as np

from expert.plant.call import Call
from expert.plant.design import ELECTRONIC, MECHANICAL, NO_REGULATOR
from expert.plant.faults import DOORS
from expert.plant.read_in_order import circuit_in_order
from expert.plant.read_rack import BUBBLES

F = 5 / 9
ICE_POINT = 273.15
OVER_AIR = 1.0 * F  # of the warmest package over the middle of its air (own choice)
SHOWN_AT_MOST = 48.0  # K of superheat, where a display ends


def read_circuit(call: Call) -> None:
    """Every reading of the circuit that the call looks at."""
    _air(call)
    _coil(call)
    case_looks(call)
    _valve(call)
    _liquid(call)
    _regulator(call)
    _sensors(call)
    _last_defrost(call)
    circuit_in_order(call, doors=int(call.kinds[call.row, call.circuit]) in DOORS)


def _air(call: Call) -> None:
    air, back = call.circuit_value("discharge_air"), call.circuit_value("return_air")
    call.word("circuit_mode", "cooling")
    call.number("discharge_air_before", "thermometer", air)
    call.number("return_air", "thermometer", back)
    call.readings["design_discharge_air"] = float(call.paper.case_set[call.row, call.circuit])
    loaded = call.mark("warm_product")
    product = 0.5 * (air + back) + OVER_AIR + 25 * F * loaded  # it lies between the two
    call.number("warmest_product_before", "thermometer", product)
    warm = call.visit.sees(loaded)
    call.word("product_delivery", "loaded warm" if warm else "none lately")
    over = float(call.warmth()[call.circuit])
    alarm = "high temperature" if over > 8 * F else "low temperature" if over < -6 * F else "none"
    call.word("case_alarm", alarm)
    if call.plants.low_temperature[call.row] < 1:
        too_cold = air < min(ICE_POINT - 4 * F, call.paper.case_set[call.row, call.circuit] - 4 * F)
        call.word("product_freezing", "yes" if too_cold else "no")


def _coil(call: Call) -> None:
    f, pressure = call.fluid, call.circuit_value("coil_pressure")
    dew = float(f.dew_t(np.array([pressure]))[0])
    outlet = dew + call.circuit_value("superheat")
    call.gauge("circuit_pressure_before", call.circuit_value("after_coil"), "low gauge")
    call.gauge("coil_pressure_at_case", pressure, "low gauge")
    call.number("coil_outlet_temperature", "clamp", outlet, call.circuit_value("return_air"))
    ambient = call.at("suction_ambient")
    own = call.plants.group_of_compressor[call.row] == call.group
    end = float(call.state.machines.return_temperature[call.row][own].mean())
    on_the_way = outlet + 0.6 * max(min(end, ambient) - outlet, 0.0)
    call.number("suction_stop_line_temperature_before", "clamp", on_the_way, ambient)
    quality, wet = call.circuit_value("outlet_quality"), call.circuit_value("wet")
    flooded = quality < 0.995 and wet > 0.99
    warm = call.circuit_value("superheat") > 18 * F
    call.word("suction_line_at_case", "frosted far back" if flooded else "warm and bare" if warm
              else "as usual")  # fmt: skip
    call.word("frost_before", _frost(call, wet))


def _frost(call: Call, wet: float) -> str:
    visit = call.visit
    if visit.sees(call.mark("ice")):
        return "iced solid"
    if visit.sees(0.8 * max(call.mark("distributor_plugged"), call.mark("case_fan_stopped"))):
        return "one section"
    if wet + visit.rng.normal(0, 0.05) < 0.62:
        return "inlet only"
    return "door side" if visit.sees(0.6 * call.mark("door_open")) else "even"


def case_looks(call: Call) -> None:
    """What is seen of a case without tools."""
    visit, doors = call.visit, int(call.kinds[call.row, call.circuit]) in DOORS
    stopped, wrong = call.mark("case_fan_stopped"), call.mark("case_fan_backwards")
    fans = "all stopped" if call.at("air_flow") < 0.08 else "one or more stopped"
    fans = fans if visit.sees(stopped) else "all turning"
    call.word("fans_in_cooling", "turning backwards" if visit.sees(wrong) else fans)
    call.number("case_fan_current", "ammeter", 1.0 - (0.35 if stopped > 0 else 0.0))
    call.word("coil_face", "dirty" if visit.sees(call.mark("coil_dirt")) else "clean")
    blocked = visit.sees(call.mark("return_blocked"))
    call.word("return_grille", "blocked by stock" if blocked else "free")
    grille = visit.sees(call.mark("grille_blocked"))
    call.word("discharge_grille", "dust or ice on it" if grille else "open and clean")
    stock, wind = visit.sees(call.mark("overstocked")), visit.sees(call.mark("draught"))
    call.word("stock_line", "past the line" if stock else "behind the line")
    call.word("draught_at_case", "store air register" if wind else "none")
    opened, torn = visit.sees(call.mark("door_open")), visit.sees(call.mark("gasket_torn"))
    shut = "one does not close" if opened else "shut by themselves"
    call.word("door_closing", shut if doors else "no doors")
    call.word("door_glass", "dry" if doors else "no doors")
    call.word("door_heat", "warm" if doors else "none fitted")
    call.word("changed_lately", "nothing known")
    call.word("door_gasket", ("torn or hard" if torn else "whole") if doors else "no doors")
    leaks, broken = opened or torn, stock or wind or grille
    call.word("air_seal", "door leaking" if leaks else "curtain disturbed" if broken else "good")


def _last_defrost(call: Call) -> None:
    """What is on record of it; the plant knows none but of a circuit that is watched in one."""
    iced = call.readings["frost_before"] == "iced solid"
    call.word("ice_left", "whole coil" if iced else "none")
    call.word("drain_and_pan", "running free")
    call.word("defrost_ended_by", "time" if iced else "temperature")
    call.word("defrost_durations", "always to the limit" if iced else "vary with frost")


def _valve(call: Call) -> None:
    visit, electronic = call.visit, call.at("valve_electronic") > 0
    opening = (
        call.circuit_value("opening")
        * call.at("valve_area")
        / float(call.paper.valve_area[call.row, call.circuit])
    )
    call.word("expansion_valve_kind", "electronic" if electronic else "mechanical")
    starved, flooding = _starved(call), _flooding(call)
    free = not starved and call.at("valve_least") < 0.05 and call.at("bypass_leak") <= 0
    more, less = "falls" if not starved else "does not move", "rises" if free else "does not move"
    stuck = call.mark("valve_stuck") > 0
    if electronic:
        told = 1.0 if starved or call.at("superheat_bias") > 2 else opening
        told = 0.03 if flooding and call.at("superheat_bias") <= 2 and stuck else told
        call.number("expansion_valve_opening", "share", float(np.clip(told, 0.0, 1.0)))
        wide = call.circuit_value("superheat") < 2 and flooding
        call.word("electronic_valve_answer", "does not move" if stuck or wide else more)
        fixing = "off the pipe" if visit.sees(call.mark("sensor_off_pipe")) else None
        call.word("outlet_sensor_fixing", fixing or "tight and insulated")
    else:
        loose = visit.sees(call.mark("bulb_loose"))
        call.word("expansion_valve_bulb", "loose" if loose else "tight and insulated")
        call.word("superheat_when_bulb_warmed", "does not move" if flooding else more)
        call.word("superheat_when_bulb_cooled", less)
        call.word("valve_follows_stem", "yes" if free else "no")
        call.word("equaliser_line", "open")
    small = call.mark("orifice_small") > 0
    call.word("valve_orifice", "too small" if small else "fits")
    call.word("valve_screen", "dirty" if visit.sees(call.mark("screen_plugged")) else "clean")
    early = visit.sees(0.7 * call.mark("screen_plugged"))  # it boils behind the screen
    call.word("valve_body_frost", "already at the inlet" if early else "from the outlet on")
    uneven = visit.sees(call.mark("distributor_plugged"))
    call.word("distributor_tubes", "one warm" if uneven else "all alike")
    call.number("superheat_swing", "record temperature", (6.0 if flooding else 2.0) * F)
    call.readings["superheat_swing"] = max(float(call.readings["superheat_swing"]), 0.3)


def _starved(call: Call) -> bool:
    """Whether the valve is as wide as it can be and the coil still wants more."""
    most = call.at("valve_most") * 0.985
    return call.circuit_value("opening") >= most or call.at("liquid_on") < 0.5


def _flooding(call: Call) -> bool:
    return call.circuit_value("wet") > 0.99 and call.circuit_value("outlet_quality") < 0.998


def _liquid(call: Call) -> None:
    visit, i, c = call.visit, call.row, call.circuit
    valves, room = call.state.liquid.valves, call.at("line_ambient")
    call.number("liquid_temperature_at_valve", "clamp", float(valves.temperature[i, c]), room)
    call.gauge("liquid_pressure_at_valve", float(valves.pressure[i, c]))
    gas = visit.sees(float(valves.quality[i, c]) / BUBBLES * 0.3)
    call.word("case_sight_glass", "bubbles" if gas else "clear")
    shut = call.mark("feed_shut") > 0
    call.word("liquid_feed", "solenoid shut" if shut else "open")
    by = call.at("bypass_leak") > 0
    call.word("coil_with_liquid_shut", "stays cold" if by else "empties and warms")
    cold = visit.sees(call.mark("bypass_cold"))
    call.word("bypass_line_in_cooling", "cold or frosted" if cold else "as warm as the liquid")
    warm = visit.sees(call.mark("hot_gas_branch_warm"))
    call.word("hot_gas_line_in_cooling", "warm" if warm else "cool")
    spot = visit.sees(call.mark("branch_cold_spot"))
    colder = "colder than its neighbours" if spot else "like its neighbours"
    call.word("liquid_line_at_case", colder)
    if call.mark("branch_cold_spot") > 0:
        before = float(call.state.liquid.header_temperature[i])
        call.number("branch_part_inlet_temperature", "clamp", before, room)
        after = min(float(valves.temperature[i, c]), before)
        call.number("branch_part_outlet_temperature", "clamp", after, room)


def _regulator(call: Call) -> None:
    kind, i, c = call.at("regulator"), call.row, call.circuit
    names = {NO_REGULATOR: "none fitted", MECHANICAL: "mechanical", ELECTRONIC: "electronic"}
    call.word("regulator_kind", names[kind])
    if kind == NO_REGULATOR:
        call.number("circuit_run_time", "share", min(call.circuit_value("running"), 1.0))
        return
    stuck = call.mark("regulator_stuck") > 0
    header = float(call.state.header[i, call.group])
    opening = call.circuit_value("regulator_opening")
    wide = (call.circuit_value("after_coil") - header) * opening**2 / call.at("regulator_most") ** 2
    call.gauge("circuit_pressure_regulator_open", header + wide, "low gauge")
    open_stuck = call.at("regulator_least") > 0.4
    call.word("regulator_shut_test", "stays at header" if open_stuck else "climbs")
    if kind == MECHANICAL:
        call.paper_gauge("wanted_coil_pressure", float(call.paper.regulator_set[i, c]))
        call.word("regulator_follows_stem", "no" if stuck else "yes")
        return
    told = (0.03 if open_stuck else 1.0) if stuck else opening
    call.number("regulator_opening", "share", float(np.clip(told, 0.0, 1.0)))
    call.word("regulator_movement", "never moves" if stuck or opening > 0.97 else "small steps")
    call.word("regulator_supply", "live")
    # stuck, not lost: a drive to its stop does not bring it back
    call.word("regulator_after_homing", "still disagrees" if stuck else "agrees")


def _sensors(call: Call) -> None:
    air, bias = call.circuit_value("discharge_air"), call.at("case_sensor_bias")
    call.number("reference_air", "thermometer", air)
    call.number("case_air_displayed", "display temperature", air + bias)
    call.number("case_sensor_in_ice_water", "display temperature", ICE_POINT + bias)
    call.word("case_sensor_place", "as on the drawing")
    call.readings["case_setting"] = call.at("case_set")
    if call.at("valve_electronic") <= 0:
        return
    pressure, f = call.circuit_value("coil_pressure"), call.fluid
    dew = float(f.dew_t(np.array([pressure]))[0])
    wrong = call.at("superheat_bias")
    by_pressure = wrong if call.mark("coil_pressure_sensor") > 0 else 0.0
    shown = float(f.dew_p(np.array([dew - by_pressure]))[0]) - call.at("barometer")
    call.number("coil_pressure_displayed", "display pressure", shown)
    outlet = dew + call.circuit_value("superheat")
    seen = outlet + wrong - by_pressure
    call.number("coil_outlet_temperature_displayed", "display temperature", seen)
    superheat = min(call.circuit_value("superheat") + wrong, SHOWN_AT_MOST)
    call.number("superheat_displayed", "display temperature", superheat)
