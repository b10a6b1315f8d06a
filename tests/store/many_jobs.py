"""Years of invented jobs for benchmarks and tests of what reads many of them.

`many_jobs(count)` gives (job, entries) pairs, `fill(store, count)` keeps them in a store. They
are whole recorded jobs (`recorded.py`) moved in time, place and value: several crews, twelve
stores, all alike circuits, over two years, with corrections, skips with reasons, notes, breaks,
refrigerant added, and a few that were never finished. The same seed gives the same jobs.

    python tests/store/many_jobs.py FOLDER 10000
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path[1:1] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from recorded import RecordedJob, recorded, site_text  # noqa: E402

from expert.knowledge.model import Rulebase  # noqa: E402
from expert.procedure.entries import Entry  # noqa: E402
from expert.procedure.history import OpenItem, item_data  # noqa: E402
from expert.store.job_row import Job  # noqa: E402
from expert.store.jobs import JobStore  # noqa: E402
from expert.units.kinds import Kind  # noqa: E402
from expert.units.measure import format_value  # noqa: E402

SEED = 20261125
LAST_DAY = datetime(2026, 11, 20, tzinfo=UTC)
DAYS = 730
ADDED = "refrigerant_added_today"
POUND = 0.45359237  # kg, by definition
# Invented names, stores and habits, all of them.
CREWS = (
    ("R. Alder", "T. Birch", "N. Cedar"), ("M. Dogwood", "K. Elm"),
    ("S. Fir", "J. Gum", "P. Hazel"), ("L. Ironwood", "V. Juniper"),
)  # fmt: skip
STORES = tuple(
    f"{tree} {place} Market (invented)"
    for tree in ("Tamarack", "Larch", "Sumac", "Osier")
    for place in ("Hollow", "Bend", "Ridge")
)
REASONS = (
    "panel behind stacked stock (invented)", "no ladder on the van (invented)",
    "store asked to wait until closing (invented)",
)  # fmt: skip
NOTES = ("door gasket torn, told the manager (invented)", "roof hatch sticks (invented)")


def many_jobs(
    count: int, seed: int = SEED, every: int = 1
) -> Iterator[tuple[Job, tuple[Entry, ...]]]:
    """So many jobs in the order of their days, each with its entries."""
    rules, models = recorded(every)
    chance = random.Random(seed)
    text = site_text()
    for number in range(count):
        day = LAST_DAY - timedelta(days=DAYS * (count - 1 - number) / count)
        began = day.replace(hour=chance.randrange(11, 22), minute=chance.randrange(60))
        store = chance.choice(STORES)
        who = chance.choice(CREWS[STORES.index(store) % len(CREWS)])
        model = chance.choice(models)
        entries = _MovedJob(rules, model, began, who, chance).entries()
        finished = entries[-1].at if chance.random() > 0.04 else None
        subject = chance.choice(model.alike)
        if finished and chance.random() < 0.3:
            entries = (*entries, _left(rules, subject, entries[-1], chance))
        if finished is None:
            entries = entries[: max(len(entries) // 2, 1)]
        job = Job(
            checklist=model.checklist.id, checklist_revision=model.checklist.revision,
            checklist_hash=model.checklist.hash, rulebase=rules.info.name,
            rulebase_version=rules.info.version, rulebase_hash=rules.info.hash, site=store,
            site_text=text.replace("Tamarack Hollow Market (invented)", store),
            subject=subject, units=chance.choice(("us", "us", "us", "si")),
            who=who, created=began, finished=finished,
        )  # fmt: skip
        yield job, entries


def fill(store: JobStore, count: int, seed: int = SEED, every: int = 1) -> int:
    """Keep so many jobs in a store; gives the number of entries."""
    return store.add_all(many_jobs(count, seed, every))


def _left(rules: Rulebase, subject: str, last: Entry, chance: random.Random) -> Entry:
    """What a job leaves open: one or two causes, whichever they may be."""
    causes = chance.sample(sorted(rules.causes.values(), key=lambda each: each.id), 2)
    items = [
        OpenItem(f"finding:{subject}:{each.id}", "finding", subject, f"{each.title}, likely")
        for each in causes[: chance.choice((1, 1, 2))]
    ]
    data = {"items": [item_data(item) for item in items]}
    return Entry(last.seq + 1, last.at, "left", "", data)


class _MovedJob:
    """A recorded job at another time, by another person, with other values."""

    def __init__(
        self, rules: Rulebase, model: RecordedJob, began: datetime, who: str, chance: random.Random
    ) -> None:
        self.rules, self.model, self.who, self.chance = rules, model, who, chance
        self.shift = began - model.entries[0].at
        self.made: list[Entry] = []

    def entries(self) -> tuple[Entry, ...]:
        """Numbered again, for corrections and breaks come in between."""
        for entry in self.model.entries:
            self._one(entry)
            if self.chance.random() < 0.004:
                self.made += [self._late(entry, "stop", {}), self._late(entry, "resume", {})]
            if self.chance.random() < 0.005:
                note: dict[str, object] = {"text": self.chance.choice(NOTES)}
                self.made.append(replace(self._late(entry, "note", note), step=entry.step))
        return tuple(replace(entry, seq=seq) for seq, entry in enumerate(self.made, 1))

    def _late(self, entry: Entry, kind: str, data: dict[str, object]) -> Entry:
        return Entry(0, entry.at + self.shift, kind, "", data)

    def _one(self, entry: Entry) -> None:
        data = dict(entry.data)
        for name in ("taken", "started"):
            if (at := entry.time(name)) is not None:
                data[name] = (at + self.shift).isoformat()
        if entry.kind == "sign":
            data["name"] = self.who
        moved = replace(entry, at=entry.at + self.shift, data=data)
        measured = entry.kind == "answer" and isinstance(data.get("value"), float)
        if not measured:
            self.made.append(moved)
            return
        single = not data.get("sample")
        if single and data["quantity"] != ADDED and self.chance.random() < 0.006:
            reason = {"reason": self.chance.choice(REASONS)}
            self.made.append(replace(moved, kind="skip", data=reason))
            return
        if single and self.chance.random() < 0.01:  # a slip, put right at once
            slip = float(str(data["value"])) * 1.1
            self.made.append(self._with(moved, slip))
            self.made.append(replace(moved, kind="reopen", data={}))
        self.made.append(self._with(moved, self._value(entry)))

    def _value(self, entry: Entry) -> float:
        value, spread = float(str(entry.data["value"])), entry.data.get("plus_minus")
        if entry.data["quantity"] == ADDED:
            low = self.chance.random() < 0.4
            return 0.0 if low else min(self.chance.lognormvariate(3.2, 0.9), 400.0) * POUND
        wide = float(spread) if isinstance(spread, int | float) and spread else 0.01 * abs(value)
        moved = self.chance.gauss(value, wide)
        quantity = self.rules.quantities[str(entry.data["quantity"])]
        low_edge, high_edge = quantity.refuse_below, quantity.refuse_above
        within = (low_edge is None or moved >= low_edge) and (
            high_edge is None or moved <= high_edge
        )
        return moved if within else value

    def _with(self, entry: Entry, value: float) -> Entry:
        text = format_value(Kind(entry.text("kind")), value)
        return replace(entry, data={**entry.data, "value": value, "text": text})


if __name__ == "__main__":
    with JobStore(Path(sys.argv[1]) / "jobs.db") as opened:
        sys.stdout.write(f"{fill(opened, int(sys.argv[2]))} entries\n")
