"""The small job of the terminal's tests."""

from __future__ import annotations

import pytest
from terminal_help import ShownJob


@pytest.fixture
def job() -> ShownJob:
    return ShownJob()
