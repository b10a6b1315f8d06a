from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import expert

FORBIDDEN = ("sqlite3", "prompt_toolkit", "jinja2", "CoolProp")


def test_the_procedure_imports_no_database_terminal_or_template() -> None:
    code = (
        "import sys, expert.procedure.session, expert.procedure.load_checklists;"
        "import expert.procedure.scripted;"
        f"print(sorted(set({FORBIDDEN}) & set(sys.modules)))"
    )
    here = {**os.environ, "PYTHONPATH": str(Path(expert.__file__).parents[1])}
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=here
    )
    assert (ran.stdout.strip(), ran.stderr) == ("[]", "")
