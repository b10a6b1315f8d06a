"""The author's commands as they are typed: what they print, write and give back."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from shipped_knowledge import load_over_shipped, shipped_rules

from expert.author.files.json_schema import FILES
from expert.author.interview.draft import read_draft
from expert.cli.frame.main import main
from expert.cli.rules.try_readings import HELP

from .conftest import BASE, WritePack
from .person import typed
from .test_interview import FAN

ANSWERS = """\
when: [case_fans is all stopped, case_air is high]
points_to: fan-motor-dead
strength: weak
because: No fan moves the warm air away.
source: common practice
rule: fans-and-air
fires: {case_fans: all stopped, case_air: 12 F}
silent: {case_fans: running, case_air: 12 F}
"""
READINGS = "case_air: 12 F\ncase_fans: all stopped\n"


class AuthorCommand:
    def __init__(self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        self.monkeypatch = monkeypatch
        self.capsys = capsys

    def __call__(self, *words: object, typed: str = "") -> tuple[int, str, str]:
        self.monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        try:
            code = main(["rules", *map(str, words)])
        except SystemExit as ended:
            code = int(ended.code or 0)
        out, err = self.capsys.readouterr()
        return code, out, err


@pytest.fixture
def rules(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> AuthorCommand:
    kept = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGHUP)}
    yield AuthorCommand(monkeypatch, capsys)  # type: ignore[misc]
    for number, handler in kept.items():
        signal.signal(number, handler)


def test_each_action_explains_itself_with_an_example(rules: AuthorCommand) -> None:
    for action in ("try", "new", "format", "schema", "handbook", "compare"):
        code, out, _ = rules(action, "--help")
        assert code == 0
        assert f"rackwalk rules {action}" in out.partition("examples:")[2]


def test_check_says_what_a_pack_changes(rules: AuthorCommand, write_pack: WritePack) -> None:
    folder = write_pack(
        "override_limits:\n  - {limit: case-air, very_high: 8 F, reason: They are old.,\n"
        "     author: A. Sample, date: 2026-03-14, source: common practice}\n"
    )
    code, out, _ = rules("check", "--rulebase", folder)
    assert code == 0
    assert "over small-base 1.0.0" in out
    assert "very high above: 8.0 F, was 5.0 F. They are old. (A. Sample, 2026-03-14" in out
    code, out, _ = rules("check", "--rulebase", folder, "--json")
    assert len(json.loads(out)["changes"]) == 2


def test_format_writes_only_what_is_in_another_layout(rules: AuthorCommand, tmp_path: Path) -> None:
    good, other = tmp_path / "good.yaml", tmp_path / "other.yaml"
    good.write_text("signs:\n  - id: a\n    says: x\n")
    other.write_text("signs:\n- says: x\n  id: a\n")
    before = good.stat().st_mtime_ns
    code, out, _ = rules("format", "--check", tmp_path)
    assert (code, other.read_text()) == (3, "signs:\n- says: x\n  id: a\n")
    assert f"{other}:2: not in the usual layout" in out
    assert rules("format", tmp_path)[0] == 0
    assert other.read_text() == good.read_text()
    assert good.stat().st_mtime_ns == before
    assert rules("format", "--check", tmp_path)[0] == 0


def test_format_leaves_a_file_that_cannot_be_read_and_does_the_others(
    rules: AuthorCommand, tmp_path: Path
) -> None:
    (tmp_path / "a.yaml").write_text("signs: [\n")
    (tmp_path / "b.yaml").write_text("signs:\n- {id: a,\n   says: x}\n")
    code, out, err = rules("format", tmp_path)
    assert code == 3
    assert "a.yaml:1:8" in err
    assert (tmp_path / "b.yaml").read_text() == "signs:\n  - {id: a, says: x}\n"


@pytest.mark.parametrize("words", [("format",), ("format", "nowhere.yaml"), ("schema",),
                                   ("schema", "rulebse"), ("new",), ("try", "--set", "x"),
                                   ("compare", "shipped")])  # fmt: skip
def test_a_command_used_wrongly_says_what_it_needs(
    rules: AuthorCommand, words: tuple[str, ...]
) -> None:
    code, _, err = rules(*words)
    assert code == 2
    assert err.count("\n") <= 3


def test_schema_writes_all_files_and_prints_one(rules: AuthorCommand, tmp_path: Path) -> None:
    code, out, _ = rules("schema", "--rulebase", BASE, "--write", tmp_path)
    assert code == 0
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == sorted(FILES.values()) and "practice.schema.json" in names
    assert all(str(tmp_path / name) in out for name in names)
    code, out, _ = rules("schema", "site", "--rulebase", BASE)
    assert json.loads(out) == json.loads((tmp_path / "site.schema.json").read_text())


def test_handbook_goes_to_a_file_or_to_the_screen(rules: AuthorCommand, tmp_path: Path) -> None:
    path = tmp_path / "deep" / "book.md"
    assert rules("handbook", "--rulebase", BASE, "--output", path)[0] == 0
    code, out, _ = rules("handbook", "--rulebase", BASE)
    assert code == 0
    assert path.read_text() == out
    assert out.startswith("# Small base for tests\n")


def test_compare_tells_knowledge_and_who_is_judged_differently(
    rules: AuthorCommand, write_pack: WritePack, tmp_path: Path
) -> None:
    folder = write_pack(
        "switch_off:\n  - {rule: fans-stopped, reason: No., author: A. Sample, date: 2026-03-14}\n"
    )
    cases = tmp_path / "cases"
    cases.mkdir()
    (cases / "one.yaml").write_text(f"refrigerant: R-449A\n{READINGS}")
    words = ("compare", BASE, folder, "--scenarios", cases)
    code, out, _ = rules(*words)
    assert code == 0
    assert "rule fans-stopped removed: strong for 'Case fan motor dead'" in out
    assert "no longer found: Case fan motor dead, was likely (0.75)" in out
    totals = (
        "1 cases judged by both, 1 of them differently.\nCase fan motor dead: no longer in 1.\n"
    )
    assert out.endswith(totals)
    document = json.loads(rules(*words, "--json")[1])
    assert document["judged"] == 1
    assert [each["id"] for each in document["knowledge"]] == ["fans-stopped"]
    assert document["judged_differently"][0]["case"] == str(cases / "one.yaml")


def test_compare_says_when_nothing_changed(rules: AuthorCommand) -> None:
    assert "Nothing changed in what they know." in rules("compare", BASE, BASE)[1]


def test_compare_without_a_job_file_says_where_it_looked(
    rules: AuthorCommand, tmp_path: Path
) -> None:
    code, _, err = rules("compare", BASE, BASE, "--jobs", tmp_path)
    assert code == 2
    assert str(tmp_path) in err
    assert not list(tmp_path.iterdir())


def test_try_tells_after_each_line_what_it_changed(rules: AuthorCommand) -> None:
    code, out, _ = rules(
        "try", "--rulebase", BASE, "--set", "case_fans=all stopped",
        typed="# a remark\n\ncase_air 12 F\ncase_air = 12 F\nunset case_air\nquit\nnever read\n",
    )  # fmt: skip
    assert code == 0
    assert "found: Case fan motor dead, likely (0.75)" in out
    assert "Nothing else changes." in out
    assert "no longer found: Case fan motor dead" in out


def test_try_answers_why_next_find_show_and_help(rules: AuthorCommand, tmp_path: Path) -> None:
    path = tmp_path / "readings.yaml"
    path.write_text(READINGS)
    code, out, _ = rules(
        "try", path, "--rulebase", BASE, typed="why fan-motor-dead\nnext\nfind fan\nshow\nhelp\n"
    )
    assert code == 0
    for said in ("fans-stopped, for it (0.75): fires", "quantity case_fans: case fans",
                 "cause fan-motor-dead", "Engine:", "save FILE"):  # fmt: skip
        assert said in out


def test_try_saves_what_diagnose_reads(
    rules: AuthorCommand, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "kept.yaml"
    lines = f"case_air 12 F\ncase_fans all stopped\nsave {path}\n"
    assert rules("try", "--rulebase", BASE, typed=lines)[0] == 0
    assert main(["diagnose", str(path), "--rulebase", str(BASE)]) == 0
    assert "Case fan motor dead: likely" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("case_iar 12 F", "Did you mean 'case_air'"), ("case_air", "Write NAME VALUE"),
        ("why fan-moter-dead", "Did you mean 'fan-motor-dead'"), ("save", "Save where?"),
        ("unset case_air", "is not set"), ("save /nowhere/at/all.yaml", "Cannot write"),
        ("case_air 12", "case_air"),
    ],
)  # fmt: skip
def test_a_line_that_try_refuses_is_told_and_the_next_is_read(
    rules: AuthorCommand, line: str, says: str
) -> None:
    code, out, _ = rules("try", "--rulebase", BASE, typed=f"{line}\ncase_fans all stopped\nshow\n")
    assert says in out
    assert "case_fans: all stopped" in out
    assert code == (0 if line == "case_air 12" else 4)


def test_new_writes_a_rule_from_answers_and_proves_it(
    rules: AuthorCommand, write_pack: WritePack, tmp_path: Path
) -> None:
    folder, answers = write_pack(), tmp_path / "answers.yaml"
    answers.write_text(ANSWERS)
    code, out, _ = rules("new", "--rulebase", folder, "--from", answers)
    assert code == 0
    assert "2 of its tests pass" in out
    made = load_over_shipped(folder).rules["fans-and-air"]
    assert made.evidence_for == {"fan-motor-dead": "weak"}
    assert [test.expect for test in made.tests] == ["fires", "silent"]
    assert rules("format", "--check", folder / "rules")[0] == 0


def test_new_writes_into_the_folder_of_the_system_where_a_pack_has_such(
    rules: AuthorCommand, write_pack: WritePack, tmp_path: Path
) -> None:
    folder, answers = write_pack(), tmp_path / "answers.yaml"
    answers.write_text(ANSWERS)
    (folder / "cooling").mkdir()
    assert rules("new", "--rulebase", folder, "--from", answers)[0] == 0
    system = load_over_shipped(folder).causes["fan-motor-dead"].system
    assert (folder / system / "rules-fans-and-air.yaml").is_file()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("because: No fan moves the warm air away.\n", "", "lack 'because'"),
        ("points_to: fan-motor-dead", "points_to: fan-moter-dead", "'fan-motor-dead'"),
        ("case_air is high]", "case_air is hihg]", "'high'"),
        ("silent: {case_fans: running", "silent: {case_fans: all stopped", "but it was fires"),
        ("rule: fans-and-air", "rule: warm-air", "already there"),
        ("source: common practice", "source: heard it", "no source label"),
    ],
)  # fmt: skip
def test_new_writes_nothing_where_something_is_wrong(
    rules: AuthorCommand, write_pack: WritePack, tmp_path: Path, old: str, new: str, says: str
) -> None:
    folder, answers = write_pack(), tmp_path / "answers.yaml"
    assert old in ANSWERS
    answers.write_text(ANSWERS.replace(old, new))
    code, out, err = rules("new", "--rulebase", folder, "--from", answers)
    assert code == 3
    assert says in out + err
    assert sorted(path.name for path in folder.rglob("*")) == ["pack.yaml"]


def test_new_does_not_write_over_a_file(
    rules: AuthorCommand, write_pack: WritePack, tmp_path: Path
) -> None:
    folder, answers = write_pack(), tmp_path / "answers.yaml"
    answers.write_text(ANSWERS)
    assert rules("new", "--rulebase", folder, "--from", answers)[0] == 0
    before = (folder / "rules" / "fans-and-air.yaml").read_text()
    answers.write_text(ANSWERS.replace("weak", "strong"))
    assert rules("new", "--rulebase", folder, "--from", answers)[0] == 3
    assert (folder / "rules" / "fans-and-air.yaml").read_text() == before


def test_new_begins_a_pack_over_the_shipped_rulebase(rules: AuthorCommand, tmp_path: Path) -> None:
    folder = tmp_path / "My Store"
    code, out, _ = rules("new", "--rulebase", folder, typed="our-store\n")
    assert code == 5
    assert (folder / "pack.yaml").read_text().startswith("pack: {name: our-store, version: 0.1.0,")
    assert str(load_over_shipped(folder).info).startswith("our-store 0.1.0")


def test_new_asks_writes_and_forgets_its_draft(rules: AuthorCommand, write_pack: WritePack) -> None:
    folder = write_pack()
    code, out, _ = rules("new", "--rulebase", folder, typed=_lines(FAN) + "\n")
    assert code == 0, out
    assert "evidence_for: {fan-motor-dead: strong}" in out
    assert sorted(path.name for path in folder.iterdir()) == ["pack.yaml", "rules"]
    assert "case-fans-fan-motor-dead" in load_over_shipped(folder).rules


def test_new_goes_on_with_a_draft_or_begins_anew(
    rules: AuthorCommand, write_pack: WritePack
) -> None:
    folder = write_pack()
    half = _lines(FAN).split("\n")
    assert rules("new", "--rulebase", folder, typed="\n".join(half[:9]))[0] == 5
    rest = "\n".join(["1", *half[8:]])
    code, out, _ = rules("new", "--rulebase", folder, typed=rest + "\n")
    assert code == 0, out
    assert rules("new", "--rulebase", folder, typed="case fans\n1\n3\n")[0] == 5
    code, out, _ = rules("new", "--rulebase", folder, typed="2\n")
    assert "They are kept in" in out
    assert read_draft(folder / "new-rule.draft.old")["when"] == ["case_fans is all stopped"]


def test_no_to_the_last_question_keeps_the_draft(
    rules: AuthorCommand, write_pack: WritePack
) -> None:
    folder = write_pack()
    code, _, err = rules("new", "--rulebase", folder, typed=_lines(FAN) + "2\n")
    assert code == 5
    assert "new-rule.draft" in err
    assert read_draft(folder / "new-rule.draft")["rule"] == "case-fans-fan-motor-dead"
    assert not (folder / "rules").exists()


def test_nothing_is_lost_on_ctrl_c(write_pack: WritePack) -> None:
    folder = write_pack()
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    program = subprocess.Popen(
        [sys.executable, "-m", "expert", "rules", "new", "--rulebase", str(folder)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env=environment,
    )  # fmt: skip
    assert program.stdin
    program.stdin.write("case fans\n1\n3\ndischarge\n")
    program.stdin.flush()
    draft = folder / "new-rule.draft"
    deadline = time.monotonic() + 60
    while not (draft.exists() and "all stopped" in draft.read_text()):
        assert time.monotonic() < deadline
        time.sleep(0.05)
    program.send_signal(signal.SIGINT)
    _, told = program.communicate(timeout=60)
    assert program.returncode == 5
    assert str(draft) in told
    assert read_draft(draft)["when"] == ["case_fans is all stopped"]


def _lines(script: str) -> str:
    return "".join(f"{line}\n" for line in typed(script))


def test_what_the_help_of_try_names_is_in_the_rulebase() -> None:
    names = set(re.findall(r"\b[a-z]+_[a-z_]+\b", HELP))
    assert {"return_air", "hot_gas_valve"} <= names <= set(shipped_rules().quantities)
