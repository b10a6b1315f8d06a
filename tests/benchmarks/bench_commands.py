"""What a command costs beside the bare interpreter, in one run: processor time, best of some.

    python tests/benchmarks/bench_commands.py

Goals are for a quiet machine, in milliseconds; the ratio to the bare interpreter is what can be
compared between machines.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from expert.author.scenarios.run_rule_tests import RuleTestRunner
from expert.cli.job.cache import uncollected
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.memory import Memory
from expert.knowledge.model import Rulebase
from expert.places import shipped, shipped_cases

TIMES = 5
# bytecode is kept where the program is installed, so it is here
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
READINGS = """\
refrigerant: R-449A
application: low temperature
defrost: hot gas
readings: {defrost_differential: 8 psi, hot_gas_valve: open}
"""
CASES = shipped_cases()
CHANGES = (  # what differs in a rulebase: file, old text, new text
    ("a strength of all evidence", "plant/certainty.yaml", "weak: 0.3", "weak: 0.27"),
    (
        "one rule",
        "hot-gas-defrost/rules-differential.yaml",
        "differential-set-low: strong",
        "differential-set-low: weak",
    ),
)
GOALS = {
    "list": 250, "quantities": 250, "jobs": 250, "calc saturation R-449A --temperature -20F": 250,
    "diagnose FILE": 250, "rules test --only differential": 300,
}  # fmt: skip


def cost(words: list[str], times: int = TIMES) -> float:
    """Processor time of a command [s], the best of some."""
    found = []
    for _ in range(times):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(words, capture_output=True, check=False, env={**os.environ})
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        found.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(found)


def save_under_watch(folder: Path) -> float:
    """Processor time [s] from a saved edit of one rule to its outcome, as `--watch` does it."""
    copied = folder / "rulebase"
    shutil.copytree(shipped("rulebase"), copied)
    memory, runner = Memory(), RuleTestRunner()

    def judge() -> Rulebase:
        with uncollected():
            base = load_rulebase(copied, memory)
        runner.run(base)
        return base

    rule = next(
        each
        for each in judge().rules.values()
        if len(each.tests) > 3
        and f"because: {each.because[:20]}" in Path(each.place.path).read_text(encoding="utf-8")
    )
    path = Path(rule.place.path)
    text = path.read_text(encoding="utf-8")
    changed = text.replace(f"because: {rule.because[:20]}", f"because: So {rule.because[:20]}", 1)
    assert changed != text, rule.id
    path.write_text(changed, encoding="utf-8")
    start = time.process_time()
    judge()
    return time.process_time() - start


def compare_scenarios(folder: Path, file: str, old: str, new: str) -> float:
    """Processor time [s] of `rules compare` over all whole cases, with one text of a file changed.

    The changed rulebase is kept by a first run, as it is for an author who looks again.
    """
    copied = folder / f"changed-{Path(file).stem}"
    shutil.copytree(shipped("rulebase"), copied)
    path = copied / file
    text = path.read_text(encoding="utf-8")
    assert old in text, file
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    cost([sys.executable, "-m", "expert", "rules", "check", str(copied)], times=1)
    words = ["rules", "compare", "shipped", str(copied), "--workers", "1"]
    return cost([sys.executable, "-m", "expert", *words, "--scenarios", str(CASES)], times=1)


def main() -> None:
    """Print each figure beside its goal."""
    bare = cost([sys.executable, "-c", "pass"])
    print(f"bare interpreter {1000 * bare:.0f} ms")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file = folder / "readings.yaml"
        file.write_text(READINGS, encoding="utf-8")
        os.environ["RACKWALK_HOME"] = str(folder / "jobs")
        for line, goal in GOALS.items():
            words = line.replace("FILE", str(file)).split()
            tell(line, cost([sys.executable, "-m", "expert", *words]), bare, goal)
        for what, *change in CHANGES:
            tell(f"rules compare, {what}", compare_scenarios(folder, *change), bare, 3000)
        tell(
            "a save under rules test --watch", save_under_watch(folder), bare, 250
        )  # 300 less a look


def tell(what: str, took: float, bare: float, goal: float) -> None:
    """One line: time, ratio, goal."""
    met = "met" if 1000 * took <= goal else "MISSED"
    print(f"{what}: {1000 * took:.0f} ms, {took / bare:.1f} x bare, goal {goal:.0f} ms: {met}")


if __name__ == "__main__":
    main()
