"""What the tests cost, told at the end of a run: all of them, and every file that costs much.

It fails nothing: on a busy machine every figure is larger. A file that is named here on a quiet one
takes more than its share of the budget that DEVELOPERS.md gives the suite.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator

import pytest

MUCH = 5.0  # seconds of processor time of one file
_PROPERTY = "processor time"
_BEGAN = pytest.StashKey[float]()
_BY_FILE: Counter[str] = Counter()


def used() -> float:
    """Processor time of this process and of those that it has waited for [s]."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """A test begins."""
    item.stash[_BEGAN] = used()
    return (yield)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """Its last report carries what it took, from whichever process it ran in."""
    report = yield
    if call.when == "teardown":
        report.user_properties.append((_PROPERTY, used() - item.stash[_BEGAN]))
    return report


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Summed up where the results come together."""
    _BY_FILE.update({report.nodeid.partition("::")[0]: seconds_of(report)})


def seconds_of(report: pytest.TestReport) -> float:
    """What a report carries."""
    return sum(float(value) for name, value in report.user_properties if name == _PROPERTY)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The sum, and the files above it."""
    for line in lines(_BY_FILE):
        terminalreporter.write_line(line)


def lines(by_file: Counter[str]) -> list[str]:
    """What is told, the dearest file first."""
    told = [f"processor time of the tests: {sum(by_file.values()):.0f} s"]
    dear = [(name, seconds) for name, seconds in by_file.most_common() if seconds > MUCH]
    if dear:
        told.append(f"files that took more than {MUCH:g} s of it:")
        told += [f"  {seconds:5.1f} s  {name}" for name, seconds in dear]
    return told
