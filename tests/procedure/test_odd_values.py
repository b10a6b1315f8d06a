"""Answers that hold no value of what is asked: taken in from elsewhere, or asked otherwise now."""

from __future__ import annotations

from dataclasses import replace

import pytest
from procedure_drive import finish

from expert.procedure.picture import Picture, fold
from expert.procedure.runner import Runner
from expert.procedure.session import Session
from expert.procedure.world import AS_FOUND

ODD = [
    ("hot_gas_header_pressure", {"value": "\x1b[2J"}),
    ("hot_gas_header_pressure", {"kind": "temperature"}),
    ("hot_gas_valve", {"value": -1}),
    ("circuit_pressure", {"quantity": "no_such_thing"}),
]


def changed(session: Session, quantity: str, data: dict[str, object]) -> Picture:
    """The entries of a session, the first answer about a quantity holding something else."""
    entries = list(session.picture.entries)
    at = next(n for n, each in enumerate(entries) if each.data.get("quantity") == quantity)
    entries[at] = replace(entries[at], data={**entries[at].data, **data})
    return fold(entries)


@pytest.mark.parametrize(("quantity", "data"), ODD)
@pytest.mark.parametrize("signed", [True, False])
def test_it_is_not_judged_and_asked_again_where_it_was_not_signed_for(
    session: Session, runner: Runner, quantity: str, data: dict[str, object], signed: bool
) -> None:
    finish(session)
    picture = changed(session, quantity, data)
    if not signed:
        picture = fold(each for each in picture.entries if each.kind != "sign")
    before = [r.quantity for r in runner.readings(session.picture) if r.stage == AS_FOUND]
    after = [r.quantity for r in runner.readings(picture) if r.stage == AS_FOUND]
    assert before.count(quantity) - after.count(quantity) == 1
    assert quantity not in runner.evaluation(picture).known or after.count(quantity)
    current = runner.current(picture)
    if signed:
        assert current is None
    else:
        assert current is not None and current.quantity == quantity
