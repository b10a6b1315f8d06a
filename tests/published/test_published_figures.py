"""Published cases with every printed reading and nothing else: how often the right cause leads."""

from __future__ import annotations

import pytest

from expert.knowledge.model import Rulebase
from published.published_figures import (
    FOLDER,
    Published,
    all_ranked,
    findings_of,
    ranked,
    read_cases,
    shows_nothing,
)

CASES = {path.stem: read_cases(path) for path in sorted(FOLDER.glob("*.yaml"))}
ALL = [case for cases in CASES.values() for case in cases]


def test_of_refrigeration_plants_eight_of_ten_are_first_and_nearly_all_in_three(
    shipped_rulebase: Rulebase,
) -> None:
    told = all_ranked(CASES["refrigeration"], shipped_rulebase)
    assert len(told) >= 35
    missed = [(each.id, each.led) for each in told if each.first < 1]
    assert sum(each.first for each in told) >= 0.8 * len(told), missed
    assert sum(each.in_three for each in told) >= 0.95 * len(told), missed


def test_a_laboratory_machine_at_its_smallest_fault_gets_no_wrong_word(
    shipped_rulebase: Rulebase,
) -> None:
    """What is too small for the readings is left open; nothing is told that is not so."""
    told = all_ranked(CASES["laboratory-chiller"], shipped_rulebase)
    assert not [each for each in told if each.found and not each.first]
    silent = [case for case in CASES["laboratory-chiller"] if not case.right]
    assert len(silent) >= 4  # short condenser water has a cause of its own now
    assert not [case.id for case in silent if findings_of(case, shipped_rulebase)]


def test_of_machines_that_it_is_not_made_for_most_come_out(shipped_rulebase: Rulebase) -> None:
    told = all_ranked(CASES["air-conditioners"], shipped_rulebase)
    assert len(told) >= 16
    missed = [(each.id, each.led) for each in told if each.first < 1]
    assert sum(each.first for each in told) >= 0.8 * len(told), missed
    assert sum(each.in_three for each in told) >= 0.9 * len(told), missed


def test_what_no_reading_shows_is_told_from_what_one_does(shipped_rulebase: Rulebase) -> None:
    """An approach 0.3 F up lies within its plus/minus, one 0.4 F up does not."""
    chillers = {case.id: case for case in CASES["laboratory-chiller"]}
    readings = dict(chillers["fwc10-low-load-cool"].given["readings"])  # type: ignore[call-overload]
    assert shows_nothing(chillers["fwc10-low-load-cool"], shipped_rulebase)
    assert not shows_nothing(chillers["rl10-mid-load"], shipped_rulebase)
    readings["condenser_approach_above_record"] = "0.4 F"
    changed = {**chillers["fwc10-low-load-cool"].given, "readings": readings}
    shown = Published("shown", "published: none, a test", frozenset({"slow-leak"}), changed)
    assert not shows_nothing(shown, shipped_rulebase)


def test_without_a_record_nothing_is_called_hidden(shipped_rulebase: Rulebase) -> None:
    assert not [case.id for case in CASES["refrigeration"] if shows_nothing(case, shipped_rulebase)]


@pytest.mark.parametrize("case", ALL, ids=lambda case: str(case.id))
def test_a_case_has_its_source_and_causes_that_are_there(
    case: Published, shipped_rulebase: Rulebase
) -> None:
    assert case.source.startswith("published: ")
    assert case.right <= set(shipped_rulebase.causes)
    assert not set(case.added) & set(dict(case.given["readings"]))  # type: ignore[call-overload]


def test_a_tie_counts_as_its_share(shipped_rulebase: Rulebase) -> None:
    given = {
        "application": "medium temperature",
        "readings": {
            "outdoor_temperature": "80 F",
            "condenser_temperature_difference": "30 F",
            "condenser_subcooling": "18 F",
        },
    }
    case = Published(
        "tie", "published: none, a test of the count", frozenset({"non-condensables"}), given
    )
    told = ranked(case, findings_of(case, shipped_rulebase))
    assert told.first == 0.5
    assert told.in_three
