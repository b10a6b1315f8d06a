"""`rackwalk run`, line by line and from a file of answers."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from .small_job import LABEL, SMALL, WALK, Command, lines, resume_words, run_words

ANSWERS = """
answers:
  hot: yes
  hold-off: done
  upper-pressure: 190 psig
  lower-pressure: 182 psig
  valve: open
  clearing:
    - {at: 2 min, coil_temperature: 20 F, coil_state: clear}
  clearing-time: 24 min
  remark: all well
  restore-schedule-held-off: done
  sign: A. Sample
"""


def test_the_whole_checklist_runs_from_piped_lines_and_ends_with_its_report(
    command: Command, tmp_path: Path
) -> None:
    done = command(*run_words(tmp_path), typed=lines())
    assert done.code == 0, done.out + done.err
    path = Path(done.last.removeprefix("Report: "))
    assert "Regulator set too low" in path.read_text(encoding="utf-8")


def test_the_report_goes_where_it_is_wanted(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "deep" / "own.md"
    done = command(*run_words(tmp_path, "--report", str(path)), typed=lines())
    assert done.last == f"Report: {path}"
    assert path.is_file()


def test_the_end_of_the_input_stops_with_5_and_the_resume_command(
    command: Command, tmp_path: Path
) -> None:
    done = command(*run_words(tmp_path), typed=lines(WALK[:4]))
    assert done.code == 5
    assert done.last.startswith("rackwalk resume ")


def test_the_resume_command_goes_on_at_the_same_step(command: Command, tmp_path: Path) -> None:
    stopped = command(*run_words(tmp_path), typed=lines(WALK[:4]))
    asked = LABEL.findall(stopped.out)[-1]
    words = shlex.split(stopped.last)[1:]
    done = command(*words, "--engine", "plain", typed=lines(WALK[4:]))
    assert LABEL.findall(done.out)[0] == asked
    assert done.code == 0


@pytest.mark.parametrize("line", ["q", "stop"])
def test_a_letter_stops_and_keeps(command: Command, tmp_path: Path, line: str) -> None:
    done = command(*run_words(tmp_path), typed=f"y\n\n{line}\n")
    assert done.code == 5


def test_without_a_subject_and_a_person_it_says_which_there_are(
    command: Command, tmp_path: Path
) -> None:
    done = command(*run_words(tmp_path, subject=""))
    assert done.code == 2
    assert "--subject ID. It may be: A1, A2." in done.err


def test_a_subject_of_the_wrong_kind_is_refused_with_the_reason(
    command: Command, tmp_path: Path
) -> None:
    done = command(*run_words(tmp_path, subject="A"))
    assert done.code == 2
    assert "it is for a circuit, and A is a rack" in done.err


def test_a_subject_of_another_application_is_refused_with_the_reason(
    command: Command, tmp_path: Path
) -> None:
    done = command(*run_words(tmp_path, subject="B1"))
    assert done.code == 2
    assert "application must be low temperature, and B1 is medium temperature" in done.err
    assert "It may be run on: A1, A2." in done.err


def test_an_unknown_subject_is_refused_with_the_nearest(command: Command, tmp_path: Path) -> None:
    done = command(*run_words(tmp_path, subject="AA1"))
    assert done.code == 2
    assert "Did you mean 'A1'?" in done.err


def test_no_job_is_begun_where_the_subject_is_refused(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path, subject="B1"))
    assert "No job" in command("jobs", "--jobs", str(tmp_path)).out


def test_an_unknown_checklist_is_refused_with_those_there_are(
    command: Command, tmp_path: Path
) -> None:
    done = command("run", "small", "--site", str(SMALL / "site.yaml"), "--jobs", str(tmp_path))
    assert done.code == 2
    assert "There is no checklist 'small'." in done.err


def test_answers_from_a_file_finish_the_job(command: Command, tmp_path: Path) -> None:
    answers = tmp_path / "answers.yaml"
    answers.write_text(ANSWERS, encoding="utf-8")
    done = command(*run_words(tmp_path, "--answers", str(answers)))
    assert done.code == 0, done.err
    assert Path(done.last.removeprefix("Report: ")).is_file()


def test_the_first_missing_answer_ends_with_4_and_what_was_entered_is_kept(
    command: Command, tmp_path: Path
) -> None:
    answers = tmp_path / "answers.yaml"
    answers.write_text(ANSWERS.replace("  valve: open\n", ""), encoding="utf-8")
    done = command(*run_words(tmp_path, "--answers", str(answers)))
    assert done.code == 4
    assert "step 'valve' (solenoid valve) has no answer" in done.err
    assert "rackwalk resume " in done.err
    resumed = command(*resume_words(tmp_path))
    assert LABEL.findall(resumed.out)[0].startswith("5/")


def test_a_refused_answer_says_where_it_stands(command: Command, tmp_path: Path) -> None:
    answers = tmp_path / "answers.yaml"
    answers.write_text(ANSWERS.replace("190 psig", "190 F"), encoding="utf-8")
    done = command(*run_words(tmp_path, "--answers", str(answers)))
    assert done.code == 4
    assert "answers.yaml:5:" in done.err
    assert "F is a unit of temperature" in done.err


def test_metric_units_are_asked_for_and_kept_in_the_job(command: Command, tmp_path: Path) -> None:
    done = command(*run_words(tmp_path, "--units", "si"), typed="y\n\n13.1\n")
    assert "3/14 bar> 13.1" in done.out
    assert "Kept: 13.10 bar" in done.out
    assert "bar> " in command(*resume_words(tmp_path)).out


def test_enter_alone_signs_for_nobody(command: Command, tmp_path: Path) -> None:
    typed = lines((*WALK[:-1], ("",)))
    done = command(*run_words(tmp_path, "--who", "A. Sample"), typed=typed)
    assert done.code == 5
    typed = lines((*WALK[:-1], ("", "B. Other")))
    done = command(*run_words(tmp_path, "--who", "A. Sample"), typed=typed)
    assert done.code == 0
    text = Path(done.last.removeprefix("Report: ")).read_text(encoding="utf-8")
    assert "signed by B. Other" in text
    assert "entered by A. Sample" in text


def test_every_line_fits_a_small_screen(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    done = command(*run_words(tmp_path), typed=lines(WALK[:-1]))
    shown = [line for line in done.out.splitlines() if not line.startswith("rackwalk resume")]
    assert max(map(len, shown)) <= 40


def test_help_gives_examples_and_exit_codes(command: Command) -> None:
    done = command("run", "--help")
    assert done.code == 0
    assert "rackwalk run hot-gas-defrost-checkout" in done.out
    assert "exit codes:" in done.out
