"""Engines to test, and how many generated programs to test them with.

RACKWALK_TEST_PROFILE=nightly takes ten thousand generated programs for each property in place of
fifty, and a hundred thousand runs for the search for leaks in place of three thousand.
"""

from __future__ import annotations

import os
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, settings

from expert.inference import make_engine as make_engine_module
from expert.inference.durable import load_library
from expert.inference.engine import Engine, EngineError, Program
from expert.inference.make_engine import make_engine

PROFILE = os.environ.get("RACKWALK_TEST_PROFILE", "ci")
for name, examples in (("ci", 50), ("nightly", 10_000)):
    settings.register_profile(
        name,
        max_examples=examples,
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


@pytest.fixture(scope="session")
def nightly() -> bool:
    """Whether the long tests were asked for."""
    return PROFILE == "nightly"


@pytest.fixture(scope="session")
def durable() -> Callable[[Program], Engine]:
    """Compiles for durable_rules; the test is skipped where that is missing."""
    try:
        load_library()
    except EngineError as error:
        pytest.skip(str(error))
    return lambda rules: make_engine(rules, "durable")


@pytest.fixture(params=["plain", "durable"])
def compiled(request: pytest.FixtureRequest) -> Callable[[Program], Engine]:
    """Compiles for each of the engines in turn."""
    if request.param == "durable":
        return request.getfixturevalue("durable")  # type: ignore[no-any-return]
    return lambda rules: make_engine(rules, "plain")


@pytest.fixture
def none_small(monkeypatch: pytest.MonkeyPatch) -> None:
    """No program counts as so small that the plain chainer is quicker."""
    monkeypatch.setattr(make_engine_module, "SMALL", 0)
