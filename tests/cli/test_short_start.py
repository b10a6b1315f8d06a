"""What the first question waits for: nothing that is only needed behind it is loaded."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest

from expert.cli.job.job_dialogue import _enter_told
from expert.terminal.line_by_line import PlainFront

FIRST = (
    "expert.cli.frame.main", "expert.cli.checklist.run", "expert.cli.job.begin",
    "expert.cli.job.job_dialogue", "expert.cli.job.choose_site", "expert.cli.job.remember",
    "expert.terminal.choose", "expert.terminal.plain_first", "expert.terminal.line_by_line",
    "expert.store.find_history",
)  # fmt: skip
LATER = {
    # libraries that take as long as ten modules
    "asyncio", "decimal", "difflib", "fractions", "lark", "numpy", "prompt_toolkit", "shutil",
    "socket", "statistics", "yaml",
    # what reads, checks and evaluates
    "expert.inference.compiled", "expert.inference.derive", "expert.inference.findings",
    "expert.inference.next_reading", "expert.knowledge.load_rulebase", "expert.knowledge.reader",
    "expert.physics.fluids.saturation", "expert.report.told", "expert.sites.ask_store",
    "expert.store.migrate",
}  # fmt: skip


def loaded(*modules: str) -> set[str]:
    code = f"import {', '.join(modules)}, sys; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_a_first_question_needs_no_evaluation_and_no_slow_library() -> None:
    assert sorted(LATER & loaded(*FIRST)) == []


def test_the_list_of_commands_needs_no_data_classes() -> None:
    assert "dataclasses" not in loaded("expert.cli.frame.main")


class NotYet:
    """A session that must not be asked yet what comes first: that plans the whole job."""

    @property
    def session(self) -> object:
        raise AssertionError("planned before the first prompt")


def test_nothing_is_planned_for_answers_that_nobody_gave_before() -> None:
    work: Any = NotYet()
    assert _enter_told(work, PlainFront(), {}) == []
    with pytest.raises(AssertionError, match="planned"):
        _enter_told(work, PlainFront(), {"complaint": "every case is warm"})
