"""The command itself: finding sub-commands, telling errors, leaving in order."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from expert import __version__
from expert.cli.calc import calc_command as calc_command
from expert.cli.frame.main import COMMANDS, _negatives, main

from .small_job import Command

TOP = Path(__file__).parents[2]


def shell(line: str, **env: str) -> subprocess.CompletedProcess[str]:
    words = {**os.environ, "PYTHONPATH": str(TOP), "PY": sys.executable, **env}
    return subprocess.run(
        ["bash", "-c", f"set -o pipefail; {line}"], env=words, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


def test_without_a_command_the_help_is_shown(command: Command) -> None:
    done = command()
    assert done.code == 0
    for name, (_, text) in COMMANDS.items():
        assert f"  {name}" in done.out
        assert text in done.out


def test_the_version_is_told(command: Command) -> None:
    assert command("--version").out == f"rackwalk {__version__}\n"


@pytest.mark.parametrize(
    ("typed", "meant"), [("diagnos", "diagnose"), ("quantites", "quantities"), ("resum", "resume")]
)
def test_an_unknown_command_is_answered_with_the_nearest_one(
    command: Command, typed: str, meant: str
) -> None:
    done = command(typed)
    assert done.code == 2
    assert f"there is no command '{typed}'. Did you mean '{meant}'?" in done.err
    assert done.out == ""


def test_a_command_that_is_like_no_other_is_answered_with_the_way_to_the_help(
    command: Command,
) -> None:
    done = command("xyzzy")
    assert (done.code, done.err) == (
        2, "rackwalk: there is no command 'xyzzy'.\nTry: rackwalk --help\n",
    )  # fmt: skip


@pytest.mark.skipif(os.name == "nt", reason="closed by a shell of Unix")
@pytest.mark.parametrize(
    ("line", "code"),
    [("settings >&-", 0), ("settings --json >&- 2>&-", 0), ("xyzzy 2>&-", 2),
     ("run find-the-fault --who x <&-", 2), ("rules try <&-", 0)],
)  # fmt: skip
def test_a_closed_stream_is_as_an_empty_one(tmp_path: Path, line: str, code: int) -> None:
    done = shell(f'"$PY" -m expert {line}', RACKWALK_HOME=str(tmp_path))
    assert done.returncode == code, done.stderr
    assert "Traceback" not in done.stderr and "error in the program" not in done.stderr


def test_an_option_before_the_command_is_refused(command: Command) -> None:
    assert command("--units", "si", "calc", "list").code == 2


@pytest.mark.parametrize(
    ("words", "joined"),
    [
        (["--temperature", "-20F"], ["--temperature=-20F"]),
        (["--temperature", "-.5"], ["--temperature=-.5"]),
        (["--temperature=-20F", "-3"], ["--temperature=-20F", "-3"]),
        (["a", "-3"], ["a", "-3"]),
        (["--json", "--units"], ["--json", "--units"]),
    ],
)
def test_a_negative_number_is_the_value_of_the_option_before_it(
    words: list[str], joined: list[str]
) -> None:
    assert _negatives(words) == joined


def test_an_error_in_the_program_is_one_sentence_and_no_traceback(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(options: object) -> int:
        raise ZeroDivisionError("division by zero")

    monkeypatch.delenv("RACKWALK_DEBUG", raising=False)
    monkeypatch.setattr(calc_command, "run", broken)
    done = command("calc", "list")
    assert done.code == 70
    assert "an error in the program: ZeroDivisionError: division by zero" in done.err
    assert "Traceback" not in done.err


def test_the_traceback_of_an_error_in_the_program_comes_on_request(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(options: object) -> int:
        raise ZeroDivisionError

    monkeypatch.setenv("RACKWALK_DEBUG", "1")
    monkeypatch.setattr(calc_command, "run", broken)
    with pytest.raises(ZeroDivisionError):
        command("calc", "list")


def test_stopping_by_the_keyboard_is_told_and_has_its_own_exit_code(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(options: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(calc_command, "run", stopped)
    done = command("calc", "list")
    assert (done.code, done.err.strip()) == (5, "rackwalk: stopped.")


_PRESSED = """
import os, signal
from expert.cli.calc import calc_command
from expert.cli.frame import judged_by
from expert.cli.frame import main as frame
PRESS = "import os, signal; os.kill(os.getpid(), signal.SIGINT); [None for _ in range(1000)]"
def pressed(*_):
    exec(PRESS)
def told(*_):
    raise frame.UsageError("Not so.")
{place}
raise SystemExit(frame.main(["calc", "list"]))
"""


@pytest.mark.skipif(os.name == "nt", reason="there, no signal ends a program")
@pytest.mark.parametrize(
    "place",
    [
        "calc_command.run = pressed",
        "judged_by.begin = pressed",
        "calc_command.run = told; frame.complain = pressed",
        "frame._leave_closed_streams = pressed",
    ],
    ids=["while it makes a class", "at the start", "while an error is told", "at the end"],
)
def test_ctrl_c_has_its_exit_code_wherever_it_comes(place: str, tmp_path: Path) -> None:
    (tmp_path / "pressed.py").write_text(_PRESSED.format(place=place), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pressed"], cwd=tmp_path, capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": f"{TOP}{os.pathsep}{tmp_path}"}, check=False,
    )  # fmt: skip
    assert (done.returncode, "Traceback" in done.stderr) == (5, False), done.stderr


def test_a_wrong_unit_system_in_the_environment_is_refused(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RACKWALK_UNITS", "metric")
    done = command("quantities")
    assert done.code == 2
    assert "RACKWALK_UNITS is 'metric'; it can be us or si." in done.err


def test_the_unit_system_of_the_environment_is_taken(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RACKWALK_UNITS", "si")
    assert "C +/-" in command("calc", "saturation", "R-449A", "--pressure", "10").out


def test_an_option_with_a_wrong_word_is_answered_with_the_words_it_takes(command: Command) -> None:
    done = command("quantities", "--units", "imperial")
    assert done.code == 2
    assert "'imperial' is not known. Known: us, si." in done.err


@pytest.mark.parametrize("line", ["calc list | true", "quantities --json | head -n 1"])
def test_a_reader_that_goes_away_is_no_error(line: str) -> None:
    done = shell(f"$PY -m expert {line}")
    assert (done.returncode, done.stderr) == (0, "")


def test_output_that_the_terminal_cannot_show_is_no_error() -> None:
    done = shell(
        "$PY -m expert calc saturation R-449A --temperature '\N{MINUS SIGN}20 F' && "
        "$PY -m expert calc saturation R-449A --temperature '\N{SNOWMAN}'",
        PYTHONIOENCODING="ascii",
    )
    assert done.returncode == 4
    assert "is not a number" in done.stderr
    assert "Traceback" not in done.stderr


class _LookedAtScreen(io.StringIO):
    """A screen that somebody looks at."""

    def isatty(self) -> bool:
        return True


def test_a_line_goes_on_below_on_a_narrow_screen_and_no_word_is_cut(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    words = ["calc", "superheat", "R-449A", "--pressure", "12psig", "--line-temperature", "2F"]
    monkeypatch.setenv("COLUMNS", "40")
    shown = {}
    for stream in (_LookedAtScreen(), io.StringIO()):
        monkeypatch.setattr(sys, "stdout", stream)
        assert main(words) == 0
        shown[stream.isatty()] = stream.getvalue()
    assert max(map(len, shown[True].splitlines())) <= 40
    assert shown[True].split() == shown[False].split()
    assert "  source: definition;" in shown[True]
    assert "\n    " in shown[True]  # set in below its own line


def test_the_units_of_the_reader_come_first_and_the_plus_minus_is_in_them(
    command: Command,
) -> None:
    words = ["calc", "superheat", "R-449A", "--pressure", "0.83bar", "--line-temperature", "-16.7C"]
    told = command(*words, "--units", "si").out
    assert "pressure: 0.83 bar (12.0 psig) +/- 0.07 (usual)" in told
    assert "line temperature: -16.7 C (1.9 F) +/- 0.6 (usual)" in told
    assert "pressure: 12.0 psig (0.83 bar) +/- 1.0 (usual)" in command(*words).out
