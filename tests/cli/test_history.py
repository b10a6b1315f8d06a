"""What earlier jobs left comes up in a later one: last values, open items, set points."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from expert.store.jobs import JobStore

from .small_job import SMALL, WALK, Command, Printed, lines, resume_words, run_words

FOUND, CLOSING = WALK[:13], (("n",), ("all well",), ("",), ("A. Sample",))
LEFT_OPEN = (*FOUND, *CLOSING)  # the low push is found and nothing is changed
HEALTHY = tuple(
    {"190": ("198",), "24 min": ("12 min", "typed later")}.get(each[0], each) for each in LEFT_OPEN
)
SETTING = """
  - id: regulator_setting
    title: regulator setting
    subject: circuit
    kind: pressure_difference
    given: site
    where: legend
    source: from memory
"""


@pytest.fixture
def do(command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):  # noqa: ANN201
    monkeypatch.setenv("COLUMNS", "400")

    def run(*first: str, walk: tuple = LEFT_OPEN, subject: str = "A1", more: tuple = ()) -> Printed:
        typed = "".join(f"{line}\n" for line in first) + lines(walk)
        return command(*run_words(tmp_path, "--who", "N. N.", *more, subject=subject), typed=typed)

    return run


def flat(done: Printed) -> str:
    """What was shown, without the line ends of wrapping."""
    return " ".join(done.out.split())


def answers(folder: Path) -> list[tuple[str, str, str]]:
    with JobStore(folder / "jobs.db") as store:
        job = store.jobs()[0]
        return [
            (each.text("item"), each.text("answer"), each.text("reason"))
            for each in store.entries(job.id)
            if each.kind == "open"
        ]


def test_what_a_job_left_open_must_be_answered_first_in_the_next(do, tmp_path: Path) -> None:
    assert do().code == 0
    second = do("still open")
    assert second.code == 0, second.err
    assert "Left open: 1 thing comes first" in second.out
    assert "Step 1 of" in second.out
    assert "Left open by earlier jobs" in second.out
    ((item, answer, _),) = answers(tmp_path)
    assert item.startswith("finding:A1:")
    assert answer == "still open"


def test_what_is_done_is_not_asked_again_until_it_is_found_again(do, tmp_path: Path) -> None:
    do()
    assert "Left open" in do("done", walk=HEALTHY).out
    assert answers(tmp_path)[0][1] == "done"
    assert "Left open" not in do().out  # and this time it is found again
    assert "Left open" in do("1").out


def test_not_looked_at_needs_a_reason_and_keeps_it_open(do, tmp_path: Path) -> None:
    do()
    done = do("3", "not looked at: store closed early")
    assert "Say why it was not looked at" in done.out
    assert answers(tmp_path)[0][1:] == ("not looked at", "store closed early")
    skipped = do("s", "no ladder on the van")
    assert skipped.code == 0, skipped.out
    assert answers(tmp_path)[0][1:] == ("not looked at", "no ladder on the van")
    assert "Left open" in do("done").out


def test_what_is_open_on_other_equipment_is_only_counted(do) -> None:
    do()
    other = do(subject="A2")
    assert other.code == 0
    assert "Elsewhere on this site: 1 more" in other.out
    assert "Left open" not in other.out


def test_what_was_not_put_back_in_an_unfinished_job_comes_up(do) -> None:
    assert do(walk=WALK[:5]).code == 5
    done = do("done")
    assert "Not put back, as far as is known: schedule held off" in done.out


def test_jobs_open_lists_it_by_site(do, command: Command, tmp_path: Path) -> None:
    assert "Nothing is open." in command("jobs", "open", "--jobs", str(tmp_path)).out
    do()
    told = command("jobs", "open", "--jobs", str(tmp_path))
    assert "Test store: 1 open" in told.out
    assert "A1: " in told.out
    wrong = command("jobs", "open", "--site", "Test stor", "--jobs", str(tmp_path))
    assert wrong.code == 2
    assert "Did you mean 'Test store'" in wrong.err


def test_the_last_values_are_shown_newest_first_and_three_at_most(do) -> None:
    for upper in ("190", "191", "192", "193"):
        do("done", walk=tuple((upper,) if each == ("190",) else each for each in LEFT_OPEN))
    shown = do("done").out
    told = [line for line in shown.splitlines() if line.startswith(("Last: ", "Before: "))][:3]
    assert [line.split()[2] for line in told] == ["193.0", "192.0", "191.0"]
    assert all("as found, N. N." in line for line in told)


def test_a_reading_beyond_both_accuracies_has_drifted_and_another_has_not(do) -> None:
    do()
    same = do("done")
    assert "Drifted" not in same.out
    far = do("done", walk=tuple(("230",) if each == ("190",) else each for each in LEFT_OPEN))
    assert "Drifted: 40.0 psi more than on " in flat(far)
    assert "the accuracy of both instruments together explains" in flat(far)


def test_resuming_sees_the_history_of_the_beginning(do, command: Command, tmp_path: Path) -> None:
    do()
    assert do(walk=()).code == 5  # left at the open item
    with JobStore(tmp_path / "jobs.db") as store:
        begun = next(job.id for job in store.jobs() if not job.finished)
    do("done", "done")  # meanwhile somebody else does it
    resumed = command(*resume_words(tmp_path, begun), typed="1\n" + lines(LEFT_OPEN))
    assert "Left open by earlier jobs" in resumed.out
    assert resumed.code == 0, resumed.err
    report = command("report", begun, "--output", "-", *resume_words(tmp_path)[1:])
    assert report.code == 0, report.err


ANSWERS = """
answers:
  hot: yes
  hold-off: done
  upper-pressure: 190 psig
  lower-pressure: 182 psig
  valve: open
  clearing:
    - {coil_temperature: 40 F, coil_state: clear, at: 2 min}
  clearing-time: 24 min
  remark: all well
  restore-schedule-held-off: done
  sign: A. Sample
"""


def test_a_scripted_run_answers_open_items_under_their_own_key(
    do, command: Command, tmp_path: Path
) -> None:
    path = tmp_path / "answers.yaml"
    first = do()
    assert first.code == 0
    words = run_words(tmp_path, "--answers", str(path))
    path.write_text(ANSWERS)
    missing = command(*words)
    assert missing.code == 4
    assert "under 'open items:', 'finding:A1:" in missing.err
    assert "still open" in missing.err
    path.write_text(f"open items: still open\n{ANSWERS}")
    asked = command(*words)
    assert "coil_state" in asked.err or asked.code == 0, asked.err
    assert answers(tmp_path)[0][1] == "still open"
    item = answers(tmp_path)[0][0]
    path.write_text(f'open items:\n  "{item}": "not looked at: recorded"\n{ANSWERS}')
    command(*words)
    assert answers(tmp_path)[0] == (item, "not looked at", "recorded")


@pytest.fixture
def with_setting(tmp_path: Path) -> Path:
    """The small rules with a value of the site, and a site that says 8 psi."""
    folder = tmp_path / "knowledge"
    shutil.copytree(SMALL, folder)
    rules = folder / "rules" / "all.yaml"
    text = rules.read_text().replace("quantities:\n", f"quantities:{SETTING}", 1)
    rules.write_text(text)
    site = folder / "site.yaml"
    site.write_text(
        site.read_text().replace(
            "{id: A1, title: Frozen doors,",
            "{id: A1, title: Frozen doors, values: {regulator_setting: 8 psi},",
        )
    )
    return folder


def test_a_set_point_set_in_a_job_holds_until_the_site_file_says_something_else(
    command: Command, tmp_path: Path, with_setting: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "400")
    site = with_setting / "site.yaml"
    before = site.read_text()

    def run(walk: tuple, *first: str) -> Printed:
        words = [
            "run", str(with_setting / "checkout.yaml"), "--site", str(site), "--subject", "A1",
            "--rulebase", str(with_setting / "rules"), "--jobs", str(tmp_path / "jobs"),
            "--engine", "plain", "--who", "N. N.",
        ]  # fmt: skip
        return command(*words, typed="".join(f"{each}\n" for each in first) + lines(walk))

    setting = ("Regulator setting", "8 psi", "10 psi")
    walk = tuple(setting if each[0] == "stem" else each for each in WALK)
    assert run(walk).code == 0
    second = run(WALK, "done")
    assert "Set point: regulator setting of A1 is 10 psi, set " in flat(second)
    assert "by N. N. in job " in flat(second)
    assert "the site file says 8 psi." in flat(second)
    assert site.read_text() == before

    site.write_text(before.replace("8 psi", "12 psi"))
    third = run(WALK, "done")
    assert "Set point:" not in flat(third)
    assert "the site file has been changed since: what the file says counts" in flat(third)

    wrong = ("regulator setting", "12 psi", "a bit more", "regulator setting", "12 psi", "14 psi")
    refused = run(tuple(wrong if each[0] == "stem" else each for each in WALK), "done")
    assert "is a value of the site that holds from now on" in flat(refused)
    assert refused.code == 0
    assert "is 14 psi" in flat(run(WALK, "done"))
