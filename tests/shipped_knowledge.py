"""The rulebase that the program ships, and all that commands load, read once a process."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any

from expert.cli.job.cache import VARIABLE, _key, cached, uncollected
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


def cached_once() -> Callable[..., Any]:
    """`cached` for the commands of one process: the same files give the same objects again.

    Checked knowledge is never changed, and reading it from its file took a third of their time.
    """
    kept: dict[str, object] = {}
    whole = (str(shipped("rulebase")), "with tests")

    def once(kind: type, files: Iterable[Path], make: Callable[[], object], *more: str) -> object:
        files = tuple(files)
        if os.environ.get(VARIABLE) or not all(path.is_file() for path in files):
            return cached(kind, files, make, *more)
        key = _key(kind, files, more)
        if key not in kept:
            made = shipped_rules if more == whole else make
            kept[key] = cached(kind, files, made, *more)
        return kept[key]

    return once
