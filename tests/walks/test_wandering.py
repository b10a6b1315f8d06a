"""Whatever a person does on any checklist: nothing that protects is lost, and nobody is stuck."""

from __future__ import annotations

import os
from collections import Counter
from random import Random

import pytest
from wander import Wander

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.places import shipped
from expert.procedure.checklist import Checklist
from expert.procedure.fitting import why_not

NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
WALKS = 1000 if NIGHTLY else 30
PARTS = 10  # so many tests, which may run beside one another
# Invented: a store of which only the least is known, with one plant of each seldom-met kind.
SELDOM = """\
site: {name: Seldom (invented), invented: yes, altitude: 0 ft, jurisdiction: European Union}
racks:
  - id: U
    title: one unit with one case
    refrigerant: R-454C
    application: medium temperature
    compressors: [{id: UC1, title: the only compressor}]
    circuits: [{id: U1, title: the only case}]
  - id: W
    title: rack with an evaporative condenser
    refrigerant: R-449A
    application: low temperature
    defrost: hot gas
    values: {condenser_kind: evaporative, receiver_fitted: no}
    compressors: [{id: WC1, title: one}, {id: WC2, title: two}]
    circuits:
      - {id: W1, title: frozen, case_type: frozen food doors}
      - {id: W2, title: chilled with cool gas, application: medium temperature}
  - id: N
    title: chiller with ammonia
    refrigerant: R-717
    application: medium temperature
    defrost: off cycle
    compressors: [{id: NC1, title: one}]
    circuits: [{id: N1, title: cold room}]
"""


def stores(rules: Rulebase) -> list[Site]:
    """The demo store as it is and under the other law, and the plants that are seldom met."""
    demo = (shipped("checklists") / "demo" / "site.yaml").read_text(encoding="utf-8")
    union = demo.replace("  altitude:", "  jurisdiction: European Union\n  altitude:", 1)
    return [parse_site(text, "site.yaml", rules) for text in (demo, SELDOM, demo, union)]


def walks(rules: Rulebase, checklists: dict[str, Checklist], part: int) -> list[Wander]:
    """The walks of a part: every checklist in turn, on each kind of subject it is for."""
    kept, found = stores(rules), []
    for seed in range(part, WALKS, PARTS):
        random = Random(seed)
        checklist = [*checklists.values()][seed % len(checklists)]
        site = kept[seed // len(checklists) % len(kept)]
        fitting = [each for each in site.subjects.values() if not why_not(checklist, each)]
        if not fitting:
            site = kept[0]
            fitting = [each for each in site.subjects.values() if not why_not(checklist, each)]
        subject = random.choice(fitting)
        evaluator = Evaluator(rules, subject, members=site.members(subject), backend="plain")
        walk = Wander(checklist, evaluator, random)
        steps = random.randint(5, 160 if NIGHTLY else 70)
        walk.walk(steps, revise_at=random.choice([-1, steps // 3, steps // 2]))
        found.append(walk)
    return found


@pytest.mark.parametrize("part", range(PARTS))
def test_nothing_that_protects_is_lost_and_every_job_can_be_closed(
    part: int, shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    done = walks(shipped_rulebase, checklists, part)
    assert len(done) == WALKS // PARTS
    assert sum(walk.asked for walk in done) > 20 * len(done) // 2
    kinds = Counter(e.kind for walk in done for e in walk.session.picture.entries)
    assert kinds["skip"] and kinds["reopen"] and kinds["acknowledge"]
    assert [wrong for walk in done for wrong in walk.wrong] == []
