"""The walk-through of README.md works as it is written, on a fresh folder."""

from __future__ import annotations

import io
import re
import shlex
from pathlib import Path

import pytest
from shipped_knowledge import load_over_shipped

from expert.cli.frame.main import main

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
PART = README.partition("### Teach it something")[2].partition("\n## ")[0]
BLOCK = re.compile(r"^( *)```(\w+)\n(.*?)^\1```$", re.MULTILINE | re.DOTALL)


def blocks(language: str) -> list[str]:
    found = []
    for indent, kind, text in BLOCK.findall(PART):
        if kind == language:
            found.append("\n".join(line.removeprefix(indent) for line in text.split("\n")))
    return found


@pytest.fixture
def walked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The files of the walk-through, written in a fresh folder that is the one worked in."""
    monkeypatch.chdir(tmp_path)
    for text in blocks("yaml"):
        name = re.match(r"# (our-store/\S+)\n", text)
        if name:
            path = tmp_path / name[1]
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
    return tmp_path / "our-store"


def test_the_files_are_a_pack_with_a_cause_a_limit_and_two_rules(walked: Path) -> None:
    made = load_over_shipped(walked)
    assert "fins-flattened-by-hail" in made.causes
    assert "flattened-fins" in {limit.id for limit in made.limits}
    assert {"flat-fins-and-head-high", "fins-stand-straight"} <= set(made.rules)


def test_every_command_of_it_does_what_is_said(
    walked: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    said = []
    for text in blocks("sh"):
        for line in text.strip().split("\n"):
            monkeypatch.setattr("sys.stdin", io.StringIO())
            assert main(shlex.split(line)[1:]) == 0, line
            said.append(capsys.readouterr().out)
    assert "1 quantity, 1 limit, 1 cause, 2 rules" in said[0]
    assert "rule tests: 4 passed, 0 failed" in said[1]
    assert "Condenser fins flattened by hail" in said[2]


def test_the_changes_it_shows_can_be_made(walked: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (changes,) = [text for text in blocks("yaml") if text.startswith("override_limits")]
    (walked / "changes.yaml").write_text(changes, encoding="utf-8")
    assert main(["rules", "check", "--rulebase", "our-store"]) == 0
    out = capsys.readouterr().out
    assert "normal 16.0 to 20.0 psi, was 15.0 to 23.0 psi. Our long remote headers" in out
    assert "- low-differential-before-it-shows: Our coils are cleared" in out


def test_a_spoilt_line_of_it_is_told_with_what_was_meant(
    walked: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = walked / "hail.yaml"
    path.write_text(path.read_text().replace("flattened_fins is high", "flatened_fins is high"))
    assert main(["rules", "check", "--rulebase", "our-store"]) == 3
    assert "Did you mean 'flattened_fins'?" in capsys.readouterr().err


def test_every_action_of_its_table_is_there() -> None:
    from expert.cli.rules.rules_command import ACTIONS

    named = set(
        re.findall(r"`(\w+)", PART.partition("| `rackwalk rules ...`")[2].partition("\n\n")[0])
    )
    assert named - {"rackwalk"} == set(ACTIONS)
