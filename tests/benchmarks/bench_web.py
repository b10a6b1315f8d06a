"""Many people at work on one server: how long its answers take. Loopback only, no test.

Each has a job of their own, sees the page of its step, answers it after a while and is told of
others' entries as a phone is. `python tests/benchmarks/bench_web.py --people 200 --seconds 60`;
`--postgres` keeps the jobs on a PostgreSQL server that is started for it.
"""

from __future__ import annotations

import argparse
import asyncio
import html
import random
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlencode

TESTS = Path(__file__).parents[1]
sys.path += [str(TESTS / "web"), str(TESTS / "store"), str(TESTS), str(TESTS.parent)]

from small_server import DEMO, Form, forms_of  # noqa: E402

EVERY = 20.0  # s from one answer to the next of a person (own choice)
COMING = 60.0  # s within which all begin their job (own choice)
LOOKS = 1.5  # s between two looks for others' entries, as the script has it
CHECKLIST = "hot-gas-defrost-checkout"
HEADER = "Remote-User"
Times = dict[str, list[float]]


class Phone:
    """One phone: a connection that is kept, a job, and what the page asks."""

    def __init__(self, number: int, port: int, times: Times) -> None:
        self.name, self.port, self.times = f"person{number}@load.example", port, times
        self.job, self.page, self.seen = "", "", "0"
        self.reader: asyncio.StreamReader | None = None
        self.refused = 0

    async def ask(self, kind: str, path: str, fields: list[tuple[str, str]] | None = None) -> str:
        """One request; its time counts under a kind."""
        if self.reader is None:
            self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port)
        body = urlencode(fields or []).encode()
        head = [
            f"{'GET' if fields is None else 'POST'} {path} HTTP/1.1", "Host: localhost",
            f"{HEADER}: {self.name}", "Accept: text/html,application/json",
            f"Content-Length: {len(body)}", "Content-Type: application/x-www-form-urlencoded",
        ]  # fmt: skip
        begun = time.perf_counter()
        self.writer.write("\r\n".join(head).encode() + b"\r\n\r\n" + body)
        told = (await self.reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        size = re.search(r"content-length: (\d+)", told, re.IGNORECASE)
        text = (await self.reader.readexactly(int(size[1]) if size else 0)).decode()
        self.times[kind].append(time.perf_counter() - begun)
        status = int(told.split()[1])
        self.refused += status >= 400
        if status == 303 and (to := re.search(r"location: (\S+)", told, re.IGNORECASE)):
            if "/jobs/" in to[1]:
                self.job = to[1].rpartition("/")[2]
            return await self.ask(f"page after {kind}", to[1])
        return text

    async def work(self, until: float, site: str) -> None:
        """Begins a job and goes on with it until a time."""
        random.seed(self.name)
        await asyncio.sleep(random.uniform(0, COMING))
        self.page = await self.ask(
            "begin page", f"/begin?{urlencode({'site': site, 'checklist': CHECKLIST})}"
        )
        form = [each for each in forms_of(self.page) if each.action == "/begin"][1]
        self.page = await self.ask("begin", form.action, [*form.fields, ("subject", "A4")])
        answered = time.monotonic()
        while time.monotonic() < until:
            await asyncio.sleep(LOOKS)
            seen = re.search(r'data-seen="(\d+)"', self.page)
            await self.ask("look", f"/jobs/{self.job}/since?seen={seen[1] if seen else 0}")
            if time.monotonic() - answered > EVERY * random.uniform(0.5, 1.5):
                answered = time.monotonic()
                await self.answer()

    async def answer(self) -> None:
        """Answers what is asked with something that will do."""
        found = [each for each in forms_of(self.page) if each.action.endswith("/answer")]
        if not found:
            return
        self.page = await self.ask("answer", found[0].action, filled(found[0], self.page))
        if 'name="sure"' in self.page or "wrong" in self.page:
            reason = [each for each in forms_of(self.page) if each.action.endswith("/skip")]
            if reason:
                fields = [*reason[0].fields, ("reason", "not read in this trial"), ("how", "step")]
                self.page = await self.ask("answer", reason[0].action, fields)
            else:
                self.page = await self.ask("page", f"/jobs/{self.job}")


def filled(form: Form, page: str) -> list[tuple[str, str]]:
    """The fields of a form with an answer: a choice, a number in the middle of what is accepted."""
    fields = [each for each in form.fields if each[0] not in ("what", "from", "to")]
    names = {name for name, _ in form.fields}
    fields += [(name, "as it was") for name in ("what", "from", "to") if name in names]
    if 'name="tick"' in page:
        ticks = re.findall(r'name="tick" value="(\d+)"', page)
        return [*fields, *(("tick", each) for each in ticks if "Caution" in page)]
    choices = [value for name, value, _ in form.buttons if name == "text"]
    if choices:
        return [*fields, ("text", choices[0])]
    low, high = (
        re.search(rf"Accepted: ([-\d.]+).*?{word} ([-\d.]+)", page) for word in ("to", "to")
    )
    if low and high:
        middle = (float(low[1]) + float(high[2])) / 2
        fields = [each for each in fields if each[0] != "text"]
        return [*fields, ("text", f"{middle:.1f}")]
    return [("text", "A. Sample") if name == "text" else (name, value) for name, value in fields]


def people_file(folder: Path, count: int, jobs: str) -> Path:
    """The people of the trial, all of one company."""
    lines = [f"companies: [{{id: load, jobs: '{jobs}'}}]", "people:"]
    lines += [
        f"  - {{name: Phone {n}, signs in as: person{n}@load.example, role: lead, company: load}}"
        for n in range(count)
    ]
    path = folder / "people.yaml"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path


async def all_at_work(count: int, port: int, seconds: float) -> tuple[Times, int]:
    """The times of every request by kind, and how many were refused."""
    times: Times = defaultdict(list)
    first = Phone(0, port, defaultdict(list))
    page = await first.ask("begin page", f"/begin?checklist={CHECKLIST}")
    forms = [each for each in forms_of(page) if each.action == "/begin"]
    site = html.unescape(forms[0].value("site"))
    people = [Phone(number, port, times) for number in range(count)]
    until = time.monotonic() + COMING + seconds
    await asyncio.gather(*(each.work(until, site) for each in people))
    return times, sum(each.refused for each in people)


def main() -> None:
    """Prints count, median, 95th percentile and the longest of each kind, in milliseconds."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--people", type=int, default=200)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--postgres", action="store_true")
    asked = parser.parse_args()
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        jobs = str(folder / "jobs")
        if asked.postgres:
            from postgres_server import server, why_not

            if why_not():
                raise SystemExit(why_not())
            jobs = stack.enter_context(server())
        with socket.create_server(("127.0.0.1", 0)) as free:
            port = free.getsockname()[1]
        file = people_file(folder, asked.people, jobs)
        words = ["serve", "--port", str(port), "--site", str(DEMO / "site.yaml")]
        words += ["--jobs", str(folder), "--people", str(file), "--sign-in-header", HEADER]
        words += ["--proxy", "127.0.0.1"]
        process = subprocess.Popen(
            [sys.executable, "-m", "expert", *words], stdout=subprocess.DEVNULL
        )
        try:
            for _ in range(200):
                time.sleep(0.1)
                with socket.socket() as there:
                    if there.connect_ex(("127.0.0.1", port)) == 0:
                        break
            times, refused = asyncio.run(all_at_work(asked.people, port, asked.seconds))
            used = Path(f"/proc/{process.pid}/stat")
            fields = used.read_text("utf-8").rpartition(")")[2].split() if used.exists() else []
        finally:
            process.terminate()
            process.wait(20)
    every = sorted(each for kind in times.values() for each in kind)
    print(f"{asked.people} people, {len(every)} requests, {refused} refused")
    for kind, found in [*sorted(times.items()), ("all", every)]:
        ranked = sorted(found)
        middle, late = (ranked[int(len(ranked) * part)] * 1000 for part in (0.5, 0.95))
        told = f"median {middle:7.1f}  p95 {late:7.1f}  most {ranked[-1] * 1000:7.1f} ms"
        print(f"{kind:<24} {len(found):>6}  {told}")
    if fields:
        seconds = (int(fields[11]) + int(fields[12])) / 100
        print(f"processor of the server: {seconds:.1f} s")


if __name__ == "__main__":
    main()
