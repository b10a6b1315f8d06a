"""An invented log of a store's defrosts (`simulated_curves.py`), as the files a logger leaves.

    python tests/trend/simulate.py FOLDER [--days 90] [--circuits 24] [--seed 1] [--noise 1]

writes `site.yaml`, `log.csv` and `truth.json`, with gaps, single rows that are lost and the change
to summer time.
"""

from __future__ import annotations

import argparse
import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[2])]

from tests.trend.simulated_curves import ZONE, LoggedCircuit, simulate, store  # noqa: E402

HOT_GAS_FAULTS = (
    "differential low", "iced coil", "early sensor", "stop leaking", "drip short", "missed",
    "slow recovery", "sensor drift", "valve shut", "too many",
)  # fmt: skip
# which cause the rulebase must find for a fault, and which others may stand beside it
EXPECTED = {
    "differential low": "defrost-differential-set-low",
    "iced coil": "coil-iced-over",
    "early sensor": "termination-sensor-on-early-tube",
    "stop leaking": "suction-stop-leaking",
    "drip short": "drip-time-too-short",
    "missed": "defrosts-missing",
    "slow recovery": "slow-recovery",
    "sensor drift": "coil-sensor-off",
    "valve shut": "hot-gas-solenoid-not-opening",
    "too many": "defrosts-beyond-schedule",
}


def write(
    folder: Path,
    *,
    days: int,
    circuits: int,
    seed: int,
    noise: float = 1.0,
    every: float = 1.0,
    cases: list[LoggedCircuit] | None = None,
) -> dict[str, str]:
    """Write site, log and truth; gives the fault of each circuit."""
    rng = np.random.default_rng(seed)
    start = datetime(2026, 1, 20, 7, 0, tzinfo=UTC)
    if days < 40:
        start = datetime(2026, 3, 1, 7, 0, tzinfo=UTC)  # the change to summer time lies inside
    cases = cases or store(circuits, rng, HOT_GAS_FAULTS)
    table = simulate(days, cases, rng, noise, start)
    step = int(every * 2)
    keep = np.zeros(len(table["minute"]), dtype=bool)
    keep[::step] = True
    keep &= rng.random(len(keep)) > 0.002  # single rows that are lost
    for _ in range(days // 4):
        at = int(rng.uniform(0.02, 0.95) * len(keep))
        keep[at : at + int(rng.uniform(10, 90) * 2)] = False
    names = ["hot-gas header", "liquid header", "suction header"]
    names += [f"{case.id} {column}" for case in cases for column in case.columns]
    words = np.array(["Cool", "PumpDown", "Defrost", "Drip"])
    texts = []
    for name in names:
        got = table[name][keep]
        texts.append(
            words[got] if name.endswith("state") else [f"{value:.1f}" for value in got.tolist()]
        )
    zone = ZoneInfo(ZONE)
    minutes = table["minute"][keep] * 60 + np.round(rng.uniform(-8, 8, keep.sum()))
    base = start.timestamp()
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "log.csv").open("w", encoding="utf-8", newline="") as file:
        file.write(",".join(["Time", *names]) + "\n")
        rows = zip(*texts, strict=True)
        for second, row in zip(minutes, rows, strict=True):
            stamp = datetime.fromtimestamp(base + second, zone).replace(tzinfo=None)
            file.write(f"{stamp:%Y-%m-%d %H:%M:%S}," + ",".join(row) + "\n")
    (folder / "site.yaml").write_text(site_text(cases), encoding="utf-8")
    truth = {
        case.id: {
            "fault": case.fault,
            "defrosts": [[round(base + 60 * each) for each in one] for one in case.truth],
        }
        for case in cases
    }
    (folder / "truth.json").write_text(json.dumps(truth), encoding="utf-8")
    return {case.id: case.fault for case in cases}


def site_text(cases: list[LoggedCircuit]) -> str:
    """The site file of the scenario with the mapping of its log."""
    low = "R-449A", "low temperature"
    racks = {"A": (*low, "hot gas"), "E": (*low, "electric")}
    racks["B"] = ("R-449A", "medium temperature", "off cycle")
    usual = "termination_setting: 55 F, drip_setting: 5 min, fail_safe_setting"
    settings = {
        "hot gas": f"{usual}: 24 min",
        "electric": f"{usual}: 50 min",
        "off cycle": "fail_safe_setting: 45 min",
    }
    lines = ["site: {name: Simulated store (invented), invented: yes, altitude: 0 ft}", "racks:"]
    for rack, (gas, application, defrost) in racks.items():
        own = [case for case in cases if case.kind == defrost]
        if not own:
            continue
        lines.append(f"  - {{id: {rack}, refrigerant: {gas}, application: {application},")
        lines.append(f"     defrost: {defrost}, values: {{{settings[defrost]}}}, circuits: [")
        for case in own:
            header = "this header only" if case.own_header else "whole rack"
            values = f"defrosts_per_day: {case.per_day} per day"
            if defrost == "hot gas":
                values += f", differential_regulator_serves: {header}"
            lines.append(f"       {{id: {case.id}, values: {{{values}}}}},")
        lines.append("     ]}")
    lines += [
        "log:", f"  time: {{column: Time, zone: {ZONE}}}", "  columns:",
        "    - of: '*'", "      read:",
        "        logged_coil_temperature: {column: '{id} coil', unit: F}",
        "        logged_case_air: {column: '{id} air', unit: F}",
        "        logged_circuit_pressure: {column: '{id} pressure', unit: psig}",
        "        logged_defrost_state:",
        "          column: '{id} state'",
        "          words: {cooling: Cool, pump-down: PumpDown, defrost: Defrost, drip: Drip}",
        "    - of: A", "      read:",
        "        logged_hot_gas_header: {column: hot-gas header, unit: psig}",
        "        logged_liquid_header: {column: liquid header, unit: psig}",
        "        logged_suction_header: {column: suction header, unit: psig}",
    ]  # fmt: skip
    for case in cases:
        if case.own_header:
            lines += [
                f"    - of: {case.id}", "      read:",
                "        logged_hot_gas_header: {column: '{id} hot gas', unit: psig}",
                "        logged_liquid_header: {column: '{id} liquid', unit: psig}",
            ]  # fmt: skip
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write one scenario."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--days", type=int, default=90)
    parser.add_argument("--circuits", type=int, default=24)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--noise", type=float, default=1.0)
    parser.add_argument("--every", type=float, default=1.0, help="minutes between samples")
    parser.add_argument("--demo", action="store_true", help="the sample of checklists/demo")
    told = parser.parse_args()
    if told.demo:
        low = LoggedCircuit("A4", fault="differential low", air=-8.0, own_header=True)
        low.columns += ("hot gas", "liquid")
        healthy = LoggedCircuit("A5", air=-8.5, columns=("coil", "air"))
        write(told.folder, days=4, circuits=2, seed=7, every=2.5, cases=[low, healthy])
        return
    write(told.folder, days=told.days, circuits=told.circuits, seed=told.seed, noise=told.noise,
          every=told.every)  # fmt: skip


if __name__ == "__main__":
    main()
