"""What jobs were told and what the rules of now say, as tables."""

from __future__ import annotations

from collections.abc import Mapping

from expert.columns.figures_again import FiguresAgain
from expert.records.confirmed import NO_LOT
from expert.records.tables import Cell, PrintedTable

_SAYS = (
    "It was: outcomes that name this cause; told then: it had been told. Found now, first now: by "
    "the rules of now, from what was read then. Measured again: something was read after the "
    "change; gone: the cause is not found from that. Not so: outcomes that say it was told and was "
    "not the cause; still found: by the rules of now all the same. "
)


def tables_again(
    figures: FiguresAgain, titles: Mapping[str, str], rules: str
) -> tuple[PrintedTable, ...]:
    """What was told beside what is found, and outcomes under the rules of now.

    `titles` are those of causes by their ids, `rules` says which rules they are.
    """
    then, now = figures.told, figures.now
    told: list[tuple[Cell, ...]] = [
        (titles.get(cause, cause), words, then[cause, words], now[cause, words])
        for cause, words in sorted({*then, *now})
        if then[cause, words] != now[cause, words]
    ]
    turned_out: list[tuple[Cell, ...]] = [
        (
            titles.get(cause, cause), each.it_was, each.told_then, each.found_now, each.first_now,
            each.measured, each.gone, each.not_so, each.still_found,
        )
        for cause, each in sorted(
            figures.causes.items(), key=lambda one: (-one[1].it_was - one[1].not_so, one[0])
        )
    ]  # fmt: skip
    return (
        PrintedTable(
            "judged_again", "Told then, judged again",
            ("finding", "words", "told", "judged again"), tuple(told),
            f"Jobs that were told a finding in these words when they were finished, and jobs in "
            f"which {rules} says it. Jobs of an older form do not hold what they were told.",
        ),
        PrintedTable(
            "outcomes_again", "Outcomes, judged again",
            ("cause", "it was", "told then", "found now", "first now", "measured again", "gone",
             "not so", "still found"),
            tuple(turned_out), _SAYS + NO_LOT if turned_out else "",
        ),
    )  # fmt: skip
