"""A job that goes on after its checklist was revised: what was agreed to was what was shown."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.cli.frame.common import open_jobs
from expert.cli.frame.main import main
from expert.places import shipped

SITE = shipped("checklists") / "demo" / "site.yaml"
LIST = """
checklist:
  id: short-look
  title: Short look
  revision: 1
  purpose: For the test.
  subject: rack
  source: from memory
  phases:
    - id: first
      title: First
      stage: as found
      steps:
        - caution: job-hazard
        - caution: hot-surfaces
          id: hands
        - observe: door_closing
        - sign: Name
"""


def test_another_caution_at_the_same_id_is_asked_after_a_resume(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "short-look.yaml"
    path.write_text(LIST, encoding="utf-8")
    answers = tmp_path / "answers.yaml"
    answers.write_text("answers: {job-hazard: yes, hands: yes}\n", encoding="utf-8")
    jobs = ["--jobs", str(tmp_path)]
    run = ["run", str(path), "--site", str(SITE), "--subject", "A", "--answers", str(answers)]
    assert main([*run, *jobs]) == 4  # the answers stop before the door
    path.write_text(LIST.replace("caution: hot-surfaces", "caution: moving-fans"), encoding="utf-8")
    monkeypatch.setattr("sys.stdin", _TypedLines("q\n"))
    capsys.readouterr()
    assert main(["resume", "--checklist-file", str(path), "--plain", *jobs]) == 5
    shown = " ".join(capsys.readouterr().out.split())
    assert "CAUTION: Fans that start by themselves" in shown
    with open_jobs(tmp_path) as store:
        entries = store.entries(store.jobs()[0].id)
    assert [each.text("caution") for each in entries if each.kind == "acknowledge"] == [
        "job-hazard", "hot-surfaces",
    ]  # fmt: skip


class _TypedLines:
    """What is typed, line by line."""

    def __init__(self, text: str) -> None:
        self._lines = iter(text.splitlines(keepends=True))

    def readline(self) -> str:
        return next(self._lines, "")

    def isatty(self) -> bool:
        return False

    def fileno(self) -> int:
        raise OSError
