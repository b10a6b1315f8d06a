"""What is derived after some readings changed is what is derived of them from the beginning."""

from __future__ import annotations

import random
from dataclasses import replace

from shipped_knowledge import shipped_rules

from expert.inference.derive import Deriver, derive
from expert.inference.evaluation_model import Reading
from expert.knowledge.load_site import load_site
from expert.places import shipped
from expert.units.kinds import Kind
from expert.units.measure import Measure

ROUNDS = 60


def test_changed_added_and_removed_readings_come_to_what_a_fresh_one_says() -> None:
    rules = shipped_rules()
    site = load_site(shipped("checklists") / "demo" / "site.yaml", rules)
    subject = site.subjects["A4"]
    chance = random.Random(7)
    there = [
        each for each in rules.quantities.values()
        if not each.is_choice and each.kind is not Kind.TEXT and not each.given
        and each.subject in ("rack", "site", "circuit")
    ]  # fmt: skip
    picked = chance.sample(there, 60)

    def read(index: int) -> Reading:
        each = picked[index]
        if chance.random() < 0.1:
            return Reading(each.id, chance.choice(("low", "high")))
        middle = 300_000.0 if "pressure" in each.kind else 280.0
        return Reading(each.id, Measure(each.kind, middle * chance.uniform(0.5, 1.5), 1.0))

    readings = [read(index) for index in range(len(picked))]
    deriver, kept = Deriver(subject, rules.quantities), 0
    for _ in range(ROUNDS):
        what = chance.random()
        index = chance.randrange(len(readings))
        if what < 0.7:
            moved = read(picked.index(rules.quantities[readings[index].quantity]))
            readings[index] = replace(moved, text="again")
        elif what < 0.85 and len(readings) > 40:
            readings.pop(index)
        else:
            readings.append(read(chance.randrange(len(picked))))
        known, missing = deriver.derive(readings)
        fresh, lacking = derive(readings, subject, rules.quantities)
        assert known == fresh and list(known) == list(fresh) and missing == lacking
        kept += sum(each.derived for each in known.values())
    assert kept > ROUNDS  # something was derived at all
