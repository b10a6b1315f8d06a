"""What changed in knowledge between two rulebases, in words; and what a company pack changes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from expert.author.comparison.describe import Describer, Item, Words
from expert.inference.sentences import band_text, first_up
from expert.knowledge.model import Override, Rulebase
from expert.knowledge.pack_model import StepChange

KINDS = ("quantity", "limit", "sign", "cause", "rule", "caution", "gate")
PLURALS = {"quantity": "quantities", "cause": "causes"}


@dataclass(frozen=True)
class Difference:
    """One entry that was added, removed or changed; `lines` say what, field by field."""

    kind: str
    id: str
    what: str
    title: str
    lines: tuple[str, ...] = ()


def compare_rulebases(
    before: Rulebase, after: Rulebase, system: str = "us"
) -> tuple[Difference, ...]:
    """Every entry that is not the same in both, by kind and in the order of the files."""
    old, new = Describer(before, system), Describer(after, system)
    found: list[Difference] = []
    scales = old.certainty(before.certainty), new.certainty(after.certainty)
    if lines := tuple(_changes(*scales)):
        found.append(Difference("certainty", "", "changed", "scale of evidence", lines))
    for kind in KINDS:
        had, have = entries(before, kind), entries(after, kind)
        for name in dict.fromkeys((*had, *have)):
            if name not in have:
                found.append(Difference(kind, name, "removed", old.title(had[name])))
            elif name not in had:
                found.append(Difference(kind, name, "added", new.title(have[name])))
            elif lines := tuple(_changes(old.words(had[name]), new.words(have[name]))):
                title = _short_title(new, have[name])
                found.append(Difference(kind, name, "changed", title, lines))
    return tuple(found)


def entries(rulebase: Rulebase, kind: str) -> Mapping[str, Item]:
    """The entries of a kind by id."""
    found: dict[str, Mapping[str, Item]] = {
        "quantity": rulebase.quantities,
        "limit": {limit.id: limit for limit in rulebase.limits},
        "sign": rulebase.signs,
        "cause": rulebase.causes,
        "rule": rulebase.rules,
        "caution": rulebase.cautions,
        "gate": rulebase.gates,
    }
    return found[kind]


def difference_lines(differences: Iterable[Difference]) -> Iterator[str]:
    """Differences as plain lines."""
    for each in differences:
        named = f"{each.kind} {each.id}".strip()
        yield f"{named} {each.what}: {each.title}"
        yield from (f"    {line}" for line in each.lines)


def pack_lines(rulebase: Rulebase, folder: Path, system: str = "us") -> Iterator[str]:
    """What the pack of a folder changes in the pack that it lies over; nothing without one."""
    if rulebase.info.over is None:
        return
    tell = Describer(rulebase, system)
    below = f"{rulebase.info.over.name} {rulebase.info.over.version}"
    added = [
        (kind, item)
        for kind in KINDS
        for item in entries(rulebase, kind).values()
        if Path(item.place.path).is_relative_to(folder) and not _overridden(item, rulebase)
    ]
    if added:
        counts = {kind: sum(each == kind for each, _ in added) for kind in KINDS}
        counted = [f"{n} {_counted(kind, n)}" for kind, n in counts.items() if n]
        yield f"It adds to {below}: {', '.join(counted)}."
        yield from (f"- {kind} {item.id}: {tell.title(item)}" for kind, item in added)
    if rulebase.overrides:
        yield f"It judges by other numbers than {below}:"
        for override in rulebase.overrides:
            yield f"- {override_line(override, rulebase, system)}"
    if rulebase.switched_off:
        yield f"It switches off rules of {below}:"
        for off in rulebase.switched_off:
            yield f"- {off.rule.id}: {off.reason} ({off.author}, {off.date})"
    if rulebase.step_changes:
        yield "It changes checklists:"
        yield from (f"- {step_change_line(each)}" for each in rulebase.step_changes)
    if not (added or rulebase.overrides or rulebase.switched_off or rulebase.step_changes):
        yield f"It changes nothing in {below}."


def step_change_line(change: StepChange) -> str:
    """One change of a checklist, with reason, author and date."""
    count = len(change.steps)
    where = f"{'before' if change.before else 'after'} '{change.at}'"
    what = f"{count} step{'' if count == 1 else 's'} more {where}"
    if not count:
        what = f"step '{change.at}' is left out"
    return f"{change.checklist}: {what}. {change.reason} ({change.author}, {change.date})"


def override_line(override: Override, rulebase: Rulebase, system: str = "us") -> str:
    """One override with old and new numbers, reason, author and date."""
    tell = Describer(rulebase, system)
    quantity = rulebase.quantities[override.after.quantity]
    band = band_text(override.after, quantity, system)
    changes = [
        line
        for line in _changes(tell.words(override.before), tell.words(override.after))
        if not line.startswith(("source", "note", "normal"))
    ]
    old = band_text(override.before, quantity, system)
    band_change = f"normal {band}" if old == band else f"normal {band}, was {old}"
    return (
        f"{first_up(quantity.title)} ({override.after.id}): {'; '.join([band_change, *changes])}. "
        f"{override.reason} ({override.author}, {override.date}; {override.after.source})"
    )


def _changes(old: Words, new: Words) -> Iterator[str]:
    """The fields that differ, in words."""
    for name, now in new.items():
        was = old.get(name, "")
        if was == now:
            continue
        if isinstance(now, str) and isinstance(was, str):
            yield f"{name}: {now or 'none'}, was {was or 'none'}"
            continue
        yield from _listed(name, tuple(was), tuple(now))


def _listed(name: str, was: tuple[str, ...], now: tuple[str, ...]) -> Iterator[str]:
    gone = [each for each in was if each not in now]
    come = [each for each in now if each not in was]
    yield from (f"{name}, no longer: {each}" for each in gone)
    yield from (f"{name}, new: {each}" for each in come)
    if not (gone or come):
        yield f"{name}: in another order"


def _short_title(tell: Describer, item: Item) -> str:
    title = tell.title(item)
    return title if len(title) <= 90 else f"{title[:87].rsplit(' ', 1)[0]} ..."


def _overridden(item: Item, rulebase: Rulebase) -> bool:
    return any(
        item.id == override.after.id and item.place == override.place
        for override in rulebase.overrides
    )


def _counted(kind: str, number: int) -> str:
    if number == 1:
        return kind
    return PLURALS.get(kind, f"{kind}s")
