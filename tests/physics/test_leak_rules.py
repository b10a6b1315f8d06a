"""The data file of the leak rules."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from importlib import resources
from typing import Any

import pytest
import yaml

from expert.physics.fluids.refrigerants import refrigerants
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.leak_law.rate import FORMULAS
from expert.physics.leak_law.rules import exact, leak_rules, read_rules

TEXT = resources.files("expert.physics.leak_law").joinpath("leak_rules.yaml").read_text("utf-8")


def scalars(node: Any) -> Iterator[Any]:
    if isinstance(node, dict):
        for value in node.values():
            yield from scalars(value)
    elif isinstance(node, list):
        for value in node:
            yield from scalars(value)
    else:
        yield node


def sourced(node: Any) -> Iterator[dict[str, Any]]:
    if isinstance(node, dict):
        if "value" in node:
            yield node
        for value in node.values():
            yield from sourced(value)
    elif isinstance(node, list):
        for value in node:
            yield from sourced(value)


def test_every_value_stays_text_even_with_a_loader_that_guesses_types() -> None:
    assert all(isinstance(value, str) for value in scalars(yaml.safe_load(TEXT)))


def test_every_value_has_a_source_with_its_label() -> None:
    found = list(sourced(yaml.safe_load(TEXT)))
    assert len(found) > 20
    for one in found:
        assert one["source"].startswith(("published: ", "from memory: ", "common practice"))


def test_limits_are_exact_shares() -> None:
    rules = leak_rules()
    assert rules.limit("commercial refrigeration") == Fraction(1, 5)
    assert rules.limit("industrial process refrigeration") == Fraction(3, 10)
    assert rules.limit("comfort cooling") == Fraction(1, 10)


def test_every_refrigerant_of_the_package_is_placed() -> None:
    for one in refrigerants():
        found = {programme.id for programme in leak_rules().programmes_for(one.designation)}
        assert ("ozone-depleting" in found) is one.rule.startswith("ODS"), one.designation
        outside = one.rule.startswith("no regulated HFC")
        assert (not found) is outside, one.designation


def test_another_limit_in_the_file_is_used() -> None:
    other = read_rules(TEXT.replace('value: "20"', 'value: "12.5"', 1))
    assert other.limit("commercial refrigeration") == Fraction(1, 8)


def test_the_words_of_the_alert_formula_match_the_data() -> None:
    duty = leak_rules().detection
    text = next(one.text for one in FORMULAS if one.name == "leak_detector_alert_level")
    assert f"{int(duty.alert.value)} lb or {int(duty.alert_share.value * 100)} %" in text


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("repair_days:", "repair_day:", "repair_days"),
        ('value: "2026-01-01"', 'value: "2026-13-01"', "shape"),
        ('value: "30"', 'value: "thirty"', "not a number"),
        ("programmes:", "programmes: [", "YAML"),
    ],
)
def test_a_broken_file_is_refused_with_what_is_wrong(old: str, new: str, said: str) -> None:
    with pytest.raises(PhysicsError, match=said):
        read_rules(TEXT.replace(old, new, 1))


@pytest.mark.parametrize("number", ["nan", "inf", "ten", "", math.nan, math.inf])
def test_what_is_not_a_number_is_refused(number: str | float) -> None:
    with pytest.raises(PhysicsError, match="not a number"):
        exact(number)


def test_a_written_number_is_exact() -> None:
    assert exact("31.6") == exact(31.6) == Fraction(158, 5)
