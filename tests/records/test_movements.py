"""What entries of jobs say of refrigerant: what is in force, what stands beside, what is not."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

from shipped_knowledge import shipped_checklists

from expert.knowledge.model import Rulebase
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.records.movements import JobSource, happened, moved
from expert.records.record_roles import ADDED, RECOVERED, REPAIR, record_roles

START = datetime(2026, 3, 2, 12, tzinfo=UTC)
SOURCE = JobSource("job-1", "some-checklist", "A4", "A. Sample", {"A4": "A", "A": "A", "B1": "B"})
BESIDE = ("cylinder", "certificate")


def entries(*made: tuple[str, str, str, object, str]) -> list[Entry]:
    """Entries from (kind, step, quantity, value, text)."""
    return [
        Entry(
            seq, START + timedelta(minutes=seq), kind, step,
            {"quantity": quantity, "value": value, "text": text, "kind": "mass"},
        )
        for seq, (kind, step, quantity, value, text) in enumerate(made, 1)
    ]  # fmt: skip


ADD = ("answer", "refrigerant-added-today", "refrigerant_added_today", 5.0, "5 kg")
CYLINDER = ("answer", "refrigerant-added-today-cylinder", "refrigerant_cylinder", "4711", "4711")
REASON = ("answer", "refrigerant-added-today-reason", "addition_reason", "seasonal", "4")


def test_an_amount_with_what_stands_beside_it() -> None:
    (found,) = moved(SOURCE, entries(ADD, CYLINDER, REASON), record_roles())
    assert (found.system, found.kind, found.who, found.job) == ("A", ADDED, "A. Sample", "job-1")
    assert (found.cylinder, found.reason, found.certificate) == ("4711", "seasonal", "")
    assert found.pounds == 5 / Fraction("0.45359237")
    assert found.day == (START + timedelta(minutes=1)).astimezone().date()


def test_a_correction_counts_and_the_first_answer_does_not() -> None:
    again = ("answer", "refrigerant-added-today", "refrigerant_added_today", 6.0, "6 kg")
    opened = ("reopen", "refrigerant-added-today", "", "", "")
    (found,) = moved(SOURCE, entries(ADD, CYLINDER, opened, again), record_roles())
    assert (found.written, found.cylinder) == ("6 kg", "4711")
    assert moved(SOURCE, entries(ADD, opened), record_roles()) == []


def test_each_round_is_an_amount_of_its_own_with_its_own_cylinder() -> None:
    rounds = [
        (kind, f"{step}@{number}", quantity, value if quantity != "refrigerant_cylinder" else name,
         text)
        for number, name in ((1, "one"), (2, "two"))
        for kind, step, quantity, value, text in (ADD, CYLINDER)
    ]  # fmt: skip
    found = moved(SOURCE, entries(*rounds), record_roles())
    assert [each.cylinder for each in found] == ["one", "two"]


def test_an_answer_set_aside_and_nought_are_no_amounts() -> None:
    aside = JobSource("job-1", "c", "A", "", {"A": "A"}, {"refrigerant-added-today"})
    assert moved(aside, entries(ADD), record_roles()) == []
    zero = (*ADD[:3], 0.0, "0 lb")
    assert moved(SOURCE, entries(zero), record_roles()) == []


def test_what_replaces_a_loss_belongs_to_the_leak_only_where_the_job_added_before() -> None:
    step = "refrigerant-charged-after-repair"
    after = ("answer", step, "refrigerant_charged_after_repair", 1.0, "1 kg")
    both = moved(SOURCE, entries(ADD, after), record_roles())
    assert {each.key: each.same_leak for each in both} == {ADD[1]: False, step: True}
    (alone,) = moved(SOURCE, entries(after), record_roles())
    assert not alone.same_leak


def test_a_log_entry_has_its_own_day_and_kind() -> None:
    found = moved(
        SOURCE,
        entries(
            ("answer", "refrigerant-entry-kind", "refrigerant_entry_kind", "recovered", "2"),
            ("answer", "refrigerant-entry-day", "refrigerant_entry_day", "2026-02-01", ""),
            ("answer", "refrigerant-entry-amount", "refrigerant_entry_amount", 1.0, "1 kg"),
        ),
        record_roles(),
    )
    assert [(each.kind, each.day) for each in found] == [(RECOVERED, date(2026, 2, 1))]


def test_a_repair_that_is_done_happened_and_one_still_open_did_not() -> None:
    done = ("answer", "leak-repair", "leak_repair", "done", "1")
    still = ("answer", "leak-repair", "leak_repair", "still open", "2")
    assert [each.what for each in happened(SOURCE, entries(done), record_roles())] == [REPAIR]
    assert happened(SOURCE, entries(still), record_roles()) == []


def _amounts(checklist: Checklist) -> set[str]:
    names = {*record_roles().amounts, record_roles().entry["amount"]}
    return {
        step.id
        for phase in checklist.phases
        for step in phase.steps
        if set(step.quantities) & names and step.type == "ask"
    }


def test_every_step_that_moves_refrigerant_asks_cylinder_reason_and_certificate(
    shipped_rulebase: Rulebase,
) -> None:
    checklists = shipped_checklists()
    part, seen = record_roles(), 0
    for checklist in checklists.values():
        ids = {s.id: s.quantities for phase in checklist.phases for s in phase.steps}
        for step in _amounts(checklist):
            seen += 1
            assert ids[f"{step}-cylinder"] == (part.cylinder,), step
            assert ids[f"{step}-certificate"] == (part.certificate,), step
            reasons = {ids.get(f"{step}-{name}") for name in ("reason", "recovery-reason")}
            assert reasons & {(part.addition_reason,), (part.recovery_reason,)}, step
    assert seen >= 10


def test_every_name_of_the_roles_is_known_to_the_rulebase(shipped_rulebase: Rulebase) -> None:
    part = record_roles()
    known = shipped_rulebase.quantities
    names = {part.cylinder, part.certificate, part.full_charge, part.method, part.how}
    names |= {*part.quantities, part.entry["kind"], part.entry["day"]}
    assert names <= set(known)
    assert set(part.addition_reasons) <= set(known[part.addition_reason].choices)
    assert part.seasonal_recovery in known[part.recovery_reason].choices
    assert set(part.methods) == set(known[part.method].choices)
    for quantity, choice in part.happenings:
        assert choice in known[quantity].choices
