"""What the first question waits for: nothing that is only needed behind it is loaded."""

from __future__ import annotations

import subprocess
import sys

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
