"""The command of practice: begun, left, gone on with, ended, kept apart from jobs."""

from __future__ import annotations

import json
from pathlib import Path

from .small_job import SMALL, Command

FAN = "fan-of-the-case-stands"
CURE = "do lock out\ny\ny\ndo replace case fan\ncause evaporator fan stopped\n"


def test_an_exercise_is_left_gone_on_with_and_looked_back_on(
    command: Command, tmp_path: Path
) -> None:
    words = ["--jobs", str(tmp_path), "--who", "A. Sample", "--engine", "plain"]
    done = command("practice", FAN, *words, typed="fans in cooling\ny\nq\n")
    code, out = done.code, done.out
    assert code == 5, out
    assert "one or more stopped" in out and "--resume" in out
    done = command("practice", "--resume", *words, typed=f"rack\n{CURE}end\n")
    code, out = done.code, done.out
    assert code == 0, out
    assert "Going on at" in out and "1 readings so far" in out
    assert "LOOKING BACK" in out and "It is put right." in out
    assert "nothing dangerous was done" in out
    job = next(line for line in out.splitlines() if line.startswith("Kept as "))
    name = job.removeprefix("Kept as ").partition(";")[0]
    done = command("practice", "--review", name, *words)
    code, again = done.code, done.out
    assert code == 0 and "It is put right." in again
    done = command("jobs", "--jobs", str(tmp_path), "--json")
    code, jobs = done.code, done.out
    assert code == 0 and json.loads(jobs)["jobs"] == []


def test_a_name_that_is_not_there_is_told_with_the_nearest(
    command: Command, tmp_path: Path
) -> None:
    done = command("practice", "fan-of-the-case-stand", "--jobs", str(tmp_path))
    code, said = done.code, done.err
    assert code == 2 and FAN in said
    done = command("practice", "--kind", "condensr", "--jobs", str(tmp_path))
    code, said = done.code, done.err
    assert code == 2 and "'condenser'" in said
    done = command("practice", "--resume", "--jobs", str(tmp_path))
    code, said = done.code, done.err
    assert code == 2 and "No exercise" in said


def test_the_list_does_not_tell_what_is_wrong(command: Command) -> None:
    done = command("practice", "--list", "--json")
    code, out = done.code, done.out
    assert code == 0
    assert FAN in [each["id"] for each in json.loads(out)]
    assert "evaporator-fan-failed" not in out


def test_scores_are_ones_own_until_they_are_handed_over(command: Command, tmp_path: Path) -> None:
    words = ["--jobs", str(tmp_path), "--engine", "plain"]
    for who, typed in (("A. Sample", "end\n"), ("B. Sample", "do bridge the motor protector\n")):
        done = command("practice", FAN, *words, "--who", who, typed=typed)
        assert done.code == 0, done.out
    done = command("practice", "--scores", *words)
    assert done.code == 2 and "--who NAME" in done.err
    done = command("practice", "--scores", *words, "--who", "B. Sample")
    assert "stopped: dangerous" in done.out and len(done.out.splitlines()) == 1
    file = tmp_path / "a.json"
    done = command("practice", "--share", str(file), *words, "--who", "A. Sample")
    assert done.code == 0 and "B. Sample" not in file.read_text("utf-8")
    done = command("practice", "--crew", str(file))
    assert done.out.startswith("A. Sample: 1 exercises, 0 cured, 0 stopped")
    file.write_text("{}", "utf-8")
    done = command("practice", "--crew", str(file))
    assert done.code == 4 and "no file of scores" in done.err


def test_the_tool_plays_drawn_plants_and_tells_its_score(command: Command) -> None:
    words = ["practice", "--all", "--count", "1", "--seed", "3", "--kind", "condenser"]
    done = command(*words, "--engine", "plain", "--json")
    assert done.code == 0, done.err
    told = json.loads(done.out)
    assert told["played"] == 1 and told["dangerous"] == 0
    assert told["exercises"][0]["id"] == "seed-3" and told["exercises"][0]["readings"] > 0
    done = command("practice", "--all", "--count", "-1")
    assert done.code == 2 and "--count" in done.err


def test_nothing_of_the_work_opens_what_was_practised(command: Command, tmp_path: Path) -> None:
    words = ["--jobs", str(tmp_path)]
    assert command("practice", FAN, *words, "--who", "A. Sample", typed="end\n").code == 0
    kept = tmp_path / "practice" / "jobs.db"
    assert kept.is_file()
    kept.write_bytes(b"not a job file")  # whoever opened it now would fail
    (tmp_path / "server").mkdir()
    written = str(tmp_path / "all.jsonl")
    site = ("--site", str(SMALL / "site.yaml"))
    for asked in (
        ("jobs",), ("jobs", "open"), ("jobs", "check"), ("jobs", "export", "--output", written),
        ("refrigerant", "log", *site), ("refrigerant", "due", *site), ("audit",),
        ("sync", "--server", str(tmp_path / "server")),
    ):  # fmt: skip
        done = command(*asked, *words)
        assert done.code == 0, (asked, done.out, done.err)
        assert FAN not in done.out
    assert kept.read_bytes() == b"not a job file"
    assert not [each for each in (tmp_path / "server").rglob("*") if each.parent.name == "practice"]
    assert command("practice", "--scores", *words).code == 6
