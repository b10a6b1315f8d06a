"""How much the generated tests try: enough for every run, far more at night.

An ordinary run takes the same examples every time, so a larger number of them would find nothing
new from one run to the next; RACKWALK_TEST_PROFILE=nightly searches, with all of them.
"""

from __future__ import annotations

import os

import pytest

NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"


def examples(at_night: int) -> int:
    """Of so many generated cases at night, those of an ordinary run."""
    return at_night if NIGHTLY else max(15, at_night // 20)


def step(ordinary: int) -> int:
    """Every so many of a long list in an ordinary run, and every one at night."""
    return 1 if NIGHTLY else ordinary


in_a_browser = pytest.mark.skipif(
    not NIGHTLY and not os.environ.get("RACKWALK_TEST_BROWSER"),
    reason="in a browser: runs with RACKWALK_TEST_BROWSER=yes",
)

at_night = pytest.mark.skipif(not NIGHTLY, reason="long: runs with RACKWALK_TEST_PROFILE=nightly")
