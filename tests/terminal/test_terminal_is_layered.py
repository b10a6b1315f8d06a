"""Only one module knows the prompt library, and a plain run never loads it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import expert.terminal

FOLDER = Path(expert.terminal.__file__).parent


def test_only_the_prompt_module_imports_the_prompt_library() -> None:
    users = [
        path.name
        for path in FOLDER.glob("*.py")
        if "prompt_toolkit" in path.read_text(encoding="utf-8")
    ]
    assert users == ["prompt.py"]


def test_the_plain_front_end_works_without_the_prompt_library() -> None:
    code = (
        "import sys, expert.terminal.line_by_line;"
        "import expert.terminal.dialogue, expert.terminal.choose;"
        "print('prompt_toolkit' in sys.modules, 'asyncio' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
