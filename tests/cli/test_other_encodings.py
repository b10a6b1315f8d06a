"""Consoles, shells and files of other encodings: nothing they hold stops the program or is lost."""

from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import expert
from expert.cli.frame.settings import COMPANY_FILE, USER_FILE, keep, setting, user_file
from expert.procedure.sheet_lines import read_sheet_lines
from expert.store.jobs import JobStore

from .small_job import SMALL, Command, run_words

TOP = Path(__file__).parents[2]
PACKAGE = Path(expert.__file__).parent
HALF = "J\udcfcrgen"  # as Python hands over a word with a byte of another encoding


@pytest.fixture(autouse=True)
def _own_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(USER_FILE, str(tmp_path / "user" / "settings.yaml"))
    monkeypatch.setenv(COMPANY_FILE, str(tmp_path / "company" / "settings.yaml"))
    monkeypatch.delenv("RACKWALK_WHO", raising=False)


def in_console(encoding: str, *words: str, folder: Path | None = None) -> tuple[int, bytes, bytes]:
    """The command in a console of an encoding."""
    done = subprocess.run(
        [sys.executable, "-m", "expert", *words], capture_output=True, check=False, cwd=folder,
        env={**os.environ, "PYTHONPATH": str(TOP), "PYTHONIOENCODING": encoding},
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def opened_as_text(tree: ast.AST) -> Iterator[ast.Call]:
    """Calls that open a file as text and leave its encoding to the system."""
    for call in (each for each in ast.walk(tree) if isinstance(each, ast.Call)):
        method = isinstance(call.func, ast.Attribute)
        name = call.func.attr if isinstance(call.func, ast.Attribute) else (
            call.func.id if isinstance(call.func, ast.Name) else ""
        )  # fmt: skip
        owner = call.func.value if isinstance(call.func, ast.Attribute) else None
        if isinstance(owner, ast.Name) and (owner.id, name) == ("os", "open"):
            continue  # a number, no text
        named = {each.arg: each.value for each in call.keywords}
        if "encoding" in named:
            continue
        if name == "read_text" and not call.args or name == "write_text" and len(call.args) < 2:
            if method:
                yield call
        elif name in ("open", "fdopen"):
            place = 0 if method and name == "open" else 1  # of the mode
            mode = named.get("mode", call.args[place] if len(call.args) > place else None)
            how = mode.value if isinstance(mode, ast.Constant) else ("r" if mode is None else "")
            if isinstance(how, str) and how and set(how) <= set("rwax+t"):
                yield call


def test_no_file_is_opened_as_text_in_whatever_encoding_the_system_has() -> None:
    known = ast.parse("path.open()\nos.fdopen(1, 'w')\np.read_text()\np.write_text(t)\nopen(f)")
    fine = ast.parse("os.open(p, 1)\npath.open('rb')\np.read_text('utf-8')\nopen(f, 'wb')")
    assert len(list(opened_as_text(known))) == 5
    assert not list(opened_as_text(fine))
    found = [
        f"{path.relative_to(PACKAGE)}:{call.lineno}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for call in opened_as_text(ast.parse(path.read_text(encoding="utf-8")))
        if ast.unparse(call.func) not in ("self.desk.open",)  # a job, no file
    ]
    assert not found


def test_a_word_of_another_encoding_is_refused_and_the_next_command_works(
    command: Command,
) -> None:
    done = command("settings", "who", HALF)
    assert done.code == 2
    assert "'J\ufffdrgen' holds a sign in another encoding than that of this terminal" in done.err
    assert not user_file().exists()
    assert command("settings").code == 0


def test_a_name_typed_in_another_encoding_leaves_settings_that_can_be_read(
    command: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep("who", HALF, user_file())
    found = setting("who")
    assert found and found.value == "J\ufffdrgen"
    monkeypatch.setenv("RACKWALK_WHO", HALF)
    found = setting("who")
    assert found and (found.value, found.where) == ("J\ufffdrgen", "RACKWALK_WHO")
    assert command("settings").code == 0


def test_a_document_for_other_programs_loses_no_sign_in_any_console(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    name = "J\xfcrgen \u0141 \U0001f600"
    monkeypatch.setenv("RACKWALK_WHO", name)
    for encoding in ("cp1252", "utf-8"):
        code, out, err = in_console(encoding, "settings", "who", "--json")
        assert code == 0, err
        assert json.loads(out.decode("utf-8"))["settings"]["who"]["value"] == name
    assert b"\\u" not in out  # where the console has every sign they stand as they are


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such a name themselves")
def test_a_folder_with_a_name_of_another_encoding_is_told_and_not_kept(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = Path(os.fsdecode(os.fsencode(tmp_path) + b"/L\xe4den"))
    folder.mkdir()
    (folder / "site.yaml").write_bytes((SMALL / "site.yaml").read_bytes())
    monkeypatch.chdir(folder)
    done = command("settings", "site", "site.yaml")
    assert done.code == 2 and "L\ufffdden" in done.err, done.err
    assert command("settings").code == 0
    monkeypatch.setenv("RACKWALK_SITE", str(folder / "site.yaml"))
    monkeypatch.setenv("RACKWALK_HOME", str(tmp_path / "jobs"))
    done = command("sheet", str(SMALL / "checkout.yaml"), "--rulebase", str(SMALL / "rules"))
    assert done.code == 2 and "L\ufffdden" in done.err, done.err
    assert "Give it another name." in done.err
    done = command("list", "--site", str(folder / "site.yaml"))
    assert done.code == 2 and "L\ufffdden" in done.err, done.err


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_jobs_come_in_from_a_file_that_a_shell_wrote_in_its_own_encoding(
    command: Command, tmp_path: Path, encoding: str
) -> None:
    here, there, file = tmp_path / "here", tmp_path / "there", tmp_path / "jobs.jsonl"
    command(*run_words(here, "--who", "J\xfcrgen", "--plain"), typed="q\n")
    told = command("jobs", "export", "--jobs", str(here)).out
    file.write_text(told.replace("\n", "\r\n"), encoding=encoding, newline="")
    done = command("jobs", "import", str(file), "--jobs", str(there))
    assert done.code == 0, done.out
    with JobStore(there / "jobs.db") as store:
        assert [job.who for job in store.jobs()] == ["J\xfcrgen"]


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "utf-16"])
def test_readings_come_in_from_a_file_of_any_editor(tmp_path: Path, encoding: str) -> None:
    file = tmp_path / "readings.txt"
    file.write_text("head 215 psig\r\nambient 20 \xb0F\r\n", encoding=encoding, newline="")
    assert [line.value for line in read_sheet_lines(file)] == ["head 215 psig", "ambient 20 \xb0F"]


def test_a_job_goes_on_in_a_folder_with_spaces_and_accents(
    command: Command, tmp_path: Path
) -> None:
    jobs = tmp_path / "L\xe4den & S\xf6hne \U0001f600" / "a b"
    done = command(*run_words(jobs, "--who", "J\xfcrgen", "--plain"), typed="y\nq\n")
    assert done.code == 5
    with JobStore(jobs / "jobs.db") as store:
        (job,) = store.jobs()
    page = tmp_path / "Bericht \xfc.html"
    done = command(
        "report", job.id, "--jobs", str(jobs), "--rulebase", str(SMALL / "rules"),
        "--checklist-file", str(SMALL / "checkout.yaml"), "--output", str(page),
    )  # fmt: skip
    assert done.code == 0, done.err
    assert "J\xfcrgen" in page.read_text(encoding="utf-8")
