"""A server that dies at work: what it acknowledged is there, what is sent again is there once."""

from __future__ import annotations

import json
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from http.client import HTTPException
from pathlib import Path
from random import Random

import pytest
from budget import NIGHTLY
from killed_server import Killed
from small_server import Visitor, begun

from expert.procedure.entries import ONCE
from expert.store.jobs import JobStore

TRIES = 60 if NIGHTLY else 1


@pytest.fixture
def killed(tmp_path: Path) -> Iterator[Killed]:
    one = Killed(tmp_path)
    try:
        yield one
    finally:
        one.kill()


def notes(folder: Path, job: str) -> list[tuple[str, str]]:
    with JobStore(folder / "jobs.db") as store:
        assert store.altered(job) == ""
        found = store.entries(job)
    assert [each.seq for each in found] == list(range(1, len(found) + 1))
    return [(each.text(ONCE), each.text("text")) for each in found if each.kind == "note"]


def sent(visitor: Visitor, job: str, form: dict[str, str]) -> bool:
    """Whether a form was acknowledged; it was not where the server died first."""
    try:
        visitor.send(f"/jobs/{job}/note", form)
    except (OSError, HTTPException):
        return False
    return visitor.status == 200


def test_what_was_acknowledged_is_there_and_what_is_sent_again_is_there_once(
    killed: Killed,
) -> None:
    visitor, random = killed.visitor(), Random(7)
    job = begun(visitor)
    token = visitor.form("/sign-out").value("form")
    acknowledged = []
    for number in range(TRIES * 10):
        form = {"form": token, "once": f"mark-{number:04}", "text": f"note {number}"}
        if number % 10 == 9:  # killed at some moment around the entry
            timer = threading.Timer(random.uniform(0.0, 0.03), killed.kill)
            timer.start()
            first = sent(visitor, job, form)
            timer.join()
            before = dict(notes(killed.folder, job))
            assert not first or form["once"] in before
            assert {each["once"] for each in acknowledged} <= {*before}
            killed.start()
            assert sent(visitor, job, form)  # the same session, the same form again
        else:
            assert sent(visitor, job, form)
        acknowledged.append(form)
    kept = notes(killed.folder, job)
    assert kept == [(each["once"], each["text"]) for each in acknowledged]


def test_readings_handed_over_again_after_a_death_are_entered_once(killed: Killed) -> None:
    visitor = killed.visitor()
    job = begun(visitor)
    token = visitor.form("/sign-out").value("form")
    readings = [
        {"once": f"reading-{key}", "key": key, "text": text, "at": 0, "seen": 99}
        for key, text in (
            ("people-at-defrost", "one who walks"), ("rack-steady", "yes"),
            ("other-circuits-defrosting", "0"), ("outdoor-temperature", "41 F"),
        )
    ]  # fmt: skip
    document = json.dumps({"now": 90_000, "readings": readings}).encode()

    def hand_over() -> list[str]:
        visitor.ask(
            "POST", f"/jobs/{job}/kept", document, X_Form=token, Content_Type="application/json",
            Accept="application/json",
        )  # fmt: skip
        assert visitor.status == 200, visitor.page
        return [each["state"] for each in json.loads(visitor.page)["became"]]

    first = threading.Thread(target=lambda: _try(hand_over))
    first.start()
    time.sleep(0.02)
    killed.kill()
    first.join()
    killed.start()
    assert set(hand_over()) <= {"entered", "already"}
    assert set(hand_over()) == {"already"}
    with JobStore(killed.folder / "jobs.db") as store:
        answers = [each for each in store.entries(job) if each.kind == "answer"]
    assert [each.step for each in answers] == [each["key"] for each in readings]
    taken = answers[0].time("taken")
    assert taken is not None and 80 < (answers[0].at - taken).total_seconds() < 100


def _try(does: Callable[[], object]) -> None:
    with suppress(OSError, HTTPException):
        does()


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="reads /proc")
def test_the_first_page_comes_within_two_seconds_of_a_processor(killed: Killed) -> None:
    killed.kill()
    killed.start()
    assert killed.process is not None
    fields = Path(f"/proc/{killed.process.pid}/stat").read_text("utf-8").rpartition(")")[2].split()
    used = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")  # user and system time
    assert 0.1 < used < 2
