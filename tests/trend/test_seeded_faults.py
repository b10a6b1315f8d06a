"""Faults put into a simulated log are found, healthy circuits are left alone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shipped_knowledge import shipped_rules

from expert.inference.evaluation_model import each_finding
from expert.knowledge.load_site import load_site
from expert.trend.judge_log import CircuitTrend, analyse, circuits_in
from expert.trend.table import read_table
from tests.trend.simulate import EXPECTED, write


@pytest.fixture(scope="module")
def seeded(tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, dict[str, CircuitTrend]]:
    """Fourteen days of fourteen circuits with the change to summer time: truth and trends."""
    folder = tmp_path_factory.mktemp("log")
    write(folder, days=14, circuits=14, seed=2)
    rules = shipped_rules()
    site = load_site(folder / "site.yaml", rules)
    assert site.log is not None
    table = read_table(folder / "log.csv", site.log, rules.quantities)
    trends = analyse(table, site, rules, circuits_in(site, table), backend="plain")
    truth = json.loads(Path(folder / "truth.json").read_text())
    return truth, {trend.subject.id: trend for trend in trends}


def found(trend: CircuitTrend) -> set[str]:
    assert trend.evaluation is not None
    return {each.cause.id for each in each_finding(trend.evaluation.findings)}


@pytest.mark.parametrize("fault", EXPECTED)
def test_a_seeded_fault_is_found(seeded: Any, fault: str) -> None:
    truth, trends = seeded
    (subject,) = (each for each, told in truth.items() if told["fault"] == fault)
    assert EXPECTED[fault] in found(trends[subject])


def test_a_healthy_circuit_has_no_finding(seeded: Any) -> None:
    truth, trends = seeded
    healthy = [each for each, told in truth.items() if not told["fault"]]
    assert {trends[each].subject.facts["defrost"] for each in healthy} == {
        "hot gas", "electric", "off cycle",
    }  # fmt: skip
    assert {each: found(trends[each]) for each in healthy} == {each: set() for each in healthy}


def test_the_times_found_are_those_that_were_simulated(seeded: Any) -> None:
    truth, trends = seeded
    off: dict[str, list[float]] = {"start": [], "end": [], "cooling": []}
    for subject, trend in trends.items():
        true = np.array(truth[subject]["defrosts"], float)
        assert abs(len(trend.defrosts) - len(true)) <= 2, subject
        for each in trend.defrosts:
            if each.judged and each.heated and trend.subject.facts["defrost"] == "hot gas":
                nearest = true[np.abs(true[:, 0] - each.start).argmin()]
                for name, right in zip(off, nearest, strict=True):
                    if (value := getattr(each, name)) is not None:
                        off[name].append(abs(value - right) / 60)
    for name, values in off.items():
        assert np.percentile(values, 95) < 1.5, name
        assert len(values) > 200, name


def test_a_gap_makes_a_defrost_not_judged(seeded: Any) -> None:
    _, trends = seeded
    spoilt = [d for trend in trends.values() for d in trend.defrosts if not d.judged]
    assert spoilt
    assert {each.why_not for each in spoilt} == {"gap in the log"}
    assert all(each.recovery is None and each.ended_by == "unknown" for each in spoilt)
