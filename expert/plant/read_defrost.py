"""What is read through a defrost: before, three and five minutes in, at its end, and after."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from expert.plant.call import Call
from expert.plant.design import HOLD_BACK, PSI
from expert.plant.hot_gas_defrost import ICE_POINT, MINUTE, STEP, DefrostCourse, Defrosts
from expert.plant.read_circuit import case_looks
from expert.plant.read_rack import kind_of_plant
from expert.plant.solve import NEARLY_ALL

F = 5 / 9
Series = tuple[tuple[float, float], ...]  # seconds from gas on, value
SETTLED = 3 * MINUTE  # after cooling comes on (common practice)
PRODUCT_AFTER = 30 * MINUTE  # the same, until product is read again (common practice)
SERIES_AT = (0.0, 1.0, 3.0, 5.0, 8.0, 12.0, 16.0, 20.0)  # minutes


@dataclass
class DefrostCall:
    """The call beside the defrost that is watched; `paper` is the defrost as it should be."""

    call: Call
    defrosts: Defrosts
    paper: Defrosts
    course: DefrostCourse

    def value(self, name: str) -> float:
        """A parameter of this defrost."""
        return float(getattr(self.defrosts, name)[self.call.row])

    def came(self, name: str) -> float:
        """What this defrost came to."""
        return float(getattr(self.course, name)[self.call.row])


def read_defrost(d: DefrostCall) -> dict[str, float | str | Series]:
    """Every reading of the defrost, with those of the store's papers."""
    call = d.call
    call.readings.clear()
    call.word("circuit_mode", "in defrost")
    _rest(d)
    _looks(d)
    _pressures(d)
    _end(d)
    _after(d)
    _case(d)
    _papers(d)
    return {**call.readings, **_curves(d)}


REST, RUNNING, END, AFTER = ("rest", "running", "end", "after")


def moments(d: DefrostCall) -> dict[str, str]:
    """When each reading of a defrost can be taken; what is not among them can be at any time."""
    found: dict[str, str] = {}
    parts = ((REST, (_rest,)), (RUNNING, (_looks, _pressures)), (END, (_end,)), (AFTER, (_after,)))
    for moment, readers in parts:
        d.call.readings.clear()
        for read in readers:
            read(d)
        found |= dict.fromkeys(d.call.readings, moment)
    anytime = (
        "outdoor_temperature", "displayed_outdoor_temperature", "condenser_mode", "heat_reclaim",
        "receiver_level", "receiver_level_on_sheet", "receiver_feed_line", "subcooler",
    )  # fmt: skip
    return {
        name: moment
        for name, moment in {**found, **dict.fromkeys(_curves(d), RUNNING)}.items()
        if name not in anytime
    }


def instants(d: DefrostCall) -> dict[str, float]:
    """Seconds from gas on at which what comes after its end, or is timed, can be read."""
    end, drip, delay = d.came("length"), d.value("drip"), d.value("fan_delay")
    on, fans = end + drip, end + drip + delay
    recovery = d.call.readings.get("recovery_time", 0.0)
    back = on + (recovery if isinstance(recovery, float) else 0.0)
    clear = d.came("clear_at")
    return {
        "pump_down_time": 0.0,
        "defrost_clearing_time": end if math.isnan(clear) else clear,
        "drip_time": on, "dripping_at_restart": on, "drain_and_pan": end, "opening_after_drip": on,
        "fan_delay_time": fans, "coil_temperature_at_fan_start": fans,
        "suction_header_pressure_recovery": on + SETTLED, "circuit_pressure_recovery": on + SETTLED,
        "regulator_opening_in_recovery": on + SETTLED, "recovery_time": back,
        "discharge_air_after": max(back, on + PRODUCT_AFTER),
        "warmest_product_after": max(back, on + PRODUCT_AFTER),
    }  # fmt: skip


def coil_seen(d: DefrostCall, seconds: float) -> str:
    """What is seen of the coil so long after gas on."""
    clear = d.came("clear_at")
    if not math.isnan(clear) and seconds >= clear:
        return "clear"
    return "defrost over before clear" if seconds >= d.came("length") else "still frosted"


def _rest(d: DefrostCall) -> None:
    call = d.call
    call.gauge("discharge_header_pressure_at_rest", d.value("discharge"))
    call.gauge("liquid_header_pressure_at_rest", d.value("liquid_rest"))
    call.gauge("suction_header_pressure_at_rest", d.value("suction"), "low gauge")
    call.number("outdoor_temperature", "thermometer", float(call.plants.outdoor[call.row]))
    call.number("coil_outlet_temperature", "clamp", d.value("coil_before"))
    call.number("discharge_air_before", "thermometer", d.value("air"))
    call.number("suction_stop_line_temperature_before", "clamp", d.value("coil_before") + 4)
    call.word("frost_before", "even")
    call.word("rack_steady", "yes")
    call.word("condenser_mode", _mode(call))
    call.word("heat_reclaim", "off")
    f = call.fluid
    dew = f.dew_t(np.array([d.value("discharge"), float(d.paper.discharge[call.row])]))
    call.number("condensing_above_record", "record temperature", float(dew[0] - dew[1]))
    running = float(call.state.running[call.row, call.group])
    call.number("rack_load_share", "share", running)
    call.word("compressors_running", "all" if running >= NEARLY_ALL else "some")
    call.number("receiver_level", "level", float(call.state.charge.level[call.row]))
    _high_side(d)
    call.readings["other_circuits_defrosting"] = float(round(d.value("others")))
    share = min(d.value("load_share") * (1 + 0.9 * d.value("others")), 1.0)
    call.number("defrosting_load_share", "share", share)


def _high_side(d: DefrostCall) -> None:
    """What else is read of the high side; the same pressure is lost on the way as ever."""
    call, i = d.call, d.call.row
    lost = float(call.state.discharge[i] - call.state.liquid.receiver[i])
    call.paper_gauge("receiver_pressure", d.value("discharge") - lost)
    call.readings["receiver_level_on_sheet"] = float(np.clip(call.before.charge.level[i], 0.0, 1.0))
    if call.at("head_control") != HOLD_BACK:
        call.word("receiver_feed_line", "none fitted")
    else:
        fed = _mode(call) == "flooded" and call.plants.receiver_regulator_works[i] > 0.5
        call.word("receiver_feed_line", "hot" if fed else "cool")
    shown = float(call.plants.outdoor[i] + call.plants.outdoor_sensor_bias[i])
    call.readings["displayed_outdoor_temperature"] = shown
    if call.at("subcooler") <= 0:
        call.word("subcooler", "none fitted")


def _mode(call: Call) -> str:
    high, i = call.state.high, call.row
    return "split" if high.split[i] > 0 else "flooded" if high.flooded[i] > 0.06 else "full"


def _looks(d: DefrostCall) -> None:
    call, visit = d.call, d.call.visit
    branch, master = d.value("branch"), d.value("master")
    call.word("hot_gas_valve", "shut" if branch < 0.5 else "open")
    call.word("master_hot_gas_solenoid", "shut" if master < 0.5 else "open")
    line = "hot both sides" if branch > 0.4 else "hot before and cold after"
    # what little passes a master that hardly opens has lost its heat to the pipe on the way
    call.word("hot_gas_line_in_defrost", "cold both sides" if master < 0.25 else line)
    leak = d.value("stop_leak")
    stop = "leaking" if visit.sees(6 * leak) else "shut"
    call.word("suction_stop", "open" if leak > 0.8 else stop)
    passes = d.value("liquid_passes")
    call.word("liquid_solenoid", "open" if visit.sees(passes) else "shut")
    call.word("fans_in_defrost", "running" if visit.sees(d.value("fans_on")) else "off")
    dead = visit.sees(float(d.defrosts.marks.get("regulator_coil_dead", np.zeros(1 + call.row))
                            [call.row]))  # fmt: skip
    call.word("differential_regulator_coil", "dead" if dead else "live")
    acts = d.value("regulator_acts") > 0.5
    call.word("differential_follows_stem", "yes" if acts else "no")
    slow = d.value("master") < 0.5 or not acts or d.value("others") > 1
    slow = slow or d.value("differential") < 0.75 * float(d.paper.differential[call.row])
    slow = slow or d.value("discharge") < float(d.paper.discharge[call.row]) - 20 * PSI
    call.word("other_circuits_slow", "yes" if slow else "no")
    push = d.course.discharge[call.row] - d.course.liquid_header[call.row]
    call.word("other_cases_warm_in_defrost", "yes" if push > 34 * PSI else "no")
    call.word("defrost_run", "normal")
    steam = d.came("last_tube") > ICE_POINT + 36 * F and d.value("termination") > ICE_POINT + 40 * F
    call.word("fog_in_defrost", "yes" if steam or d.value("fans_on") > 0.5 else "no")


def _pressures(d: DefrostCall) -> None:
    call, i = d.call, d.call.row
    call.gauge("discharge_header_pressure", d.came("discharge"))
    call.gauge("hot_gas_header_pressure", d.came("hot_gas_header"))
    call.gauge("liquid_header_pressure", d.came("liquid_header"))
    call.gauge("suction_header_pressure", d.came("suction"), "low gauge")
    gas = d.value("gas_temperature") if d.value("master") > 0.1 else d.call.at("machine_room")
    share = min(d.value("load_share") * (1 + 0.9 * d.value("others")), 1.0)
    gas -= 60 * F * max(share - 0.2, 0.0)
    call.number("hot_gas_header_temperature", "clamp", gas, d.call.at("machine_room"))
    call.number("pump_down_time", "minutes", d.value("pump_down"))
    call.readings["pump_down_time"] = max(float(call.readings["pump_down_time"]), 0.0)
    call.number("coil_outlet_temperature_pumped_down", "clamp", float(d.course.pumped_down[i]))


def _curves(d: DefrostCall) -> dict[str, Series]:
    """Coil pressure, branch and stop line over time, as long as the gas is on."""
    call, i, barometer = d.call, d.call.row, float(d.defrosts.barometer[d.call.row])
    length = d.came("length")
    told: dict[str, Series] = {}
    for name, curve, tool in (
        ("circuit_pressure", d.course.coil_pressure - barometer, "high gauge"),
        ("branch_liquid_temperature", d.course.liquid_branch, "clamp"),
        ("suction_stop_line_temperature", d.course.stop_line, "clamp"),
    ):
        at = [m * MINUTE for m in SERIES_AT if 0 < m * MINUTE <= length]
        points = [(t, float(curve[min(int(t / STEP), len(curve) - 1), i])) for t in at]
        told[name] = tuple((t, call.visit.take(tool, value)) for t, value in points)
    return {name: series for name, series in told.items() if series}


def _end(d: DefrostCall) -> None:
    call, i = d.call, d.call.row
    length = d.came("length")
    call.number("defrost_time", "minutes", length)
    call.word("defrost_ended_by", "temperature" if d.came("by_sensor") > 0 else "time")
    shown = d.came("sensor")
    call.number("termination_sensor_reading", "display temperature", shown)
    call.number("coil_last_tube_temperature", "clamp", d.came("last_tube"), d.came("air"))
    clear = d.came("clear_at")
    share = float(d.course.left[i].sum() / d.defrosts.frost[i])
    if math.isnan(clear):
        call.word("coil_state", "defrost over before clear")
    else:
        call.word("coil_state", "clear")
        call.number("defrost_clearing_time", "minutes", clear)
    names = ("none", "light patches", "bridged fins", "whole coil")
    size = int(np.searchsorted((0.015, 0.2, 0.6), share + call.visit.rng.normal(0, 0.004)))
    call.word("ice_left", names[size])
    if size:
        parts = d.course.left[i] / max(float(d.course.left[i].max()), 1e-9)
        over = "all over" if parts[0] > 0.5 else "far end"
        call.word("ice_left_where", over)
    always = "always to the limit" if d.came("by_sensor") < 1 else "vary with frost"
    paper = float(d.paper.fail_safe[i])
    quick = length < 0.35 * paper and size
    call.word("defrost_durations", "always short" if quick else always)


def _after(d: DefrostCall) -> None:
    call, i = d.call, d.call.row
    drip = d.value("drip")
    call.number("drip_time", "minutes", drip)
    call.readings["drip_time"] = max(float(call.readings["drip_time"]), 0.0)
    dripping = drip < 150.0 and call.visit.sees(1.0 - drip / 200.0)
    call.word("dripping_at_restart", "yes" if dripping else "no")
    blocked = call.visit.sees(d.value("drain_blocked"))
    call.word("drain_and_pan", "frozen" if blocked else "running free")
    delay = d.value("fan_delay")
    call.number("fan_delay_time", "minutes", delay)
    call.readings["fan_delay_time"] = max(float(call.readings["fan_delay_time"]), 0.0)
    warm = max(d.came("last_tube") - 8 * F, ICE_POINT)
    cold = float(d.paper.coil_before[i])
    at_start = cold + (warm - cold) * math.exp(-delay / 75.0)
    call.number("coil_temperature_at_fan_start", "clamp", at_start)
    opening = d.value("reopening")
    drop = (1.0 if call.at("low_temperature") > 0 else 2.0) * PSI / opening**2
    suction = d.value("suction")
    drop = min(drop, 40 * PSI)
    call.gauge("suction_header_pressure_recovery", suction, "low gauge")
    call.gauge("circuit_pressure_recovery", suction + drop, "low gauge")
    call.number("regulator_opening_in_recovery", "share", opening)
    iced = float(d.course.left[i].sum() / d.defrosts.frost[i])
    warming = max(d.came("air") - d.value("air"), 0.0)
    slower = (1.0 + 2.0 * (1 / opening - 1) + 2.5 * iced) * (1 + warming / 20.0)
    minutes = 13.0 * slower
    call.number("recovery_time", "minutes", minutes * MINUTE)
    left = 10 * F * math.exp(-30.0 / max(minutes * 0.45, 3.0)) + 6 * F * iced
    call.number("discharge_air_after", "thermometer", d.value("air") + left)
    product = d.value("air") + 6 * F
    call.number("warmest_product_before", "thermometer", product)
    rise = 0.08 * warming + 0.06 * (minutes - 13.0) * F
    call.number("warmest_product_after", "thermometer", product + rise)
    wet = d.value("pump_down") < 30 or d.value("liquid_passes") > 0.5
    call.word("opening_after_drip", "slug" if wet and drip < 90 else "soft")


def _case(d: DefrostCall) -> None:
    """What can be seen of the case at any time; in order, as no fault of a case is drawn here."""
    call = d.call
    case_looks(call)
    for name in ("fans_in_cooling", "case_fan_current", "air_seal"):  # seen while it cools
        call.readings.pop(name)
    call.word("product_delivery", "none lately")
    call.word("circuits_off_target", "none")
    call.word("warm_scope", "nothing warm")


def _papers(d: DefrostCall) -> None:
    call, i = d.call, d.call.row
    kind_of_plant(call)
    for name, values in (
        ("termination_setting", d.defrosts.termination),
        ("fail_safe_setting", d.defrosts.fail_safe),
        ("drip_setting", d.defrosts.drip),
        ("fan_delay_setting", d.defrosts.fan_delay),
    ):
        call.readings[name] = float(values[i])
    call.readings["design_discharge_air"] = float(call.paper.case_set[i, call.circuit])
    call.readings["defrosts_per_day"] = 2.0 / 86400.0
    call.paper_gauge("suction_set_point", float(call.plants.set_point[i, call.group]))
    call.word("differential_regulator_serves", "whole rack")
