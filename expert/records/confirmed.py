"""How often outcomes confirmed what was told: by word of certainty, by cause, by rule."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from expert.records.record_roles import SourcedCount
from expert.records.statistics import share_interval
from expert.records.tables import Cell, PrintedTable
from expert.report.outcomes import CONFIRMED, NOT_KNOWN, TurnedOut

_HEADS = ("told", "confirmed", "share", "from", "to")
_UNITS = ("", "", "%", "%", "%")
NO_LOT = (
    "Outcomes are not entered by lot: what was easy to see is entered more often, so a share is a "
    "reason to look and no proof."
)
_SAYS = (
    "Outcomes that somebody entered; those not known do not count. From and to: 95 % interval of "
    f"the share (Wilson). {NO_LOT}"
)
NOTHING = "nothing was found"


@dataclass(frozen=True)
class ProposedStrength:
    """Another strength that outcomes speak for; `right` says of each whether it confirmed."""

    rule: str
    cause: str
    now: str
    fits: str
    right: tuple[bool, ...]


@dataclass(frozen=True)
class Tried:
    """What some cases say with a proposed strength: how many keep the first cause, and how many
    come out as they should, now and then. `cases` says which they are.
    """

    proposed: ProposedStrength
    cases: str
    judged: int
    other_first: int
    right_now: int
    right_then: int


def outcome_tables(
    outcomes: Iterable[TurnedOut],
    proposed: Sequence[ProposedStrength],
    fewest: SourcedCount,
    tried: Sequence[Tried] | None = None,
) -> tuple[PrintedTable, ...]:
    """Every table of outcomes. `tried` says what cases would say under what is proposed, where
    that was asked for.
    """
    known = [each for each in outcomes if each.answer != NOT_KNOWN]
    told = _of_a_cause(known)
    return (
        _shares("outcomes_by_word", "Confirmed, by word of certainty", "word", _by_word(told)),
        _shares("outcomes_by_cause", "Confirmed, by cause", "cause", _by_cause(told)),
        _confused(known),
        _shares("outcomes_by_rule", "Confirmed, by rule that spoke", "rule", _by_rule(told)),
        _proposals(proposed, fewest),
        *([] if tried is None else [_tried(tried)]),
    )


def _of_a_cause(outcomes: Iterable[TurnedOut]) -> list[TurnedOut]:
    return [each for each in outcomes if each.cause and each.answer != NOT_KNOWN]


def _by_word(told: Iterable[TurnedOut]) -> Mapping[str, list[bool]]:
    found: dict[str, list[bool]] = defaultdict(list)
    for each in told:
        found[each.words].append(each.answer == CONFIRMED)
    return found


def _by_cause(told: Iterable[TurnedOut]) -> Mapping[str, list[bool]]:
    found: dict[str, list[bool]] = defaultdict(list)
    for each in told:
        found[each.title].append(each.answer == CONFIRMED)
    return found


def _by_rule(told: Iterable[TurnedOut]) -> Mapping[str, list[bool]]:
    """Rules by how often they spoke for what turned out wrong."""
    found: dict[str, list[bool]] = defaultdict(list)
    for each in told:
        for rule in each.rules:
            found[rule].append(each.answer == CONFIRMED)
    return dict(sorted(found.items(), key=lambda each: (sum(each[1]) - len(each[1]), each[0])))


def _share(right: Sequence[bool]) -> tuple[Cell, ...]:
    count, of = sum(right), len(right)
    low, high = share_interval(count, of) or (0.0, 1.0)
    return of, count, round(100 * count / of), round(100 * low), round(100 * high)


def _shares(name: str, title: str, head: str, groups: Mapping[str, list[bool]]) -> PrintedTable:
    rows = tuple((group, *_share(right)) for group, right in groups.items())
    return PrintedTable(name, title, (head, *_HEADS), rows, _SAYS if rows else "", ("", *_UNITS))


def _confused(known: Iterable[TurnedOut]) -> PrintedTable:
    counted: dict[tuple[str, str], int] = defaultdict(int)
    for each in known:
        if each.answer != CONFIRMED:
            counted[each.title or NOTHING, each.actual_title or "not said"] += 1
    rows = sorted(counted.items(), key=lambda each: (-each[1], each[0]))
    return PrintedTable(
        "outcomes_confused", "Missed or confused", ("told", "it was", "jobs"),
        tuple((*pair, count) for pair, count in rows),
    )  # fmt: skip


def proposed_strengths(
    outcomes: Iterable[TurnedOut],
    strengths: Mapping[str, float],
    fewest: SourcedCount,
    spoken: Mapping[tuple[str, str], str],
) -> tuple[ProposedStrength, ...]:
    """Strengths that outcomes speak for, where they are enough; nothing is changed by it.

    `strengths` are the named strengths of evidence (0 to 1), `spoken` the one with which a rule
    now speaks for a cause.
    """
    groups: dict[tuple[str, str], list[bool]] = defaultdict(list)
    for each in _of_a_cause(outcomes):
        if len(each.rules) == 1:  # of several rules none can be told apart
            groups[each.rules[0], each.cause].append(each.answer == CONFIRMED)
    found = []
    for (rule, cause), right in sorted(groups.items()):
        now = spoken.get((rule, cause), "")
        interval = share_interval(sum(right), len(right))
        if len(right) < fewest.value or interval is None or now not in strengths:
            continue
        low, high = interval
        if low <= strengths[now] <= high:
            continue
        share = sum(right) / len(right)
        other = min(strengths, key=lambda name: abs(strengths[name] - share))
        if other != now:
            found.append(ProposedStrength(rule, cause, now, other, tuple(right)))
    return tuple(found)


def _proposals(proposed: Iterable[ProposedStrength], fewest: SourcedCount) -> PrintedTable:
    return PrintedTable(
        "outcomes_proposals", "Strengths that outcomes speak for",
        ("rule", "cause", "strength now", "would fit", *_HEADS),
        tuple((each.rule, each.cause, each.now, each.fits, *_share(each.right))
              for each in proposed),
        f"Only where one rule alone spoke, in {fewest.value} outcomes or more ({fewest.source}), "
        "and the strength lies outside of the interval. Nothing is changed by this: "
        "'--try-strengths' says what cases and plants would then say; then try it in a pack.",
        ("", "", "", "", *_UNITS),
    )  # fmt: skip


def _tried(tried: Iterable[Tried]) -> PrintedTable:
    return PrintedTable(
        "outcomes_tried", "What cases and plants would say with these strengths",
        ("rule", "cause", "now", "then", "of", "judged", "same first", "other first",
         "right now", "right then"),
        tuple(
            (each.proposed.rule, each.proposed.cause, each.proposed.now, each.proposed.fits,
             each.cases, each.judged, each.judged - each.other_first, each.other_first,
             each.right_now, each.right_then)
            for each in tried
        ),
        "Each strength alone. Right: a case comes out as its file says; of a plant of the model "
        "the fault that was put in is first, of one in order nothing is found.",
    )  # fmt: skip
