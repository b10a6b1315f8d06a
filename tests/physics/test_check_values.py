"""No check value of the data files is left without a test."""

from __future__ import annotations

from pathlib import Path

import pytest
from check_values import cases

TESTS = "\n".join(path.read_text("utf-8") for path in Path(__file__).parent.glob("test_*.py"))
ALL = [*cases("service_checks.yaml", "examples"), *cases("leak_rate_cases.yaml", "cases")]


@pytest.mark.parametrize("identity", ALL)
def test_every_check_value_is_named_by_a_test(identity: str) -> None:
    assert f'"{identity}"' in TESTS
