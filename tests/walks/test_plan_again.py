"""A plan that is walked again only in part is the plan that is walked from the top."""

from __future__ import annotations

import pytest
from budget import step
from test_wandering import PARTS, walks

from expert.knowledge.model import Rulebase
from expert.procedure.checklist import Checklist
from expert.procedure.picture import Picture
from expert.procedure.plan_again import Plan, PlanMaker


@pytest.mark.parametrize("part", range(0, PARTS, step(5)))
def test_whatever_is_done_the_plan_is_that_from_the_top(
    part: int,
    shipped_rulebase: Rulebase,
    checklists: dict[str, Checklist],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    in_part = PlanMaker.plan
    compared, again = 0, 0
    wrong: list[tuple[str, int]] = []

    def both(maker: PlanMaker, picture: Picture) -> Plan:
        nonlocal compared, again
        again += maker._walk is not None and maker._same_for(maker._walk, picture) > 0
        made = in_part(maker, picture)
        whole = in_part(PlanMaker(maker._checklist, maker._world), picture)
        compared += 1
        if made != whole:
            wrong.append((maker._checklist.id, len(picture.entries)))
        return made

    monkeypatch.setattr(PlanMaker, "plan", both)
    done = walks(shipped_rulebase, checklists, part)
    assert done and wrong == []
    assert again > compared / 2 > 20  # most plans were walked in part
