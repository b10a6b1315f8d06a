"""The proof of the shipped rules has no hole: nothing untried, nothing in one another's way.

What is left as it is on purpose is explained in the rulebase; an explanation that explains
nothing any more is a failure too. `.ci/run` asks both of the command at every change, so in an
ordinary run they are not asked a second time.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from budget import at_night

from expert.author.analysis.conflicts import analyse
from expert.author.coverage.explained import waive
from expert.cli.frame.main import main
from expert.knowledge.model import Rulebase

SCENARIOS = Path(__file__).parents[1] / "scenarios"


def reasons(base: Rulebase, section: str) -> dict[str, str]:
    return {each.what: each.why for each in base.explained if each.section == section}


@at_night
def test_every_condition_and_edge_is_tried_or_explained(
    capsys: pytest.CaptureFixture[str],
) -> None:
    code = main(
        ["rules", "coverage", "--scenarios", str(SCENARIOS), "--threshold", "100", "--json"]
    )
    told = json.loads(capsys.readouterr().out)
    assert [gap["id"] for gap in told["gaps"]] == []
    assert told["explains_nothing"] == []
    assert code == 0
    assert told["figures"]["condition"]["of"] > 5000


@at_night
def test_what_the_analysis_says_is_explained(shipped_rulebase: Rulebase) -> None:
    remarks = analyse(shipped_rulebase, witnesses=False)
    why = reasons(shipped_rulebase, "analysis")
    left, excused, idle = waive(remarks, lambda each: each.id, why)
    assert [str(remark) for remark in left] == []
    assert idle == ()
    assert len(excused) >= len(why) > 0


def test_a_reason_says_more_than_a_word(shipped_rulebase: Rulebase) -> None:
    assert [each.what for each in shipped_rulebase.explained if len(each.why.split()) < 5] == []
