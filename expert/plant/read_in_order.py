"""What is looked at and is in order: things of a rack in which no fault of the model sits.

Only what is true of the plant that stands there: what a fault could have brought with it, though
the model does not say so, is left out, as a technician would find it and the model does not know.
Nothing here draws from the visit's chances, so that it changes no other reading.
"""

from __future__ import annotations

import numpy as np

from expert.plant.call import WARM, Call
from expert.plant.design import ELECTRONIC, HOLD_BACK, PSI, fahrenheit

OVER_SUCTION = 17.0 * PSI  # an oil reservoir with its usual valve (common practice)
HALF = 0.5  # of the oil reservoir
# Well before any safety acts (own choices); beyond, there may have been trips, which the model
# does not know.
NO_HIGH_TRIP, NO_HOT_TRIP = (float(fahrenheit(limit)) for limit in (125.0, 225.0))
NO_LOW_TRIP = 2.0 * PSI  # under the set point


def rack_in_order(call: Call) -> None:
    """Oil, supply, controller, devices that are not fitted, the record of trips."""
    for name, word in (
        ("suction_float", "off"),
        ("oil_type", "as the plate asks"),
        ("oil_added_lately", "none"),
        ("low_level_alarm", "proven"),
        ("leak_detector_check", "responds"),
        ("machine_room_gas", "nothing"),
        ("ports_opened_lately", "no"),
        ("fan_stages_move", "one after another"),
        ("rack_power_supply", "all phases there"),
        ("phase_monitor", "lets it run"),
        ("control_supply", "there"),
        ("rack_controller", "working"),
        ("rack_stop_chain", "free"),
        ("power_cut_lately", "no"),
    ):
        call.word(name, word)
    _oil(call)
    reclaimed = call.readings["heat_reclaim"] == "on"
    call.word("reclaim_after_call", "stayed on" if reclaimed else "let go")
    if call.at("head_control") != HOLD_BACK:
        call.word("receiver_feed_line", "none fitted")
    if call.at("subcooler") <= 0:
        call.word("subcooler", "none fitted")
    if call.readings["condenser_mode"] == "full":  # and so it has stood for half an hour
        shown = float(call.readings["receiver_level"])
        call.readings["receiver_level_full_condenser"] = shown
    if trips := _trips(call):
        call.word("rack_trips", trips)


def _oil(call: Call) -> None:
    """The model loses no oil; what a float that stands open does to reservoir and oil is left."""
    call.readings["oil_reservoir_level"] = HALF
    if call.at("float_leak") > 0:
        return
    header = float(call.state.header[call.row, call.group])
    call.paper_gauge("oil_reservoir_pressure", header + OVER_SUCTION)


def _trips(call: Call) -> str:
    """The record of trips; '' where a safety may have acted, which the model does not know."""
    s, p, i, g = call.state, call.plants, call.row, call.group
    there = p.displacement[i] > 0
    if (p.available[i][there] <= 0).any():
        return "motor protector"
    condensing = float(call.fluid.dew_t(s.discharge)[i])
    hottest = float(np.max(s.machines.discharge_temperature[i][there]))
    if condensing > NO_HIGH_TRIP or hottest > NO_HOT_TRIP:
        return ""
    low = float(s.header[i, g]) < float(p.set_point[i, g]) - NO_LOW_TRIP
    return "" if low else "none"


def machine_in_order(call: Call) -> None:
    """Oil of the machine, where nothing brings liquid or hot gas into it."""
    if call.readings.get("crankcase") == "warm" and call.at("float_leak") <= 0:
        call.word("oil_foam", "none")


def circuit_in_order(call: Call, *, doors: bool) -> None:
    """What is asked of a case, of its record and its last defrost."""
    call.word("gravity_coil", "none fitted")
    call.word("night_cover_use", "none fitted" if doors else "every night")
    if abs(float(call.warmth()[call.circuit])) < WARM / 2:
        call.word("warm_when", "it holds")
    if call.readings["ice_left"] == "none":
        call.word("dripping_at_restart", "no")
    moves = call.at("regulator") == ELECTRONIC and call.mark("regulator_stuck") <= 0
    if moves:
        call.readings["regulator_opening_in_recovery"] = 1.0
