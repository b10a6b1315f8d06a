"""The rulebase that the program ships, read once for all tests of a process."""

from __future__ import annotations

from functools import cache

from expert.cli.job.cache import uncollected
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.places import shipped


@cache
def shipped_rules() -> Rulebase:
    """The shipped rulebase with its tests; no search for garbage looks at it again."""
    with uncollected():
        return load_rulebase(shipped("rulebase"))
