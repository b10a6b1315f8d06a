"""A reading known only as low, normal or high is taken everywhere, and a number replaces it."""

from __future__ import annotations

import json
from pathlib import Path

from expert.places import shipped
from expert.store.jobs import JobStore

from .small_job import Command

DEMO = shipped("checklists") / "demo"
PLAIN = ("--who", "A. Sample", "--engine", "plain")
RUN = (
    "run", "liquid-quality", "--site", str(DEMO / "site.yaml"), "--subject", "B", "--plain",
    "--depth", "learning", *PLAIN,
)  # fmt: skip
UNTIL_LEVEL = "y\ny\nyes\n0\n85 F\nfull\noff\n"


def values(jobs: Path) -> dict[str, object]:
    with JobStore(jobs / "jobs.db") as store:
        entries = store.entries(store.jobs()[0].id)
    return {e.text("quantity"): e.data["value"] for e in entries if e.kind == "answer"}


def test_a_run_takes_a_word_where_it_asks_and_by_name(command: Command, tmp_path: Path) -> None:
    jobs = ("--jobs", str(tmp_path))
    done = command(*RUN, *jobs, typed=f"{UNTIL_LEVEL}very low\nsuperheat high\nq\n")
    assert "Kept: very low" in done.out
    assert "The reading 'evaporator superheat' is kept too: high." in " ".join(done.out.split())
    read = values(tmp_path)
    assert read["receiver_level"] == "very low" and read["evaporator_superheat"] == "high"
    job = next(iter(done.out.split("rackwalk resume ")[1:])).split()[0]
    for view in ("technical", "office", "customer"):
        page = tmp_path / f"{view}.html"
        told = command(
            "report", job, *jobs, "--view", view, "--output", str(page), "--engine", "plain"
        )
        assert told.code == 0, told.err
    assert "very low" in (tmp_path / "technical.html").read_text("utf-8")


def test_what_no_limit_judges_takes_no_word(command: Command, tmp_path: Path) -> None:
    done = command(*RUN, "--jobs", str(tmp_path), typed="y\ny\nyes\n0\nlow\nq\n")
    assert "'low' is not a number" in done.out
    assert "outdoor_temperature" not in values(tmp_path)


def test_words_come_in_from_a_sheet(command: Command, tmp_path: Path) -> None:
    jobs = ("--jobs", str(tmp_path))
    begun = command(*RUN, *jobs, typed=f"{UNTIL_LEVEL}q\n")
    job = begun.out.split("rackwalk resume ")[1].split()[0]
    lines = tmp_path / "readings.txt"
    lines.write_text("receiver level low at 00:00\nsubcooling at the drop leg high\n", "utf-8")
    done = command("take-in", job, str(lines), *jobs, *PLAIN)
    assert "2 of 2 lines were entered." in done.out, done.out + done.err
    assert values(tmp_path)["condenser_subcooling"] == "high"


HAZARDS = "1234\n123\n12\ny\n"  # as many as the screen has; what does not fit is refused


def test_a_search_takes_them_and_goes_on(command: Command, tmp_path: Path) -> None:
    done = command(
        "diagnose", "--site", str(DEMO / "site.yaml"), "--subject", "B", "--plain", *PLAIN,
        "--jobs", str(tmp_path),
        typed=f"all cases warm\n{HAZARDS}nothing known\nsuperheat high\ncondenser subcooling high\n"
        "suction header above its set point low\n",
    )  # fmt: skip
    assert "Why this next:" in done.out
    assert "restricted" in done.out.split("So far:")[-1]


def test_a_word_weighs_less_than_a_number(command: Command, tmp_path: Path) -> None:
    sure = []
    for superheat, subcooling, suction in (("high", "high", "low"), ("30 F", "18 F", "-7 psi")):
        path = tmp_path / "readings.yaml"
        path.write_text(
            f"application: medium temperature\nevaporator_superheat: {superheat}\n"
            f"condenser_subcooling: {subcooling}\nsuction_deviation: {suction}\n", "utf-8",
        )  # fmt: skip
        told = json.loads(command("diagnose", str(path), "--json", "--engine", "plain").out)
        (found,) = [f for f in told["findings"] if f["cause"] == "drier-restricted"]
        sure.append(found["certainty"])
    assert 0.2 < sure[0] < sure[1]
