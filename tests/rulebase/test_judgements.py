"""What is said to a handful of readings, and what is asked next: see judgements.yaml."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, each_finding
from expert.inference.subject_file import subject_of
from expert.inference.waiting import Waiting
from expert.knowledge.model import Rulebase
from expert.knowledge.yaml_nodes import parse_yaml
from expert.units.kinds import Kind
from expert.units.measure import Measure
from expert.units.parse import parse_measure

FILE = Path(__file__).parent / "judgements.yaml"
# words stay words, so that yes and no are not made true and false
LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
CASES = yaml.load(FILE.read_text(encoding="utf-8"), Loader=LOADER)
EXPECTED = (
    "what", "leads", "first", "not first", "found", "not found", "asks", "asks not", "could ask",
    "below", "above",
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case["what"]))
def test_what_is_said(case: dict[str, object], shipped_rulebase: Rulebase) -> None:
    given = {name: value for name, value in case.items() if name not in EXPECTED}
    text = yaml.safe_dump(given, sort_keys=False)
    file = subject_of(parse_yaml(text, FILE), FILE, shipped_rulebase)
    evaluator = Evaluator(shipped_rulebase, file.subject, backend="plain")
    told = evaluator.evaluate(file.readings)
    names = [each.cause.id for each in each_finding(told.findings)]
    first = leading(told)
    asked = {each.quantity.id for each in told.measure_next}
    want = {name: set(case[name]) for name in EXPECTED if isinstance(case.get(name), list)}
    if "first" in case:
        assert first and first <= want["first"], names
    if "leads" in case:
        assert names[0] == case["leads"], names
    assert not first & want.get("not first", set()), names
    assert want.get("found", set()) <= set(names), names
    assert not set(names) & want.get("not found", set()), names
    assert not want.get("asks") or asked & want["asks"], asked
    assert not asked & want.get("asks not", set()), asked
    if "could ask" in case:
        assert want["could ask"] <= waited_for(evaluator, file.readings)
    for side in ("below", "above"):
        for name, edge in dict(case.get(side) or {}).items():  # type: ignore[call-overload]
            value = told.known[name].value
            assert isinstance(value, Measure)
            limit = parse_measure(edge, Kind.TEMPERATURE_DIFFERENCE).value
            assert (value.value < limit) == (side == "below"), value


def leading(told: Evaluation) -> set[str]:
    """The causes that lead, all where they tie."""
    top = told.findings[0].certainty if told.findings else 0.0
    return {each.cause.id for each in told.findings[:3] if each.certainty > top - 0.005}


def waited_for(evaluator: Evaluator, readings: object) -> set[str]:
    """The readings that some undecided rule waits for."""
    facts, _ = evaluator.facts(readings)  # type: ignore[arg-type]
    evaluator.run(facts)
    rules = tuple(evaluator.rules.values())
    waiting = Waiting(rules, facts, evaluator.rulebase.quantities)
    return {name for rule in rules for name in waiting.readings(rule)}
