"""The rulebase that the program ships, read once for all tests of a process."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from expert.cli.job.cache import uncollected
from expert.cli.job.load_knowledge import memory
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.places import shipped

READ = memory()  # what a command read in this process is not read again


@cache
def shipped_rules() -> Rulebase:
    """The shipped rulebase with its tests; no search for garbage looks at it again."""
    return load_over_shipped(shipped("rulebase"))


def load_over_shipped(folder: Path) -> Rulebase:
    """The rulebase of a pack over the shipped one, of which nothing is read a second time."""
    with uncollected():
        return load_rulebase(folder, READ)
