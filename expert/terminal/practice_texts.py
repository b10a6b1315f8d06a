"""What an exercise says at its end: what it was, what showed it, the ways, the cost, the tool."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Quantity
from expert.knowledge.where import SPOTS
from expert.practice.attempt import Attempt
from expert.practice.looking_back import (
    PointJudged,
    WayFound,
    enough_of,
    points,
    product_over,
    readings_of_plant,
    shortest_way,
    showed,
)
from expert.practice.opening import RACK, call_of, circuit_name
from expert.practice.setting_model import PlantAction
from expert.procedure.entries import Entry
from expert.terminal.layout import Layout
from expert.units.kinds import Kind
from expert.units.measure import format_value

SEVERITY = ((0.34, "just visible"), (0.67, "middle"), (1.01, "gross"))
_POINTS = 12
_LEAST = 0.5  # K of product that is worth a word


def clock_text(attempt: Attempt) -> str:
    """The time of day in the exercise."""
    return f"{attempt.now.astimezone():%H:%M}"


def minutes_text(minutes: float) -> str:
    """'7 min', '1 h 20 min'."""
    whole = round(minutes)
    return f"{whole} min" if whole < 60 else f"{whole // 60} h {whole % 60:02d} min"


def opening_lines(attempt: Attempt, layout: Layout) -> list[str]:
    """Which exercise it is, what one looks after, what is on its papers, and the call."""
    plant, own = attempt.plant, attempt.exercise
    lines = layout.text(f"Exercise {own.id}: {own.title} ({own.level}).")
    lines += layout.text("A plant of the model; store and figures are invented.")
    where = f"circuit {circuit_name(plant)}, {plant.case_type}, on rack {RACK}"
    lines += layout.named("You look after", f"{where}; compressor {plant.machine + 1}.")
    kind = f"{plant.application}, {plant.refrigerant}, defrost {plant.defrost}"
    lines += layout.named("The plant", ", ".join((kind, *plant.has)) + ".")
    return lines + layout.named("The call", call_of(attempt))


def caution_lines(caution: Caution, layout: Layout) -> list[str]:
    """A caution that a reading or an action needs, with what it asks."""
    lines = layout.named("Caution", caution.title)
    for each in caution.say:
        lines += layout.listed("-", each, 2)
    return lines + layout.text(caution.ask)


def cost_lines(attempt: Attempt, entry: Entry, layout: Layout) -> list[str]:
    """The minutes of an entry, the time of day then, and where one stands."""
    minutes = minutes_text(float(str(entry.data.get("minutes", 0))))
    return layout.text(f"{minutes}, now {clock_text(attempt)}, {attempt.spot}", 2)


def done_lines(
    attempt: Attempt, action: PlantAction, entry: Entry, layout: Layout, *, moved: bool
) -> list[str]:
    """What an action came to; `moved`: whether anything on the plant changed by it."""
    amount = entry.text("amount")
    lines = layout.named("Done", f"{action.title}{f', {amount}' if amount else ''}")
    lines += cost_lines(attempt, entry, layout)
    if why := entry.text("unproven"):
        lines += layout.named("Not yet shown", why, 2)
    if moved:
        lines += layout.text("Something changed. Read again what you go by.", 2)
    elif action.repairs:
        lines += layout.text("Nothing was found wrong there.", 2)
    return lines


def stopped_lines(attempt: Attempt, layout: Layout) -> list[str]:
    """That a dangerous action ended it, and why."""
    told = "THE EXERCISE STOPS HERE: somebody could have been hurt."
    return ["", *layout.text(told), *layout.text(attempt.stopped)]


def by_place(
    told: Sequence[tuple[str, str, int]], what: str, wanted: str, layout: Layout
) -> list[str]:
    """Titles with their place and minutes, one a line; how many are where if none is wanted."""
    if not wanted:
        places = Counter(spot for _, spot, _ in told)
        counted = ", ".join(f"{spot} {places[spot]}" for spot in SPOTS if places[spot])
        lines = layout.text(f"{len(told)} {what}: {counted}.")
        return lines + layout.text(f"'{what} {SPOTS[0]}' lists those; so does a word of a name.")
    lines = []
    for title, spot, minutes in told:
        where = "" if wanted == spot else f"{spot}, "
        lines += layout.listed("-", f"{title} ({where}{minutes} min)")
    return lines or layout.text(f"No {what} with that word.")


def look_back(attempt: Attempt, layout: Layout) -> list[str]:
    """The review of an attempt that is over."""
    judged = points(attempt)
    lines = ["", *layout.text("LOOKING BACK")]
    lines += _what_it_was(attempt, layout)
    lines += _what_showed(attempt, judged, layout)
    lines += _ways(attempt, layout)
    lines += _cost(attempt, layout)
    lines += _safety(attempt, layout)
    lines += _tool(attempt, judged, layout)
    if attempt.exercise.teaches:
        lines += layout.named("What it teaches", attempt.exercise.teaches)
    return lines


def _what_it_was(a: Attempt, layout: Layout) -> list[str]:
    lines: list[str] = []
    cured = a.cured()
    for name, severity in zip(a.exercise.faults, a.exercise.severities, strict=True):
        cause = a.rulebase.causes[name]
        word = next(said for most, said in SEVERITY if severity < most)
        where = (
            f"circuit {circuit_name(a.plant)}"
            if cause.subject in ("circuit", "case")
            else (
                f"compressor {a.plant.machine + 1}" if cause.subject == "compressor" else "rack A"
            )
        )
        lines += layout.named("It was", f"{cause.title} ({word}), {where}.")
        lines += layout.text(cause.text, 2)
        lines += layout.text("It is put right." if name in cured else "It is still there.", 2)
    said = [a.rulebase.causes[each].title for each in a.named]
    right = [each for each in a.named if each in a.right]
    verdict = "right" if right else "not it" if said else "nothing"
    lines += layout.named("You said", f"{'; '.join(said)}: {verdict}." if said else "nothing.")
    harm = len(cured) == len(a.exercise.faults) and a.plant.odd()
    if harm:
        lines += layout.text("Something else now reads otherwise than it did in order.", 2)
    return lines


def _what_showed(a: Attempt, judged: tuple[PointJudged, ...], layout: Layout) -> list[str]:
    found = showed(a)
    lines = layout.text(
        "What you read that a plant in order would not show:"
        if found
        else "Nothing that you read was otherwise than of a plant in order."
    )
    for quantity, text in found:
        lines += layout.listed("-", f"{quantity.title}: {text}", 2)
    first = next((each for each in judged if each.right), None)
    if first is None:
        return lines + layout.text("From what you read the tool could not put it first.")
    number = judged.index(first) + 1
    name = a.rulebase.quantities[first.entry.text("quantity")].title
    told = f"with reading {number} of {len(judged)} ({name})"
    return lines + layout.named("It could first be known", f"{told}: {first.words}.")


def _ways(a: Attempt, layout: Layout) -> list[str]:
    enough, way = enough_of(a), shortest_way(a, readings_of_plant(a))
    lines = layout.named("Enough of yours", _listed(enough)) if enough else []
    return lines + layout.named("From the call the tool goes", _way(way))


def _way(way: WayFound) -> str:
    ends = f"{minutes_text(way.minutes)}, {'and finds it' if way.found else 'and does not find it'}"
    return f"{_listed(way.readings)} ({ends})"


def _listed(readings: tuple[Quantity, ...]) -> str:
    return "; ".join(each.title for each in readings) or "no reading"


def _cost(a: Attempt, layout: Layout) -> list[str]:
    told = [f"{minutes_text(a.minutes)} with ways and work", f"{len(a.read_at)} readings"]
    if a.parts:
        told.append(f"{a.parts} part{'s' if a.parts > 1 else ''}")
    if abs(a.charged) > 1e-6:
        way = "put in" if a.charged > 0 else "taken out"
        told.append(f"{format_value(Kind.MASS, abs(a.charged), a.units)} of refrigerant {way}")
    hints = sum(each.kind == "hint" for each in a.entries)
    if hints:
        told.append(f"the tool was asked {hints} time{'s' if hints > 1 else ''}")
    lines = layout.named("Cost", f"{', '.join(told)}.")
    over = product_over(a)
    if over is not None and over[0] > _LEAST:
        at_call, left = (format_value(Kind.TEMPERATURE_DIFFERENCE, each, a.units) for each in over)
        told_of = f"{at_call} over its usual at the call, {left} at the end (estimated)"
        lines += layout.named("Product", f"{told_of}.")
    return lines


def _safety(a: Attempt, layout: Layout) -> list[str]:
    if a.stopped:
        return layout.named("Safety", f"stopped. {a.stopped}")
    unproven = dict.fromkeys(a.unproven)
    told = [f"done before it was shown to be right: {each}" for each in unproven]
    told += [f"left so: {a.setting.actions[name].title}" for name in sorted(a.holds)
             if any(name in each.ends for each in a.setting.actions.values())]  # fmt: skip
    lines = layout.named("Safety", "nothing dangerous was done.")
    for each in told:
        lines += layout.listed("-", each, 2)
    return lines


def _tool(a: Attempt, judged: tuple[PointJudged, ...], layout: Layout) -> list[str]:
    lines = layout.text("What the tool held to lead after each reading:") if judged else []
    last = ""
    shown = 0
    for number, each in enumerate(judged, 1):
        now = f"{each.title}: {each.words}" if each.title else "nothing yet"
        if now == last:
            continue
        last, shown = now, shown + 1
        if shown > _POINTS:
            return lines + layout.text("and so on", 2)
        name = a.rulebase.quantities[each.entry.text("quantity")].title
        mark = " (right)" if each.right else ""
        lines += layout.listed(f"{number}", f"{name} -> {now}{mark}", 2)
    return lines
