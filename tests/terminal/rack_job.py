"""A rack walk with a call and a phase for each circuit, for the tests of the terminal."""

from __future__ import annotations

from pathlib import Path

from memory_log import MemoryLog
from terminal_help import SMALL, TickingClock, TypedFront

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import parse_site
from expert.procedure.load_checklists import load_checklist
from expert.procedure.runner import runner_for
from expert.procedure.session import Session
from expert.terminal.dialogue import Dialogue
from expert.terminal.texts import Texts

HEAD = """
checklist:
  id: {id}
  title: {title}
  revision: 1
  purpose: For the tests.
  subject: rack
  needs: {{tools: [two probes]}}
  source: from memory
  phases:
"""
WALK = (
    HEAD.format(id="walk", title="Rack walk")
    + """
    - id: start
      title: Start
      stage: as found
      steps:
        - call: headers
          say: The headers first.
    - id: each
      title: Each circuit
      stage: as found
      for each: circuit
      steps:
        - caution: hot
        - observe: valve
        - clock: gas
        - time: clearing_time
          clock: gas
        - think: So far?
    - id: end
      title: End
      stage: as found
      steps:
        - think: And now?
          id: at-the-end
"""
)
HEADERS = (
    HEAD.format(id="headers", title="Header pressures")
    + """
    - id: read
      title: Read
      stage: as found
      steps:
        - caution: hot
        - ask: upper_pressure
        - ask: lower_pressure
"""
)
SITE = """
site: {name: Test store, invented: yes, altitude: 0 ft}
racks:
  - id: A
    refrigerant: R-449A
    application: low temperature
    circuits:
      - id: A1
        title: Frozen doors
        limits: {clearing_time: {normal: at most 30 min, source: "site: legend"}}
      - {id: B, title: Ice cream}
"""
RULE = """
causes:
  - {id: slow, title: Coil clears slowly, system: defrost, subject: circuit, is: It is slow.,
     confirm: [time it again], do: [look], urgency: food, source: from memory}
rules:
  - {id: slow-is-slow, when: [clearing_time is high], evidence_for: {slow: strong},
     because: It takes long., source: from memory}
"""


class RackJob:
    """The rack walk with its texts."""

    def __init__(self, folder: Path, depth: str = "learning") -> None:
        rules = folder / "rules"
        rules.mkdir()
        (rules / "all.yaml").write_text((SMALL / "rules" / "all.yaml").read_text("utf-8"), "utf-8")
        (rules / "slow.yaml").write_text(RULE, "utf-8")
        (folder / "walk.yaml").write_text(WALK, "utf-8")
        (folder / "headers.yaml").write_text(HEADERS, "utf-8")
        base = load_rulebase(rules)
        site = parse_site(SITE, "site.yaml", base)
        rack = site.subjects["A"]
        evaluator = Evaluator(base, rack, members=site.members(rack), backend="plain")
        self.runner = runner_for(load_checklist(folder / "walk.yaml", base), evaluator)
        self.session = Session(self.runner, MemoryLog(), "job", now=TickingClock())
        self.texts = Texts(self.runner, evaluator, depth=depth)

    def run(self, *lines: str) -> str:
        """Everything that is shown while lines are typed, with why a time is not the clock's."""
        said = [(line, "typed later") if line.endswith(" min") else (line,) for line in lines]
        front = TypedFront(line for each in said for line in each)
        Dialogue(self.session, self.texts, front).run()
        return front.text

    @property
    def key(self) -> str:
        """The key of the step that is asked now."""
        return self.session.current.key if self.session.current else ""


# What is typed up to the question which circuits.
CALLED = ("", "y", "190", "182")
