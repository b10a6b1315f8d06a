"""A rack of many circuits, made from one of the demo's, and a visit on which all is well."""

from __future__ import annotations

from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.procedure.answers import Answers
from expert.procedure.checklist import Checklist
from expert.procedure.read_answers import parse_answers

SITE = """
site: {name: Large rack (invented), invented: yes, altitude: 0 ft}
racks:
  - id: L
    title: Rack L
    refrigerant: R-449A
    application: low temperature
    defrost: hot gas
    values:
      {suction_set_point: 8 psig, needed_case_temperature: -12 F, full_charge: 2000 lb,
       condenser_kind: air cooled, receiver_fitted: yes}
    compressors: [COMPRESSORS]
    circuits: [CIRCUITS]
"""
CIRCUIT = """
    L{n}:
      circuit-mode: cooling
      case-alarm: none
      fans-in-cooling: all turning
      discharge-grille: open and clean
      return-grille: free
      stock-line: behind the line
      door-closing: shut by themselves
      door-gasket: whole
      door-glass: dry
      discharge-air-before: -8 F
      warmest-product-before: -4 F
      frost-before: even"""
COMPRESSOR = """
    LC{n}:
      compressor-state: running
      compressor-sound: even
      oil-glass-level: 50 %
      crankcase: warm
      discharge-line-temperature: 170 F
      starts-per-hour: 3
      compressor-trip: none"""


def large_site(circuits: int, compressors: int, base: Rulebase) -> Site:
    """A site with one rack of so many circuits and compressors."""
    several = ", ".join(f"{{id: L{n}, title: Circuit {n}}}" for n in range(1, circuits + 1))
    machines = ", ".join(f"{{id: LC{n}, title: C {n}}}" for n in range(1, compressors + 1))
    text = SITE.replace("CIRCUITS", several).replace("COMPRESSORS", machines)
    return parse_site(text, "large.yaml", base)


def large_visit(circuits: int, compressors: int, healthy: str, checklist: Checklist) -> Answers:
    """The healthy visit of the demo with so many circuits and compressors in place of its own."""
    before, _, rest = healthy.partition("  store-walk:\n")
    _, _, after = rest.partition("  machine-room-gas:")
    middle, _, rest = after.partition("  each-compressor:\n")
    end = rest[rest.index("\n  ladders-and-roof:") :]
    walk = "".join(CIRCUIT.format(n=n) for n in range(1, circuits + 1))
    each = "".join(COMPRESSOR.format(n=n) for n in range(1, compressors + 1))
    text = f"{before}  store-walk:{walk}\n  machine-room-gas:{middle}  each-compressor:{each}{end}"
    return parse_answers(text, "large.answers.yaml", checklist)
