"""The tiny rulebase, the shipped one, and a circuit to use them on."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from budget import NIGHTLY
from hypothesis import settings
from memory_here import memory_here
from processor_time import (  # noqa: F401  (hooks)
    pytest_runtest_logreport,
    pytest_runtest_makereport,
    pytest_runtest_protocol,
    pytest_terminal_summary,
)
from shipped_knowledge import READ, cached_once, shipped_rules
from tiny_rulebase import TINY, LoadTiny, WriteRulebase

from expert.cli.frame.settings import COMPANY_FILE, KNOWN, USER_FILE
from expert.cli.job import load_knowledge
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject

# The same examples in every ordinary run, and no time limit: a busy machine must not fail a test.
# The nightly profile looks for new ones.
settings.register_profile("steady", deadline=None, derandomize=True, max_examples=20)
settings.register_profile("searching", deadline=None)
settings.load_profile("searching" if NIGHTLY else "steady")

# Python's own searches for garbage go again and again through thousands of tests and the shipped
# rules, all of which stay: a third of the processor's time. Here one is made after a file that
# made much, and what is left then is not looked through again; with memory enough for both
# processes a whole ordinary run needs none.
gc.disable()
MUCH = 1_000_000  # objects, some 150 MB
if not NIGHTLY and memory_here() > 7e9:
    MUCH *= 8 if memory_here() < 10e9 else 13  # some 2 GB for each of two processes


def pytest_collection_finish() -> None:
    """The tests are gathered, and stay."""
    gc.freeze()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> Iterator[None]:
    """What a file made is given back when its last test is done."""
    yield
    if nextitem is None:
        gc.freeze()  # the process ends
    elif nextitem.path != item.path and gc.get_count()[0] > MUCH:
        gc.collect()
        gc.freeze()


# What holds for whoever runs the tests does not hold in them, nor while they are gathered, and no
# job comes among theirs: a folder below a file cannot be, so a test that names no place fails.
for whose in (USER_FILE, COMPANY_FILE, "XDG_DATA_HOME", "XDG_CONFIG_HOME"):
    os.environ[whose] = str(Path(__file__) / "none.yaml")
for known in KNOWN.values():
    os.environ.pop(known.variable, None)


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Nothing is kept in the user's own cache folder, and commands share what one of them read."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        patch.setattr(load_knowledge, "cached", cached_once())
        patch.setattr(load_knowledge, "memory", lambda: READ)
        yield


@pytest.fixture
def write_rulebase(tmp_path: Path) -> WriteRulebase:
    """Writes a text as the only file of a rulebase, and gives its folder."""

    def write(text: str) -> Path:
        folder = tmp_path / "rules"
        folder.mkdir(exist_ok=True)
        (folder / "all.yaml").write_text(text, encoding="utf-8")
        return folder

    return write


@pytest.fixture
def load_tiny(write_rulebase: WriteRulebase) -> LoadTiny:
    """Loads the tiny rulebase with some of its text replaced (old, new, old, new ...)."""

    def load(*changes: str) -> Rulebase:
        text = TINY
        for old, new in zip(changes[::2], changes[1::2], strict=True):
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        return load_rulebase(write_rulebase(text))

    return load


@pytest.fixture(scope="session")
def tiny(tmp_path_factory: pytest.TempPathFactory) -> Rulebase:
    """The tiny rulebase."""
    folder = tmp_path_factory.mktemp("tiny")
    (folder / "all.yaml").write_text(TINY, encoding="utf-8")
    return load_rulebase(folder)


@pytest.fixture(scope="session")
def tiny_text() -> str:
    """The text of the tiny rulebase."""
    return TINY


@pytest.fixture(scope="session")
def shipped_rulebase() -> Rulebase:
    """The rulebase that the program ships."""
    return shipped_rules()


@pytest.fixture
def circuit() -> Subject:
    """A low-temperature hot-gas circuit on R-449A at sea level."""
    facts = {"application": "low temperature", "defrost": "hot gas", "refrigerant": "R-449A"}
    return Subject("A1", "frozen food", "circuit", "A", facts)
