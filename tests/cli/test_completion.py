"""What the shell is offered while a command line is typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.cli.frame.main import COMMANDS
from expert.cli.job.completion import COMPLETERS, checklists, jobs, parser_of, subjects
from expert.places import shipped

from .small_job import Command, run_words


def test_every_command_is_offered_and_its_names_have_completers() -> None:
    parser = parser_of(COMMANDS)
    (below,) = (each for each in parser._actions if each.choices)
    assert list(below.choices or ()) == list(COMMANDS)
    found = {
        option.dest
        for each in (below.choices or {}).values()  # type: ignore[union-attr]
        for option in each._actions
        if hasattr(option, "completer")
    }
    assert set(COMPLETERS) <= found


def test_jobs_checklists_and_circuits_are_offered(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RACKWALK_HOME", str(tmp_path))
    monkeypatch.setenv("RACKWALK_SITE", str(shipped("checklists") / "demo" / "site.yaml"))
    assert jobs() == []
    command(*run_words(tmp_path, "--who", "A. Sample", "--plain"), typed="q\n")
    assert len(jobs()) == 1
    assert "leak-inspection-and-repair" in checklists()
    assert "A4" in subjects()
