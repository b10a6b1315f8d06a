"""What is read in the motor room and on the roof, cooling, nothing in defrost."""

from __future__ import annotations

import numpy as np

from expert.plant.call import WARM, Call
from expert.plant.condensing import NATURAL_AIR_LARGE
from expert.plant.design import HOLD_BACK, PSI, SPLIT
from expert.plant.read_in_order import rack_in_order
from expert.plant.solve import NEARLY_ALL

F = 5 / 9
BUBBLES = 0.0025  # share of the mass as gas that is seen half of the time in a glass (own choice)
COLD_SPOT = 2.5 * F  # K, a fall that is felt by hand


def read_rack(call: Call) -> None:
    """Every rack reading of the call."""
    _weather_and_condenser(call)
    _looks_at_condenser(call)
    _receiver_and_liquid(call)
    _liquid_looks(call)
    _suction(call)
    _whole_store(call)
    rack_in_order(call)
    _papers(call)


def _weather_and_condenser(call: Call) -> None:
    s, p, i = call.state, call.plants, call.row
    high, out = s.high, float(p.outdoor[call.row])
    call.number("outdoor_temperature", "thermometer", out)
    call.number("condenser_face_air", "thermometer", float(high.air_in[i]))
    call.number("condenser_leaving_air", "thermometer", float(high.air_out[i]))
    call.number("drop_leg_temperature", "clamp", float(high.leaving[i]), out)
    call.gauge("discharge_header_pressure_at_rest", float(s.discharge[i]))
    shown = float(s.discharge[i] + p.head_transducer_bias[i] - p.barometer[i])
    call.number("displayed_discharge_pressure", "display pressure", shown)
    call.number("displayed_outdoor_temperature", "display temperature",
                out + float(p.outdoor_sensor_bias[i]))  # fmt: skip
    f = call.fluid
    now = float(f.dew_t(s.discharge)[i] - f.dew_t(call.before.discharge)[i])
    call.number("condensing_above_record", "record temperature", now)
    cooler = _subcooling(call) - _subcooling(call, healthy=True)
    comparable = abs(cooler) < 35 * F  # else head has left its range, and no sheet is asked
    if comparable and max(high.flooded[i], call.before.high.flooded[i]) < 0.06:
        call.number("subcooling_above_record", "record temperature", cooler)
    gas = float(p.air_in_condenser[i]) * out / 300.0
    still = f.bubble_p(np.array([out])) + gas
    call.number("stopped_condenser_gap", "record temperature", float(f.bubble_t(still)[0] - out))


def _subcooling(call: Call, *, healthy: bool = False) -> float:
    s = call.before if healthy else call.state
    return float(call.fluid.bubble_t(s.liquid.receiver)[call.row] - s.high.leaving[call.row])


def _looks_at_condenser(call: Call) -> None:
    s, p, i, visit = call.state, call.plants, call.row, call.visit
    shown = float(p.outdoor[i] + p.outdoor_sensor_bias[i])
    kind = float(p.head_control[i])
    called = kind == SPLIT and shown < float(p.split_below[i])
    flooded = kind == HOLD_BACK and s.high.flooded[i] > 0.06
    half = s.high.split[i] > 0 or visit.sees(call.mark("half_off") * 0.6)
    call.word("condenser_mode", "flooded" if flooded else "split" if half else "full")
    if kind == SPLIT:
        call.word("condenser_command", "split" if called else "full")
        if s.high.split[i] > 0:
            kept = visit.sees(call.mark("idle_half_kept"))
            call.word("idle_half_pump_out", "stayed warm" if kept else "turned cold")
    call.word("head_control", _control(call))
    call.word("heat_reclaim", "on" if visit.sees(call.mark("reclaim_on")) else "off")
    call.word("reclaim_call", "no")
    call.word("condenser_face", "dirty" if visit.sees(call.mark("condenser_dirt")) else "clean")
    off = s.high.fan_share[i] < 1.3 * NATURAL_AIR_LARGE
    stopped, wrong = visit.sees(call.mark("fan_stopped")), visit.sees(call.mark("fan_backwards"))
    fans = "one standing" if stopped else "turning backwards" if wrong else "as called"
    call.word("condenser_fans", "none called" if off else fans)
    if not off:
        lowest = 0.0 if call.mark("fan_stopped") > 0 else 0.88
        call.number("fan_current_share", "ammeter", lowest)
        call.readings["fan_current_share"] = max(float(call.readings["fan_current_share"]), 0.0)
    shut = visit.sees(call.mark("drop_leg_shut"))
    call.word("drop_leg_valves", "one part shut" if shut else "all open")
    if kind == HOLD_BACK:
        under = s.liquid.receiver[i] < p.receiver_setting[i] + PSI  # above it the regulator is shut
        fed = flooded and under and p.receiver_regulator_works[i] > 0.5
        hot = fed or visit.sees(8 * float(p.receiver_gas_leak[i]))
        call.word("receiver_feed_line", "hot" if hot else "cool")


def _control(call: Call) -> str:
    kind = call.at("head_control")
    if kind == HOLD_BACK:
        return "hold-back valves"
    return "split and fans" if kind == SPLIT else "fans alone"


def _receiver_and_liquid(call: Call) -> None:
    s, p, i = call.state, call.plants, call.row
    side, room = s.liquid, float(p.machine_room[i])
    call.gauge("receiver_pressure", float(side.receiver[i]))
    level = float(np.clip(s.charge.level[i], 0.0, 1.0))
    shown = float(np.clip(level + p.level_bias[i], 0.0, 1.0))
    call.number("receiver_level", "level", shown)
    call.number("receiver_level_by_touch", "touch", level)
    usual = float(np.clip(call.before.charge.level[i], 0.0, 1.0))
    call.number("receiver_level_on_sheet", "record level", usual)
    for name in ("receiver_level", "receiver_level_by_touch", "receiver_level_on_sheet"):
        call.readings[name] = float(np.clip(float(call.readings[name]), 0.0, 1.0))
    call.number("receiver_outlet_temperature", "clamp", float(side.outlet_temperature[i]), room)
    call.gauge("drier_inlet_pressure", float(side.drier_in[i]))
    call.gauge("drier_outlet_pressure", float(side.drier_out[i]))
    for name, value in (
        ("drier_inlet_temperature", side.drier_in_temperature),
        ("drier_outlet_temperature", side.drier_out_temperature),
        ("liquid_line_temperature", side.header_temperature),
    ):
        call.number(name, "clamp", float(value[i]), room)
    call.gauge("liquid_header_pressure_at_rest", float(side.header[i]))
    if p.subcooler[i] > 0:
        before = float(side.subcooler_in_temperature[i])
        call.number("subcooler_inlet_temperature", "clamp", before, room)
        off = call.visit.sees(call.mark("subcooler_off"))
        call.word("subcooler", "off" if off else "running")
    call.number("liquid_lift", "length", float(p.lift[i]) + float(np.median(p.branch_lift[i])))


def _liquid_looks(call: Call) -> None:
    s, p, i, visit = call.state, call.plants, call.row, call.visit
    side, here = s.liquid, p.present[i] > 0
    in_glass = visit.sees(float(side.glass_quality[i]) / BUBBLES * 0.3)
    call.word("sight_glass", "bubbles" if in_glass else "clear")
    call.word("moisture_indicator", "dry")
    gassy = side.valves.quality[i] > 2 * BUBBLES
    seen = "everywhere" if in_glass or gassy[here].all() else "farthest and highest"
    if gassy[here].sum() == 1 and not in_glass and here.sum() > 1:
        seen = "one branch"
    call.word("bubbles_where", seen if in_glass or gassy[here].any() else "nowhere")
    call.word(
        "king_valve", "part shut" if visit.sees(call.mark("king_valve_shut")) else "fully open"
    )
    falls = {
        "king valve": side.outlet_temperature[i] - side.drier_in_temperature[i],
        "drier": side.drier_in_temperature[i] - side.drier_out_temperature[i],
        "kink or fitting": _fall_in_line(call),
    }
    worst = max(falls, key=lambda name: float(falls[name]))
    branch = "one branch" if visit.sees(call.mark("branch_cold_spot")) else "none"
    cold = float(falls[worst]) + visit.rng.normal(0, 0.4) > COLD_SPOT
    call.word("liquid_line_cold_spot", worst if cold else branch)
    starving = (s.circuits.superheat[i] > call.before.circuits.superheat[i] + 5 * F) & here
    where = "every circuit" if starving.sum() >= 0.7 * here.sum() else "farthest and highest"
    where = "one circuit" if starving.sum() == 1 else where
    call.word("starving_where", where if starving.any() else "nowhere")
    topped = visit.sees(call.mark("topped_up"))
    call.word("top_ups", "again and again" if topped else "none")
    call.word("oil_trace", "at a joint" if visit.sees(call.mark("oil_seen")) else "none")


def _fall_in_line(call: Call) -> float:
    """What the main line cools the liquid by flashing behind the subcooler."""
    side, i = call.state.liquid, call.row
    boil = call.fluid.bubble_t(side.header)[i]
    before = float(side.drier_out_temperature[i])
    if call.plants.subcooler[i] > 0:
        before += float(call.at("subcooler_works")) * min(call.at("subcooler_leaving") - before, 0)
    return float(max(before - min(float(boil), before), 0.0))


def _suction(call: Call) -> None:
    s, p, i, g = call.state, call.plants, call.row, call.group
    header, room = float(s.header[i, g]), float(p.suction_ambient[i, g])
    call.gauge("suction_header_pressure_at_rest", header, "low gauge")
    shown = header + float(p.suction_transducer_bias[i, g]) - float(p.barometer[i])
    call.number("displayed_suction_pressure", "display pressure", shown)
    call.word("second_gauge", "agrees with the first")
    all_on = s.running[i, g] >= NEARLY_ALL
    call.word("compressors_running", "all" if all_on else "some")
    call.number("rack_load_share", "share", float(s.running[i, g]))
    call.word("group_load", "full" if s.running[i, g] > 0.9 else "part")
    hot = float(p.outdoor[i]) > (95 + 459.67) * F
    call.word("load_now", "very warm day" if hot else "ordinary")
    flow = float(s.machines.group_full[i, g]) * float(s.running[i, g])
    rho = float(call.fluid.gas_rho(s.header, np.full_like(s.header, 20.0))[i, g])
    call.gauge("suction_filter_inlet_pressure", header, "low gauge")
    drop = float(p.suction_filter_drop[i, g]) * flow**2 / rho
    call.gauge("suction_filter_outlet_pressure", header - drop, "low gauge")
    short = call.visit.sees(call.mark("suction_valve_short"))
    call.word("suction_valves", "one not fully open" if short else "all fully open")
    own = p.group_of_compressor[i] == g
    temperature = float(s.machines.return_temperature[i][own].mean())
    call.number("suction_header_temperature", "clamp", temperature, room)
    hot_line = call.visit.sees(call.mark("oil_line_hot"))
    call.word("oil_fill_line", "hot all the time" if hot_line else "warm off and on")
    call.word("oil_levels", "all in the glass")
    back = (p.hot_gas_leak[i] > 0).any() or float(p.float_leak[i]) > 0
    call.word("leak_back", "found" if back and call.visit.happens(0.85) else "excluded")


def _whole_store(call: Call) -> None:
    p, i = call.plants, call.row
    here = p.present[i] > 0
    over = call.warmth()[here]
    off = np.abs(over) > WARM
    same = off.all() and np.ptp(over) < 3 * F
    told = "all by the same" if same else "one" if off.sum() == 1 else "several differently"
    call.word("circuits_off_target", told if off.any() else "none")
    warm = over > WARM
    scope = "whole rack" if warm.sum() > 0.6 * len(warm) else "one circuit"
    call.word("warm_scope", scope if warm.any() else "nothing warm")
    call.number("store_air_temperature", "thermometer", float(p.store[i]))
    call.number("store_humidity", "humidity", float(p.store_humidity[i]))
    iced = call.visit.sees(call.mark("ice"))
    call.word("starved_coils", "iced" if iced else "free of ice")
    call.word("rack_steady", "yes")
    call.word("circuits_pumped_down", "none")
    call.readings["other_circuits_defrosting"] = 0.0


def kind_of_plant(call: Call) -> None:
    """What the drawing says: these plants are cooled by air and have a receiver."""
    call.word("condenser_kind", "air cooled")
    call.word("receiver_fitted", "yes")


def _papers(call: Call) -> None:
    p, paper, i = call.plants, call.paper, call.row
    kind_of_plant(call)
    call.paper_gauge("suction_set_point", float(p.set_point[i, call.group]))
    call.readings["design_condenser_difference"] = float(paper.design_condenser_difference[i])
    call.readings["condensing_floor"] = float(p.floor[i])
    if p.head_control[i] == HOLD_BACK:
        call.readings.pop("condensing_floor")
        call.paper_gauge("hold_back_setting", float(paper.hold_back_setting[i]))
        call.paper_gauge("receiver_regulator_setting", float(paper.receiver_setting[i]))
    own = (p.group_of_circuit[i] == call.group) & (p.present[i] > 0)
    colder = np.where(own, paper.case_set[i] - paper.design_coil_difference[i], np.inf)
    coldest = int(np.argmin(colder))
    call.readings["coldest_case_air"] = float(paper.case_set[i, coldest])
    difference = float(paper.design_coil_difference[i, coldest])
    call.readings["design_coil_temperature_difference"] = difference
    call.readings["design_line_drop"] = float(paper.design_line_drop[i])
