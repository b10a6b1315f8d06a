"""What the shell is offered while a command line is typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.cli.frame.main import COMMANDS
from expert.cli.job.completion import COMPLETERS, checklists, jobs, parser_of, subjects
from expert.places import shipped

from .small_job import Command, run_words


def test_every_command_is_offered_and_its_names_have_completers() -> None:
    parser = parser_of(COMMANDS)
    (below,) = (each for each in parser._actions if each.choices)
    assert list(below.choices or ()) == list(COMMANDS)
    found = {
        option.dest
        for each in (below.choices or {}).values()  # type: ignore[union-attr]
        for option in each._actions
        if hasattr(option, "completer")
    }
    assert set(COMPLETERS) <= found


def test_jobs_checklists_and_circuits_are_offered(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RACKWALK_HOME", str(tmp_path))
    monkeypatch.setenv("RACKWALK_SITE", str(shipped("checklists") / "demo" / "site.yaml"))
    assert jobs() == []
    command(*run_words(tmp_path, "--who", "A. Sample", "--plain"), typed="q\n")
    assert len(jobs()) == 1
    assert "leak-inspection-and-repair" in checklists()
    assert "A4" in subjects()


def offered(line: str) -> list[str]:
    """What the shell is offered for the last word of a line, as argcomplete is asked for it."""
    argcomplete = pytest.importorskip("argcomplete", reason="pip install '.[completion]'")
    finder = argcomplete.CompletionFinder(parser_of(COMMANDS, line), always_complete_options=False)
    quote, prefix, _, words, colon = argcomplete.split_line(line)
    found = finder._get_completions(words, prefix, quote, colon)
    return [each.strip() for each in found]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("rackwalk site set A", "A4"),
        ("rackwalk site set si", "site"),
        ("rackwalk site set A4 'drip time se", "drip time setting"),
        ('rackwalk site set A4 "drip time se', "drip time setting"),
        ("rackwalk site set A4 drip", r"drip\ time\ setting"),
        ("rackwalk site set A4 'place of the defrost differential regulator' 'liq", "liquid line"),
        ("rackwalk site set site jurisdiction 'Eur", "European Union"),
        ("rackwalk site set A refrigerant R-448", "R-448A"),
        ("rackwalk site show 'Tam", "Tamarack Hollow Market (invented)"),
        ("rackwalk run 'warm-c", "warm-case-triage"),
    ],
)
def test_values_of_several_words_are_completed_in_quotes_too(
    line: str, expected: str, command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("RACKWALK_HOME", str(tmp_path))
    demo = shipped("checklists") / "demo" / "site.yaml"
    monkeypatch.setenv("RACKWALK_SITE", str(demo))
    if " show " in line:
        command("site", "keep", str(demo), "--jobs", str(tmp_path))
    assert expected in offered(line)


def test_a_number_has_no_words_to_offer() -> None:
    assert offered("rackwalk site set A4 'drip time setting' 5") == []


def test_options_of_an_action_are_offered() -> None:
    assert "--history" in offered("rackwalk site show --hist")
    assert "--who" in offered("rackwalk refrigerant add --wh")
