"""Changes the Python code in small ways, one at a time, and prints how many the tests notice.

    python tests/mutation/python_mutants.py --ending 3 --at-least 50
    RACKWALK_TEST_PROFILE=nightly python tests/mutation/python_mutants.py

Which modules are changed and which tests judge them stands in pyproject.toml under `tool.mutmut`.
Names of mutants end with a number within their function; those that end with one digit are a
sample that stays the same, and that a change elsewhere in a file does not disturb. Nightly all are
tried. A change that no test even runs counts as not noticed.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
PARTS = ("expert", "rulebase", "checklists", "reports", "tests", "pyproject.toml", "README.md")
NOTICED = ("killed", "timeout", "segfault", "suspicious", "caught by type check")
NOT_TRIED = ("not checked", "skipped")
_LINE = re.compile(r"^\s+(?P<name>[\w.ǁ]+): (?P<status>[a-z ]+)$")


def main(arguments: list[str] | None = None) -> int:
    """Exit code 1 where fewer are noticed than wanted, 2 where the tool failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ending", default="", metavar="DIGIT", help="a sample; else all")
    parser.add_argument("--at-least", type=float, default=0.0, metavar="PERCENT")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--survivors", action="store_true", help="print their names")
    options = parser.parse_args(arguments)
    ending = "" if os.environ.get("RACKWALK_TEST_PROFILE") == "nightly" else options.ending
    with tempfile.TemporaryDirectory() as folder:
        found = tried(Path(folder), ending, options.workers)
    if not found:
        print("no change was tried")
        return 2
    for module, counts in sorted(by_module(found).items()):
        noticed = sum(counts[status] for status in NOTICED)
        print(f"{module}: {noticed} of {counts.total()} noticed")
    if options.survivors:
        print(*(name for name, status in found.items() if status not in NOTICED), sep="\n")
    noticed = sum(status in NOTICED for status in found.values())
    share = 100 * noticed / len(found)
    print(f"changes of Python noticed: {noticed} of {len(found)}, {share:.1f} %")
    return 0 if share >= options.at_least else 1


def tried(folder: Path, ending: str, workers: int) -> dict[str, str]:
    """What became of each mutant that was tried, by its name; the work is done in a copy."""
    for part in PARTS:
        place = ROOT / part
        if place.is_dir():
            shutil.copytree(place, folder / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(place, folder / part)
    environment = {**os.environ, "RACKWALK_TEST_PROFILE": "ci"}
    words = ["run", "--max-children", str(workers), *([f"*{ending}"] if ending else [])]
    tool(folder, environment, *words)
    told = tool(folder, environment, "results", "--all", "true")
    lines = filter(None, map(_LINE.match, told.splitlines()))
    found = {line["name"]: line["status"] for line in lines}
    return {name: status for name, status in found.items() if status not in NOT_TRIED}


def tool(folder: Path, environment: dict[str, str], *words: str) -> str:
    """The output of mutmut; where it fails, its last lines are shown."""
    command = [sys.executable, "-m", "mutmut", *words]
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)
    if done.returncode:
        sys.stderr.write("\n".join((done.stdout + done.stderr).splitlines()[-20:]) + "\n")
    return done.stdout


def by_module(found: dict[str, str]) -> dict[str, Counter[str]]:
    """How often each outcome came, by module."""
    modules: dict[str, Counter[str]] = {}
    for name, status in found.items():
        module = re.split(r"\.x", name)[0]
        modules.setdefault(module, Counter())[status] += 1
    return modules


if __name__ == "__main__":
    sys.exit(main())
