"""What is read at one compressor."""

from __future__ import annotations

from expert.plant.call import Call
from expert.plant.design import PSI
from expert.plant.read_in_order import machine_in_order
from expert.plant.visit_instruments import rounded

GOOD_VACUUM = 3.0 * PSI  # of a machine in order in the pumping test (common practice)
LEAK_SHOWN = 0.1  # of what it moves: less no second test shows (own choice)
LEAK_VACUUM = 22.0 * PSI  # more for all of the leak (own choice)
NAMEPLATE_VOLTS = 460.0
POWER_FACTOR = 0.85  # of a loaded motor (common practice)


def read_machine(call: Call) -> None:
    """Every reading of the machine that the call looks at."""
    s, i, k, visit = call.state, call.row, call.machine, call.visit
    m = s.machines
    dead = call.at("available") <= 0
    call.word("compressor_state", "off on its motor protector" if dead else "running")
    call.word("compressor_trip", "motor protector" if dead else "none")
    call.word("compressor_type", "reciprocating")
    call.word("pumping_test_allowed", "yes")  # these machines may be tested so
    fitted = call.paper.discharge_cooling[i, k] > 0
    if fitted:
        lost = visit.sees(call.mark("discharge_cooling_dead"))
        call.word("discharge_cooling", "dead" if lost else "working")
    else:
        call.word("discharge_cooling", "none fitted")
    stuck = visit.sees(call.mark("unloader_stuck"))
    has = call.mark("unloader_fitted") > 0
    call.word("unloader", "stuck unloaded" if stuck else "following the signal" if has
              else "none fitted")  # fmt: skip
    short = visit.sees(call.mark("service_valve_short"))
    call.word("compressor_inlet", "stem short of its stop" if short else "ordinary")
    if dead:
        call.word("compressor_body", "very hot")
        return
    room = call.at("machine_room")
    call.gauge("compressor_suction_pressure", float(m.suction[i, k]), "low gauge")
    call.gauge("compressor_discharge_pressure", float(s.discharge[i]))
    call.number("return_gas_temperature", "clamp", float(m.return_temperature[i, k]), room)
    discharge = float(m.discharge_temperature[i, k])
    call.number("discharge_line_temperature", "clamp", discharge, room)
    current = float(m.power[i, k] / m.expected_power[i, k]) - 1.0
    read = rounded("ammeter", visit.take("ammeter", 0.8 * current))
    _currents(call, float(m.expected_power[i, k]), read)
    leak, idle = call.at("valve_leak"), call.at("unloaded")
    hotter = visit.sees(leak) or visit.sees(idle * 0.6)
    call.word("cylinder_heads", "one hotter" if hotter else "alike")
    call.word("compressor_sound", "even")
    call.word("compressor_body", "ordinary")
    wet = float(m.return_superheat[i, k]) < 2.0
    call.word("crankcase", "cold or sweating" if wet else "warm")
    moves = (1 - leak) * (1 - idle) > 0.55
    call.word("suction_when_this_one_stops", "header rises" if moves else "header hardly moves")
    vacuum = GOOD_VACUUM + LEAK_VACUUM * leak
    call.readings["pumping_test_vacuum"] = vacuum + visit.rng.normal(0, 0.3 * PSI)
    # another kind of test of this machine, with its supply measured at its terminals
    call.word("second_test", "agrees" if leak > LEAK_SHOWN else "disagrees")
    call.word("part_signal", "present")
    later = vacuum + (0.6 + 15.0 * leak) * PSI
    call.readings["pumping_test_vacuum_later"] = later + visit.rng.normal(0, 0.2 * PSI)
    machine_in_order(call)


def _currents(call: Call, power: float, share: float) -> None:
    """What the papers expect at these pressures, and what is drawn, by the same clamp three times.

    `power` [W] is what the machine takes when it is in order, `share` how far it reads from that.
    """
    expected = power / (3**0.5 * NAMEPLATE_VOLTS * POWER_FACTOR)
    call.readings["expected_current"] = expected
    for phase in "abc":
        call.readings[f"motor_current_{phase}"] = expected * (1.0 + share)
