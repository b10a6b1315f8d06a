"""Strengths that outcomes speak for, tried on whole cases and on plants of the model."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from expert.author.proposals.other_strengths import OtherStrength, tried
from expert.author.scenarios.from_plants import SEED, plant_scenarios
from expert.author.scenarios.read import load_scenarios
from expert.errors import UsageError
from expert.knowledge.model import Rulebase
from expert.knowledge.pack_files import case_folders
from expert.records.confirmed import ProposedStrength, Tried


def try_strengths(
    proposed: Sequence[ProposedStrength], rules: Rulebase, options: argparse.Namespace
) -> tuple[Tried, ...]:
    """What the cases and the plants would say with each, one row a kind of case.

    Raises UsageError for a folder or number that cannot be meant, PackError for wrong cases.
    """
    if options.plants < 0:
        raise UsageError("--plants is a number of plants, zero or more.")
    folders = [options.scenarios] if options.scenarios else case_folders(options.rulebase)
    files = [each for folder in folders for each in load_scenarios(folder, rules)]
    if sys.stderr.isatty():
        sys.stderr.write(
            f"{len(files)} cases and {options.plants} plants are judged; it takes a while.\n"
        )
    causes = tuple(dict.fromkeys(each.cause for each in proposed))
    plants = tuple(plant_scenarios(rules, options.plants, causes)) if options.plants else ()
    others = [OtherStrength(each.rule, each.cause, each.fits) for each in proposed]
    rows: list[Tried] = []
    for which, cases in (("cases", files), (f"plants, seed {SEED}", plants)):
        effects = tried(others, cases, rules) if cases else ()
        rows += [
            Tried(each, which, effect.judged, len(effect.moved), effect.right_before,
                  effect.right_after)
            for each, effect in zip(proposed, effects, strict=bool(cases))
        ]  # fmt: skip
    return tuple(sorted(rows, key=lambda row: (row.proposed.rule, row.proposed.cause)))
