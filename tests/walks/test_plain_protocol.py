"""In plain mode each prompt ends with what is accepted, in every checklist."""

from __future__ import annotations

import re

import pytest
from walked_job import DEMO, NoLog

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist
from expert.procedure.fitting import why_not
from expert.procedure.runner import runner_for
from expert.procedure.screens import DEPTHS, STEP
from expert.procedure.session import Session
from expert.terminal.screen_lines import screen_label
from expert.terminal.texts import Texts
from expert.units.kinds import Kind, units_of

WORDS = ("y/n", "Enter", "name", "what", "which", "words", "number", "s")
RANGE = re.compile(r"^1-\d+$")
LABEL = re.compile(r"^(?P<step>\d+)/(?P<of>\d+) (?P<accepted>.+)> $")


@pytest.fixture(scope="module")
def site(shipped_rulebase: Rulebase) -> Site:
    return load_site(DEMO / "site.yaml", shipped_rulebase)


def test_every_prompt_ends_with_what_is_accepted(
    site: Site, shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    units = {unit.name for kind in Kind for unit in units_of(kind)}
    seen = set()
    for checklist in checklists.values():
        on = next((e for e in site.subjects.values() if not why_not(checklist, e)), None)
        if on is None:
            continue
        evaluator = Evaluator(shipped_rulebase, on, members=site.members(on), backend="plain")
        session = Session(runner_for(checklist, evaluator), NoLog(), "job")
        texts = Texts(session.runner, evaluator, depth=DEPTHS[1])
        plan = session.runner.whole_plan(session.picture)
        for active in (*plan.steps, *plan.dormant):
            found = LABEL.match(texts.label(active))
            assert found is not None, (checklist.id, active.key)
            accepted = found["accepted"]
            quantity = shipped_rulebase.quantities.get(active.quantity)
            known = accepted in WORDS or RANGE.match(accepted) or accepted in units
            assert known or (quantity is not None and accepted == quantity.unit), accepted
            assert accepted == _expected(active, shipped_rulebase, accepted), active.key
            seen.add(accepted)
        for depth in DEPTHS[1:]:
            session.lead(depth)
            screen = session.screen
            if screen is not None and screen.kind != STEP:
                assert LABEL.match(screen_label(screen, texts))
    assert {"y/n", "Enter", "psig", "name", "1-3"} <= seen


def _expected(active: Active, rulebase: Rulebase, accepted: str) -> str:
    """What is accepted by the kind of step, as it is promised; else what stands there."""
    quantity = rulebase.quantities.get(active.quantity)
    if quantity is not None and {*quantity.choices} == {"yes", "no"}:
        return "y/n"
    if quantity is not None and quantity.is_choice:
        return f"1-{len(quantity.choices)}"
    promised = {"caution": "y/n", "sign": "name", "instruct": "Enter", "clock": "Enter"}
    return accepted if quantity is not None else promised.get(active.step.type, accepted)
