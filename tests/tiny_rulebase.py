"""A tiny rulebase with invented numbers, for tests that need one of everything."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from expert.knowledge.model import Rulebase

WriteRulebase = Callable[[str], Path]
LoadTiny = Callable[..., Rulebase]

TINY = """\
pack: {name: tiny, version: 0.1}
certainty:
  strengths: {weak: 0.3, moderate: 0.5, strong: 0.75}
  words: [{from: 0.5, say: likely}, {from: 0, say: possible}]
  threshold: 0.2
  source: from memory
quantities:
  - {id: upper_pressure, title: upper pressure, subject: rack, kind: gauge_pressure,
     accuracy: 1 psi, refuse: "below 0 psig, above 600 psig",
     unusual: "below 80 psig, above 350 psig", effort: 2, cautions: [hot], source: from memory}
  - {id: lower_pressure, title: lower pressure, subject: rack, kind: gauge_pressure,
     accuracy: 1 psi, effort: 2, source: from memory}
  - {id: line_temperature, title: line temperature, subject: circuit, kind: temperature,
     accuracy: 1 F, source: from memory}
  - {id: setting, title: setting, subject: circuit, kind: temperature, given: site,
     refuse: above 200 F, source: from memory}
  - {id: clearing_time, title: clearing time, subject: circuit, kind: duration,
     accuracy: 1 min, source: from memory}
  - {id: valve, title: valve, subject: circuit, kind: choice, choices: [open, shut, half open],
     source: from memory}
  - {id: remark, title: remark, subject: circuit, kind: text, source: from memory}
derived:
  - {id: differential, title: differential, subject: circuit, function: pressure_difference,
     inputs: {upper: upper_pressure, lower: lower_pressure}, accuracy: 1.4 psi,
     source: "computed: upper minus lower"}
  - {id: rise, title: rise of the line, subject: circuit, function: temperature_difference,
     inputs: {upper: {of: line_temperature, take: highest},
              lower: {of: line_temperature, take: first}},
     accuracy: 1.4 F, source: "computed: highest minus first"}
limits:
  - {id: differential-limit, of: differential, normal: 15 to 20 psi, very_low: 10 psi,
     very_high: 30 psi, cannot_judge_when: [valve is shut], source: common practice}
  - {id: clearing-limit, of: clearing_time, applies: {application: low temperature},
     normal: at most 18 min, source: common practice}
  - {id: rise-limit, of: rise, normal: at least 20 F, source: from memory}
signs:
  - {id: slow, says: the coil clears slowly}
  - {id: weak_push, says: the push is weak}
causes:
  - {id: set-low, title: Regulator set too low, system: defrost, subject: circuit,
     is: It is low., confirm: [Look.], do: [Turn it.], cautions: [hot], urgency: food,
     leads_to: [left-iced], source: from memory}
  - {id: left-iced, title: Coil left iced, system: defrost, subject: circuit, is: It has ice.,
     confirm: [Look.], do: [Wait.], urgency: food, source: from memory}
rules:
  - id: slow-by-the-clock
    when: [clearing_time is high]
    unless: [valve is half open]
    concludes: [slow]
    because: It took too long.
    source: from memory
    tests:
      - {given: {clearing_time: 24 min}, expect: fires}
      - {given: {clearing_time: 10 min}, expect: silent}
      - {given: {valve: open}, expect: undecided}
  - id: low-and-slow
    when: [differential is low, slow]
    evidence_for: {set-low: strong}
    because: Little push is a slow defrost.
    source: from memory
    tests:
      - {given: {differential: 8 psi, slow: yes}, expect: fires}
      - {given: {differential: 17 psi, slow: yes}, expect: silent}
  - id: cold-line
    when: [rise is low]
    unless: [not slow]
    evidence_for: {left-iced: moderate}
    evidence_against: {set-low: weak}
    because: The line stayed cold.
    source: from memory
    tests:
      - {given: {rise: 2 F, slow: yes}, expect: fires}
      - {given: {rise: 30 F, slow: yes}, expect: silent}
cautions:
  - {id: hot, title: Hot surfaces, say: [It is hot.], ask: "Are your gloves on?",
     source: common practice}
"""
