"""A checklist of a rack that calls another one and looks at each circuit; numbers invented."""

from __future__ import annotations

from pathlib import Path

from memory_log import MemoryLog
from procedure_drive import StandingClock

from expert.errors import PackError, Problem
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.procedure.load_checklists import load_checklists
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session

SITE = """
site: {name: Test store, invented: yes, altitude: 0 ft}
racks:
  - id: A
    title: Low rack
    refrigerant: R-449A
    application: low temperature
    compressors:
      - {id: C1}
    circuits:
      - id: A1
        title: Doors
        limits: {case_air: {normal: at most 12 F, source: "site: legend"}}
      - {id: A2, title: Island}
      - {id: A3, title: Walk-in}
"""

WALK = """
checklist:
  id: rack-walk
  title: Rack walk
  revision: 1
  purpose: For the tests.
  subject: rack
  source: from memory
  phases:
    - id: start
      title: Start
      stage: as found
      steps:
        - caution: hot-surfaces
        - instruct: Hold off the schedule.
          id: hold-off
          opens: schedule held off
        - observe: hot_gas_valve
        - call: small-checkout
          id: checkout
          say: The gas side first.
          unless: [hot_gas_valve is shut]
        - ask: frost_pattern
          when: [clearing_time is known]
    - id: each
      title: Each circuit
      stage: as found
      for each: circuit
      steps:
        - caution: hot-surfaces
          id: gloves
        - instruct: Put the probe in.
          id: probe-in
          opens: probe in the case
        - ask: case_air
        - ask: coil_voltage
          when: [case_air is high]
        - restore: probe in the case
    - id: end
      title: End
      stage: as left
      steps:
        - instruct: Tell the store.
          id: tell
          when: [{most circuits: [case_air is high]}]
        - restore: schedule held off
        - sign: Name of the technician
"""


def write(folder: Path, **texts: str) -> Path:
    """A folder with a file for each text, named by its keyword with - for _."""
    for name, text in texts.items():
        (folder / f"{name.replace('_', '-')}.yaml").write_text(text, encoding="utf-8")
    return folder


def walk_runner(folder: Path, rulebase: Rulebase, small: str, walk: str = WALK) -> Runner:
    """The runner of the walk on rack A; `small` is the checklist that it calls."""
    called = small.replace("subject: circuit", "subject: rack")
    found = load_checklists(write(folder, small_checkout=called, rack_walk=walk), rulebase)
    site = parse_site(SITE, "site.yaml", rulebase)
    rack = site.subjects["A"]
    evaluator = Evaluator(rulebase, rack, members=site.members(rack), backend="plain")
    return runner_for(found["rack-walk"], evaluator)


def problems_of(folder: Path, rulebase: Rulebase) -> list[Problem]:
    """What is wrong with the checklists of a folder."""
    try:
        load_checklists(folder, rulebase)
    except PackError as error:
        return list(error.problems)
    return []


def only(problems: list[Problem]) -> Problem:
    """The one thing that is wrong."""
    assert len(problems) == 1, problems
    return problems[0]


def open_session(runner: Runner) -> Session:
    """A session that keeps its entries in memory."""
    return Session(runner, MemoryLog(), "job", now=StandingClock())


def keys(session: Session) -> list[str]:
    """The keys of the plan."""
    return [active.key for active in session.runner.plan(session.picture)]


def asked(session: Session) -> str:
    """The key of the step that is asked now."""
    assert session.current is not None
    return session.current.key
