"""The recorded demo jobs that are shipped, and the made-up time they run in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from expert.errors import PackError, UsageError, nearest
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import read_yaml
from expert.procedure.entries import Entry

_KEYS = ("name", "title", "checklist", "subject", "answers")
_ALL_KEYS = (*_KEYS, "shows", "tells")
_STEP = timedelta(seconds=12)  # invented: what one step of the demo takes
_VALUE = timedelta(seconds=5)  # invented: what one value of a sample takes
_LENGTH = timedelta(hours=2)


@dataclass(frozen=True)
class DemoJob:
    """One recorded job: its checklist, its subject in the demo site, its answers.

    `shows` are the ids of the few steps that tell the story, `tells` the values told with them.
    """

    name: str
    title: str
    checklist: str
    subject: str
    answers: Path
    shows: tuple[str, ...] = ()
    tells: tuple[str, ...] = ()


def demo_jobs(folder: Path) -> dict[str, DemoJob]:
    """The demo jobs of a folder by name, the usual one first. Raises PackError."""
    reader = Reader()
    root = reader.fields(read_yaml(folder / "jobs.yaml"), "the demo jobs", ("demo",), ("demo",))
    found: dict[str, DemoJob] = {}
    for node in reader.items(root.fields["demo"] if root else None, "demo"):
        if fields := reader.fields(node, "a demo job", _ALL_KEYS, _KEYS):
            name, title, checklist, subject, answers = (
                reader.text(fields.fields[key], key) for key in _KEYS
            )
            few = (tuple(reader.texts(fields.fields.get(key), key)) for key in _ALL_KEYS[-2:])
            found[name] = DemoJob(name, title, checklist, subject, folder / answers, *few)
    if reader.problems:
        raise PackError(reader.problems)
    return found


def pick_demo(found: dict[str, DemoJob], name: str | None) -> DemoJob:
    """The demo job of a name, or the usual one. Raises UsageError."""
    if name is None:
        return next(iter(found.values()))
    if name not in found:
        hint = nearest(name, found) or f"There are: {', '.join(found)}."
        raise UsageError(f"There is no demo '{name}'. {hint}")
    return found[name]


class DemoClock:
    """A time of day that goes on by itself with every entry, and ends about now."""

    def __init__(self, end: datetime) -> None:
        self._at = end - _LENGTH

    def __call__(self) -> datetime:
        """The time now."""
        return self._at

    def wait_until(self, due: datetime | None) -> None:
        """Nothing is done before a sample is due."""
        if due is not None:
            self._at = max(self._at, due)

    def passed(self, entry: Entry) -> None:
        """An entry was made; the values of a sample follow one another quickly."""
        self._at += _VALUE if entry.data.get("sample") else _STEP
