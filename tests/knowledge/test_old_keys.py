"""Keys as they were called before are read, named in a sentence, and renewed by the formatter."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiny_rulebase import TINY

from expert.author.files.yaml_layout import format_text
from expert.cli.frame.main import main
from expert.errors import PackError
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.old_keys import RENAMED

MORE = """\
quantities:
  - id: door_left_open
    title: door left open
    subject: circuit
    kind: choice
    choices: [open, shut]
    lasting: yes  # it was so before
    where: the door
    with: eyes
    effort: 1
    cautions: []
    source: common practice
cautions:
  - id: pressure
    title: pressure
    say: Open slowly.
    ask: Are you out of the way?
    beyond_looking: gauges
    source: common practice
"""


@pytest.fixture
def pack(tmp_path: Path) -> Path:
    folder = tmp_path / "pack"
    folder.mkdir()
    (folder / "tiny.yaml").write_text(TINY, encoding="utf-8")
    (folder / "more.yaml").write_text(MORE, encoding="utf-8")
    return folder


def test_an_old_key_is_read_as_the_new_one(pack: Path) -> None:
    base = load_rulebase(pack)
    assert base.quantities["door_left_open"].carried_over
    assert base.cautions["pressure"].access == "gauges"


def test_the_check_says_what_it_is_called_now(
    pack: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rules", "check", "--rulebase", str(pack)]) == 0
    said = capsys.readouterr().out
    assert "more.yaml:7:5: 'lasting' is now called 'carried_over'" in said
    assert "'beyond_looking' is now called 'access'" in said
    assert "'rackwalk rules format' renews it" in said


def test_the_formatter_renews_it_and_then_nothing_is_said(
    pack: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = load_rulebase(pack)
    assert main(["rules", "format", str(pack / "more.yaml")]) == 0
    text = (pack / "more.yaml").read_text(encoding="utf-8")
    assert "carried_over: yes  # it was so before" in text and "access: gauges" in text
    assert not any(old in text for names in RENAMED.values() for old in names)
    after = load_rulebase(pack)
    assert after.cautions["pressure"].access == before.cautions["pressure"].access
    capsys.readouterr()
    assert main(["rules", "check", "--rulebase", str(pack)]) == 0
    assert "is now called" not in capsys.readouterr().out


def test_both_names_in_one_entry_are_refused(pack: Path) -> None:
    path = pack / "more.yaml"
    text = MORE.replace("    lasting: yes", "    carried_over: yes\n    lasting: yes")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(PackError, match="'lasting' is not known"):
        load_rulebase(pack)
    assert "    lasting: yes" in format_text(text)


@pytest.mark.parametrize("words", [[""], [" "], ["--rulebase", ""], ["--check", "more.yaml", ""]])
def test_an_empty_name_is_not_the_folder_one_is_in(
    pack: Path, words: list[str], capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(pack)
    before = (pack / "more.yaml").read_text(encoding="utf-8")
    assert main(["rules", "format", *words]) == 2
    assert "is empty" in capsys.readouterr().err
    assert (pack / "more.yaml").read_text(encoding="utf-8") == before
    assert main(["rules", "format", "."]) == 0
    assert (pack / "more.yaml").read_text(encoding="utf-8") != before
