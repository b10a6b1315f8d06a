"""A small rulebase and checklist of our own, all numbers invented for the tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock
from rack_walk import WALK, walk_runner

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.site import SiteValue, Subject
from expert.procedure.checklist import Checklist
from expert.procedure.load_checklists import parse_checklist
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session

RULEBASE = """
pack: {name: small, version: 1.0}
certainty:
  strengths: {weak: 0.3, strong: 0.75}
  words: [{from: 0.5, say: likely}, {from: 0, say: possible}]
  threshold: 0.2
  source: from memory
quantities:
  - {id: hot_gas_header_pressure, title: hot-gas header pressure, subject: rack,
     kind: gauge_pressure, with: "pressure probe, zeroed", accuracy: 1 psi,
     refuse: "below 0 psig, above 600 psig", unusual: "below 80 psig, above 350 psig",
     cautions: [hot-surfaces], source: from memory}
  - {id: liquid_header_pressure, title: liquid header pressure, subject: rack,
     kind: gauge_pressure, accuracy: 1 psi, refuse: "below 0 psig, above 600 psig",
     unusual: "below 80 psig, above 350 psig", source: from memory}
  - {id: hot_gas_valve, title: circuit hot-gas solenoid valve, subject: circuit, kind: choice,
     choices: [open, shut, half open], source: from memory}
  - {id: coil_voltage, title: voltage at the coil, subject: circuit, kind: voltage,
     source: from memory}
  - {id: circuit_pressure, title: circuit pressure, subject: circuit, kind: gauge_pressure,
     accuracy: 1 psi, source: from memory}
  - {id: defrost_state, title: is the defrost still running, subject: circuit, kind: choice,
     choices: [still running, ended by temperature, ended by time], source: from memory}
  - {id: clearing_time, title: time until the coil was clear, subject: circuit, kind: duration,
     accuracy: 1 min, refuse: above 3 h, source: from memory}
  - {id: case_air, title: air in the case, subject: circuit, kind: temperature, accuracy: 1 F,
     source: from memory}
  - {id: frost_pattern, title: frost pattern, subject: circuit, kind: text, source: from memory}
  - {id: termination_setting, title: termination setting, subject: circuit, kind: temperature,
     given: site, source: from memory}
  - {id: adjustment_wanted, title: change something now, subject: circuit, kind: choice,
     choices: ["yes", "no"], source: from memory}
ways_of_reading:
  - {id: pressure-probe, title: pressure probe, also: [probe],
     accuracy: {gauge_pressure: 0.5 psi}, source: from memory}
  - {id: display, title: display, also: [rack display],
     accuracy: {gauge_pressure: 3 psi or 2 %, temperature: 2 F}, source: from memory}
  - {id: gauge-manifold, title: gauge manifold, also: [manifold],
     accuracy: {gauge_pressure: 2 psi}, in_place_of: [pressure-probe], source: from memory}
derived:
  - {id: defrost_differential, title: defrost differential, subject: circuit,
     function: pressure_difference,
     inputs: {upper: hot_gas_header_pressure, lower: liquid_header_pressure},
     source: "computed: upper minus lower"}
limits:
  - {id: differential, of: defrost_differential, normal: 15 to 20 psi, source: from memory}
  - {id: air, of: case_air, normal: at most 0 F, source: from memory}
signs:
  - {id: gas_side_low, says: the gas side stands too low}
causes:
  - {id: set-low, title: Regulator set too low, system: hot-gas defrost, subject: circuit,
     is: It is set too low., confirm: [read it again], do: [turn it], urgency: food,
     source: from memory}
  - {id: warm-case, title: Warm case, system: cases, subject: circuit, is: It is warm.,
     confirm: [read it again], do: [look at the coil], urgency: food, source: from memory}
  - {id: warm-rack, title: Rack holds no suction pressure, system: rack, subject: rack,
     is: Most of it is warm., confirm: [read it again], do: [look at the compressors],
     urgency: food, source: from memory}
rules:
  - {id: low-is-low, when: [defrost_differential is low], concludes: [gas_side_low],
     evidence_for: {set-low: strong}, because: It stands too low., source: from memory}
  - {id: warm-air, when: [case_air is high], evidence_for: {warm-case: strong},
     because: The air is warm., source: from memory}
  - {id: warm-circuits, when: [{most circuits: [case_air is high]}],
     evidence_for: {warm-rack: strong}, because: Most of its circuits are warm.,
     source: from memory}
cautions:
  - {id: hot-surfaces, title: Hot surfaces, say: [Put your gloves on.],
     ask: Are your gloves on?, source: from memory}
"""

CHECKLIST = """
checklist:
  id: small-checkout
  title: Small checkout
  revision: 1
  purpose: For the tests.
  subject: circuit
  source: from memory
  phases:
    - id: before
      title: Before you start
      stage: as found
      steps:
        - caution: hot-surfaces
        - instruct: Hold off the schedule.
          id: hold-off
          opens: schedule held off
    - id: found
      title: As found
      stage: as found
      steps:
        - ask: hot_gas_header_pressure
        - ask: liquid_header_pressure
        - observe: hot_gas_valve
        - ask: coil_voltage
          when: [hot_gas_valve is shut]
        - instruct: Look at the pilot line.
          id: pilot-line
          when: [gas_side_low]
        - clock: defrost
        - watch: clearing
          clock: defrost
          every: 2 min
          ask: [circuit_pressure]
          until: defrost_state
          at_most: 4
        - time: clearing_time
          clock: defrost
        - show: [defrost_differential]
        - think: What do we think so far?
    - id: prove
      title: Adjust one thing and measure again
      stage: as left
      repeat: {ask: adjustment_wanted, while: "yes", at_most: 3}
      steps:
        - caution: hot-surfaces
          id: gloves-again
        - adjust: one-thing
          say: Change one thing only.
        - ask: hot_gas_header_pressure
          id: hot-gas-again
        - ask: liquid_header_pressure
          id: liquid-again
    - id: close
      title: Close
      stage: as left
      steps:
        - ask: frost_pattern
        - restore: schedule held off
        - sign: Name of the technician
"""


@pytest.fixture(scope="session")
def rulebase(tmp_path_factory: pytest.TempPathFactory) -> Rulebase:
    folder: Path = tmp_path_factory.mktemp("rulebase")
    (folder / "all.yaml").write_text(RULEBASE, encoding="utf-8")
    return load_rulebase(folder)


@pytest.fixture(scope="session")
def rulebase_text() -> str:
    return RULEBASE


@pytest.fixture(scope="session")
def subject() -> Subject:
    facts = {"application": "low temperature", "defrost": "hot gas", "refrigerant": "R-449A"}
    values = {"termination_setting": SiteValue("termination_setting", 285.93, "55 F")}
    return Subject("A4", "Frozen food", "circuit", "A", facts, 0.0, values)


@pytest.fixture(scope="session")
def checklist(rulebase: Rulebase) -> Checklist:
    return parse_checklist(CHECKLIST, "small.yaml", rulebase)


@pytest.fixture(scope="session")
def checklist_text() -> str:
    return CHECKLIST


@pytest.fixture(scope="session")
def make_runner(rulebase: Rulebase, subject: Subject) -> Callable[[str], Runner]:
    """The runner of a checklist given as the YAML of its phases."""

    def make(phases: str) -> Runner:
        head = CHECKLIST.partition("  phases:\n")[0]
        found = parse_checklist(f"{head}  phases:\n{phases}", "inline.yaml", rulebase)
        return runner_for(found, Evaluator(rulebase, subject, backend="plain"))

    return make


@pytest.fixture(scope="session")
def runner(checklist: Checklist, rulebase: Rulebase, subject: Subject) -> Runner:
    return runner_for(checklist, Evaluator(rulebase, subject, backend="plain"))


@pytest.fixture(scope="session")
def walk(
    tmp_path_factory: pytest.TempPathFactory, rulebase: Rulebase, checklist_text: str
) -> Runner:
    """The rack walk, which calls the small checklist and looks at each circuit."""
    return walk_runner(tmp_path_factory.mktemp("walk"), rulebase, checklist_text)


@pytest.fixture
def clock() -> StandingClock:
    return StandingClock()


@pytest.fixture
def session(runner: Runner, clock: StandingClock) -> Session:
    return Session(runner, MemoryLog(), "job", now=clock)


@pytest.fixture
def make_walk(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> Callable[[str, str], Runner]:
    """The runner of the walk after one piece of it was replaced."""

    def make(old: str, new: str) -> Runner:
        assert WALK.count(old) == 1, old
        return walk_runner(tmp_path, rulebase, checklist_text, WALK.replace(old, new))

    return make
