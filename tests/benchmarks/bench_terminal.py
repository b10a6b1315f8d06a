"""Waiting times of a person at the prompt: python tests/benchmarks/bench_terminal.py

On a pseudo-terminal, with the shipped rulebase and the demo job: start to the help text, start to
the first prompt (also with an empty cache, and with --many in a store of so many invented jobs),
and from Enter to the next prompt over whole checkouts, with the slowest told. In milliseconds and
as ratios to the start of the bare interpreter; starts are medians of several fresh processes. With
--processor starts are told in processor time until the prompt stands, the least of them, which
hangs less on what else the machine does. The first Enter has a row of its own: pressed at once, it
waits for what is loaded and compiled while a person would read.
"""

from __future__ import annotations

import argparse
import os
import pty
import re
import resource
import select
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# bytecode is kept where the program is installed, so it is here
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.path.insert(0, str(ROOT))

from expert.cli.checklist.demo_jobs import demo_jobs, pick_demo  # noqa: E402
from expert.knowledge.load_rulebase import load_rulebase  # noqa: E402
from expert.places import shipped  # noqa: E402
from expert.procedure.active import id_of  # noqa: E402
from expert.procedure.load_checklists import load_checklists  # noqa: E402
from expert.store.jobs import JobStore  # noqa: E402

DEMO = shipped("checklists") / "demo"
ESCAPES = re.compile(rb"\x1b(?:\[[0-9;?]*[ -/]*[@-~]|\][^\x07]*\x07|[()][A-Z0-9]|[=>78])")
LABEL = re.compile(
    rb"(?:^|[\r\n])(\d+/\d+ [^>\r\n]*|Position \w+|Enter begins, q leaves|Why now, Enter waits)> ?$"
)
# ms; of starts, what they may take beyond the bare interpreter
BUDGET = {"help": 35.0, "first prompt": 120.0, "first prompt, empty cache": 400.0,
          "first prompt, many jobs": 150.0, "enter to prompt, 99 %": 50.0,
          "enter to prompt, longest": 100.0}  # fmt: skip


def seconds(words: list[str], processor: bool) -> float:
    """How long a process takes from start to end, by the clock or of the processor."""
    begin, used = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(words, cwd=ROOT, stdout=subprocess.DEVNULL, check=True)
    now = resource.getrusage(resource.RUSAGE_CHILDREN)
    if processor:
        return now.ru_utime + now.ru_stime - used.ru_utime - used.ru_stime
    return time.perf_counter() - begin


class Terminal:
    """The command on a terminal of 80 columns, read as soon as it writes."""

    def __init__(self, words: list[str], **environment: str) -> None:
        self.begin = time.perf_counter()
        self._ours, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "expert", *words], cwd=ROOT,
            stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True,
            env={**os.environ, "TERM": "xterm", "PROMPT_TOOLKIT_NO_CPR": "1",
                 "RACKWALK_WHO": "A. Sample", **environment},
        )  # fmt: skip
        os.close(theirs)
        self._seen = b""

    def type(self, line: str) -> None:
        """Types a line and forgets what was written before."""
        os.write(self._ours, line.encode())
        time.sleep(0.02)  # the letters are drawn before Enter counts
        self._drain()
        self._seen = b""
        self.begin = time.perf_counter()
        os.write(self._ours, b"\r")

    def wait(self) -> float:
        """Time from the start, or the last Enter, to a prompt that waits."""
        while not LABEL.search(ESCAPES.sub(b"", self._seen).rstrip(b" ")):
            if not select.select([self._ours], [], [], 60)[0]:
                raise TimeoutError(self._seen.decode(errors="replace"))
            self._seen += os.read(self._ours, 65536)
        return time.perf_counter() - self.begin

    def processor(self) -> float:
        """Processor time of all its threads so far [s], as Linux tells it."""
        threads = Path(f"/proc/{self.process.pid}/task").glob("*/schedstat")
        return sum(int(each.read_text().split()[0]) for each in threads) / 1e9

    def leave(self) -> None:
        """Leaves at the first prompt, so that what is kept for the next start is kept."""
        os.write(self._ours, b"q\r")
        self.process.wait(60)

    def end(self) -> None:
        """Ends the process."""
        self.process.kill()
        self.process.wait()
        os.close(self._ours)

    def _drain(self) -> None:
        while select.select([self._ours], [], [], 0)[0]:
            os.read(self._ours, 65536)


def typed_lines(folder: Path) -> list[str]:
    """What is typed to walk the usual demo job, taken from its recorded answers."""
    subprocess.run(
        [sys.executable, "-m", "expert", "demo", "--fast", "--jobs", str(folder)],
        cwd=ROOT, stdout=subprocess.DEVNULL, check=True,
    )  # fmt: skip
    with JobStore(folder / "jobs.db") as store:
        entries = store.entries(store.jobs()[0].id)
    base = load_rulebase(shipped("rulebase"))
    checklist = load_checklists(shipped("checklists"), base)["hot-gas-defrost-checkout"]
    lines: list[str] = []
    for entry in entries:
        step = checklist.step(id_of(entry.step))
        if entry.kind == "clock" and step is not None and step.starts_with:
            continue  # starts by itself
        if entry.kind == "answer" and step is not None and step.type == "time":
            lines += [entry.text("text"), "typed by the benchmark"]  # its clock has just begun
        elif entry.kind == "answer" and step is not None and step.after:
            lines += [entry.text("text"), "typed by the benchmark"]
        elif entry.kind == "adjust":
            lines += [entry.text(name) for name in ("what", "from", "to")]
        elif entry.kind in ("answer", "sign", "acknowledge"):
            names = {"answer": "text", "sign": "name", "acknowledge": "answer"}
            lines.append(entry.text(names[entry.kind]))
        elif entry.kind in ("done", "clock"):
            lines.append("")
    return lines


def walk(
    folder: Path,
    subject: str,
    lines: list[str],
    processor: bool = False,
    *,
    leaves: bool = False,
    **environment: str,
) -> tuple[float, list[float]]:
    """Time to the first prompt, and the times from Enter to the next prompt, the first included."""
    terminal = Terminal(
        ["run", "hot-gas-defrost-checkout", "--site", str(DEMO / "site.yaml"),
         "--subject", subject, "--jobs", str(folder), "--depth", "learning"], **environment,
    )  # fmt: skip
    try:
        first = terminal.wait()
        if processor:
            first = terminal.processor()
        if leaves:
            terminal.leave()
        times = []
        for line in ["", *lines[:-1]] if lines else ():
            terminal.type(line)
            times.append(terminal.wait())
        return first, times
    finally:
        terminal.end()


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeat", type=int, default=7, help="starts a median (default 7)")
    parser.add_argument("--walks", type=int, default=5, help="whole checkouts (default 5)")
    parser.add_argument("--many", type=int, default=0, help="jobs of a large store (default none)")
    parser.add_argument("--processor", action="store_true", help="starts in processor time")
    options = parser.parse_args()
    cpu = options.processor

    def median(measure: Callable[[], float]) -> float:
        taken = [measure() for _ in range(options.repeat)]
        return 1000 * (min(taken) if cpu else statistics.median(taken))

    bare = median(lambda: seconds([sys.executable, "-c", "pass"], cpu))
    rows = {
        "bare interpreter": bare,
        "help": median(lambda: seconds([sys.executable, "-m", "expert", "--help"], cpu)),
    }
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        lines = typed_lines(folder / "recorded")
        subject = pick_demo(demo_jobs(DEMO), None).subject
        walk(folder / "starts", subject, [], leaves=True)  # what is kept between runs is there
        rows["first prompt"] = median(lambda: walk(folder / "starts", subject, [], cpu)[0])

        def cold() -> float:
            empty = tempfile.mkdtemp(dir=folder)
            return walk(folder / "starts", subject, [], cpu, XDG_CACHE_HOME=empty)[0]

        rows["first prompt, empty cache"] = median(cold)
        if options.many:
            subprocess.run(
                [sys.executable, ROOT / "tests/store/many_jobs.py", folder / "many",
                 str(options.many)], check=True,
            )  # fmt: skip
            walk(folder / "many", subject, [], leaves=True)  # the first of a day makes a copy
            rows["first prompt, many jobs"] = median(
                lambda: walk(folder / "many", subject, [], cpu)[0]
            )
        walks = [
            walk(folder / f"whole-{number}", subject, lines)[1] for number in range(options.walks)
        ]
        rows["first enter, at once"] = 1000 * statistics.median(each[0] for each in walks)
        times = sorted(1000 * each for times in walks for each in times[1:])
    rows["enter to prompt"] = statistics.median(times)
    for share in (95, 99):
        rows[f"enter to prompt, {share} %"] = times[int(len(times) * share / 100)]
    rows["enter to prompt, longest"] = times[-1]
    print(f"{'':28}{'ms':>8}{'ratio':>8}  wanted")
    for label, value in rows.items():
        start = "enter" not in label
        budget = BUDGET.get(label)
        told = ""
        if budget is not None:
            kept = "met" if value <= budget + start * bare else "MISSED"
            told = f"{'+' if start else ''}{budget:g} {kept}"
        print(f"{label:28}{value:8.1f}{value / bare:8.1f}  {told}")
    print(
        f"{len(times)} prompts of {options.walks} checkouts on {subject}, "
        f"{options.repeat} starts a median."
    )


if __name__ == "__main__":
    main()
