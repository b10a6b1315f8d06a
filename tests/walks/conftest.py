"""The shipped checklists, the demo site, and every answers file played on it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from shipped_knowledge import shipped_checklists

from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import Checklist

sys.path.insert(0, str(Path(__file__).parent))

from walked_job import DEMO, Walked, walked_through  # noqa: E402


@pytest.fixture(scope="session")
def checklists(shipped_rulebase: Rulebase) -> dict[str, Checklist]:
    return shipped_checklists()


@pytest.fixture(scope="session")
def walked(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> Callable[[Path], Walked]:
    """The job of an answers file; its name says checklist, subject and what it shows."""
    site = load_site(DEMO / "site.yaml", shipped_rulebase)
    return cache(lambda path: walked_through(path, site, shipped_rulebase, checklists))
