"""`rackwalk sheet` and `take-in`: what was read elsewhere comes into the job with its times."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from expert.errors import ReadingError
from expert.places import shipped
from expert.procedure.sheet_lines import read_sheet_lines, sheet_line
from expert.store.jobs import JobStore

from .small_job import SMALL, Command, run_words

DEMO = shipped("checklists") / "demo"
OF_SMALL = ("--rulebase", str(SMALL / "rules"), "--engine", "plain")


def begun(command: Command, jobs: Path) -> str:
    command(*run_words(jobs, "--who", "A. Sample", "--plain"), typed="q\n")
    with JobStore(jobs / "jobs.db") as store:
        return store.jobs()[0].id


def taken_in(command: Command, jobs: Path, text: str, typed: str = "") -> tuple[int, str]:
    job, path = begun(command, jobs), jobs / "readings.txt"
    path.write_text(text, encoding="utf-8")
    done = command(
        "take-in", job, str(path), "--jobs", str(jobs), *OF_SMALL, "--checklist-file",
        str(SMALL / "checkout.yaml"), "--who", "B. Sample", typed=typed,
    )  # fmt: skip
    return done.code, done.out + done.err


def test_a_sheet_has_cautions_readings_units_and_normal_values(
    command: Command, tmp_path: Path
) -> None:
    path = tmp_path / "sheet.html"
    done = command(
        "sheet", str(SMALL / "checkout.yaml"), "--site", str(SMALL / "site.yaml"), "--subject",
        "A1", "--output", str(path), "--jobs", str(tmp_path), *OF_SMALL,
    )  # fmt: skip
    assert (done.code, done.last) == (0, f"Sheet: {path}"), done.err
    text = path.read_text(encoding="utf-8")
    for part in ("CAUTION: ", 'data-key="', "psig</span>", "Normal: ", "rackwalk take-in JOB"):
        assert part in text
    assert "http" not in text  # nothing is fetched


def test_a_sheet_says_for_which_plants_it_is_and_what_the_refrigerant_asks(
    command: Command, tmp_path: Path
) -> None:
    path = tmp_path / "sheet.html"
    done = command(
        "sheet", "compressor-check", "--site", str(shipped("checklists") / "demo" / "site.yaml"),
        "--subject", "CC1", "--output", str(path), "--jobs", str(tmp_path),
    )  # fmt: skip
    assert done.code == 0, done.err
    head = path.read_text(encoding="utf-8").split("<section")[0]
    for part in (
        "Made for: compressors of parallel racks", "<strong>R-744, safety class A1</strong>",
        "CAUTION on this plant", "Carbon dioxide as refrigerant", "carbon dioxide meter",
    ):  # fmt: skip
        assert part in head


def test_readings_come_in_by_key_and_by_name_with_their_times(
    command: Command, tmp_path: Path
) -> None:
    text = "rackwalk sheet: x\nhot: yes\nupper-pressure: 190 psig at 00:00\n# read by me\n"
    code, out = taken_in(command, tmp_path, text)
    assert code == 0, out
    assert "2 of 2 lines were entered." in out
    with JobStore(tmp_path / "jobs.db") as store:
        entries = store.entries(store.jobs()[0].id)
    (reading,) = [each for each in entries if each.kind == "answer"]
    taken = reading.time("taken")
    assert taken is not None and f"{taken.astimezone():%H:%M}" == "00:00"
    assert reading.who == "B. Sample"


def test_what_does_not_fit_is_told_and_kept_as_a_note(command: Command, tmp_path: Path) -> None:
    code, out = taken_in(command, tmp_path, "upper-pressure: 190 psig\nlower: many\nnonsense\n")
    assert code == ReadingError.exit_code
    assert "kept as a note: upper-pressure: 190 psig: first the caution" in out
    assert "0 of 3 lines were entered." in out  # what names nothing is not counted as entered
    with JobStore(tmp_path / "jobs.db") as store:
        notes = [each.text("text") for each in store.entries(store.jobs()[0].id)]
    assert any("upper-pressure: 190 psig" in each for each in notes)
    assert any("nonsense" in each for each in notes)


def test_clocks_and_what_follows_them_come_in_though_work_is_not_confirmed_yet(
    command: Command, tmp_path: Path
) -> None:
    answers = DEMO / "hot-gas-defrost-checkout.a4-healthy.answers.yaml"
    known = dict(
        re.findall(r"^  ([a-z-]+): (.+)$", answers.read_text(encoding="utf-8"), re.MULTILINE)
    )
    start = datetime.now().astimezone() - timedelta(minutes=40)

    def at(minute: int) -> str:
        return f"{start + timedelta(minutes=minute):%H:%M}"

    begins = {"pump-down": 1, "defrost": 4, "drip": 19, "recovery": 24}
    sheet = [
        *(f"{key}: {value.strip()} at {at(8)}" for key, value in known.items()),
        *(f"clock-{name}: started at {at(minute)}" for name, minute in begins.items()),
        f"clearing#1.coil_state: still frosted at {at(9)}",
        f"clearing#2.coil_state: clear at {at(16)}",
    ]  # fmt: skip
    place = ("--site", str(DEMO / "site.yaml"), "--subject", "A4", "--jobs", str(tmp_path))
    command("run", "hot-gas-defrost-checkout", *place, "--plain", "--who", "A. Sample", typed="q\n")
    with JobStore(tmp_path / "jobs.db") as store:
        job = store.jobs()[0].id
    path = tmp_path / "readings.txt"
    path.write_text("\n".join(sheet), encoding="utf-8")
    command("take-in", job, str(path), "--jobs", str(tmp_path), typed="y\n" * 40)
    with JobStore(tmp_path / "jobs.db") as store:
        entries = store.entries(job)
    clocks = [each.text("clock") for each in entries if each.kind == "clock"]
    assert sorted(clocks) == ["defrost", "drip", "pump-down", "recovery"]
    read = {each.step for each in entries if each.kind == "answer"}
    assert {"hot-gas-header-pressure", "defrost-time", "drip-time", "recovery-time"} <= read
    samples = [each.data["at_minute"] for each in entries if each.step.endswith(".coil_state")]
    assert samples == pytest.approx([5.0, 12.0], abs=0.1)


def test_a_line_in_its_parts() -> None:
    line = sheet_line("clearing#1.circuit_pressure: 96 psig at 09:02")
    assert (line.key, line.value, line.time) == ("clearing#1.circuit_pressure", "96 psig", "09:02")
    assert sheet_line("head 215 at 11:42").key == ""


@pytest.mark.parametrize("data", [b"", b"\xff\xfe\x00", b"rackwalk sheet: x\n", b"a\0b\n"])
def test_what_is_no_sheet_is_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.txt"
    path.write_bytes(data)
    with pytest.raises(ReadingError):
        read_sheet_lines(path)
