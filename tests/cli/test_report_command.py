"""`rackwalk report`: views, formats, and where they go."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from expert.store.jobs import JobStore

from .small_job import SMALL, Command, lines, run_words


@pytest.fixture
def words(command: Command, tmp_path: Path) -> list[str]:
    """The words of `rackwalk report` for a finished job of the small checklist."""
    assert command(*run_words(tmp_path), typed=lines()).code == 0
    (report,) = (tmp_path / "reports").glob("*.md")
    return [
        "report", report.stem, "--jobs", str(tmp_path), "--rulebase", str(SMALL / "rules"),
        "--checklist-file", str(SMALL / "checkout.yaml"), "--engine", "plain",
    ]  # fmt: skip


def test_the_usual_report_is_the_technical_record(command: Command, words: list[str]) -> None:
    done = command(*words)
    path = Path(done.last.removeprefix("Report: "))
    assert path.name == f"{words[1]}.md"
    assert "## In short" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize("view", ["customer", "office"])
def test_a_view_has_a_file_of_its_own(command: Command, words: list[str], view: str) -> None:
    path = Path(command(*words, "--view", view, "--format", "html").last.removeprefix("Report: "))
    assert path.name == f"{words[1]}-{view}.html"
    assert path.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_the_format_follows_the_name_of_the_file(
    command: Command, words: list[str], tmp_path: Path
) -> None:
    for name, begins in (("a.html", "<!DOCTYPE"), ("a.md", "# "), ("a.HTM", "<!DOCTYPE")):
        assert command(*words, "--output", str(tmp_path / name)).code == 0
        assert (tmp_path / name).read_text(encoding="utf-8").startswith(begins)


def test_a_page_may_go_to_stdout(command: Command, words: list[str]) -> None:
    done = command(*words, "--view", "customer", "--format", "html", "--output", "-")
    assert done.out.startswith("<!DOCTYPE html>")
    assert done.out.endswith("</html>\n")


def test_all_views_go_into_a_folder(command: Command, words: list[str], tmp_path: Path) -> None:
    done = command(*words, "--all", str(tmp_path / "out"))
    assert done.code == 0
    names = {path.name.removeprefix(words[1]) for path in (tmp_path / "out").iterdir()}
    assert names == {
        f"-{v}{s}" for v in ("technical", "customer", "office") for s in (".md", ".html")
    }


def test_units_may_be_one_system(command: Command, words: list[str]) -> None:
    both = command(*words, "--output", "-").out
    si = command(*words, "--output", "-", "--units", "si").out
    assert "psig" in both and "bar" in both
    assert "psig" not in si.partition("What this rests on")[0]
    assert "bar" in si


def test_wrong_use_is_answered_with_a_sentence(command: Command, words: list[str]) -> None:
    done = command(*words, "--all", "x", "--view", "office")
    assert done.code == 2
    assert "--all writes every view in every format" in done.err
    done = command(*words, "--view", "ofice")
    assert done.code == 2
    assert "Did you mean 'office'?" in done.err


def test_the_choices_are_those_of_the_report() -> None:
    from expert.cli.checklist import report as command_module
    from expert.report import views

    assert (command_module.VIEWS, command_module.FORMATS) == (views.VIEWS, views.FORMATS)


def test_letterhead_of_the_pack_and_work_order_stand_above_every_view(
    command: Command, words: list[str], tmp_path: Path
) -> None:
    pack = tmp_path / "pack"
    shutil.copytree(SMALL / "rules", pack)
    (pack / "letterhead.txt").write_text("Example <Refrigeration>\n\n", encoding="utf-8")
    own = [str(pack) if word == str(SMALL / "rules") else word for word in words]
    assert command(*own, "--order", "W-1042", "--all", str(tmp_path / "all")).code == 0
    pages = sorted((tmp_path / "all").iterdir())
    assert len(pages) == 6
    for page in pages:
        text = page.read_text(encoding="utf-8")
        assert "Work order W-1042" in text.replace("\\", "")
        assert "<Refrigeration>" not in text.replace("\\<", "") or page.suffix == ".md"


def test_a_pack_has_plain_words_of_its_own(
    command: Command, words: list[str], tmp_path: Path
) -> None:
    pack = tmp_path / "pack"
    shutil.copytree(SMALL / "rules", pack)
    own = [str(pack) if word == str(SMALL / "rules") else word for word in words]
    customer = ("--view", "customer", "--output", "-")
    said = "The pressure that clears a defrost was too low at your store <invented>."
    assert "was too low at your store" not in command(*words, *customer).out
    plain = pack / "reports" / "plain.yaml"
    plain.parent.mkdir()
    plain.write_text(f"causes:\n  set-low: {said}\n", encoding="utf-8")
    assert "was too low at your store" in command(*own, *customer).out
    assert "<invented>" not in command(*own, *customer, "--format", "html").out
    assert command("rules", "check", "--rulebase", str(pack)).code == 0
    plain.write_text(f"causes:\n  set-lwo: {said}\n", encoding="utf-8")
    refused = command("rules", "check", "--rulebase", str(pack))
    assert refused.code == 3
    assert "plain.yaml:2:3" in refused.err
    assert "There is no cause 'set-lwo'" in refused.err and "'set-low'" in refused.err


def test_the_number_of_the_work_order_is_kept_in_the_job(command: Command, tmp_path: Path) -> None:
    done = command(*run_words(tmp_path, "--order", " W-1042 ", "--plain"), typed=lines())
    assert done.code == 0, done.err
    with JobStore(tmp_path / "jobs.db") as store:
        job = store.jobs()[0].id
        kept = [each.text("order") for each in store.entries(job) if each.text("order")]
    assert kept == ["W-1042"]
    words = ("report", job, "--jobs", str(tmp_path), "--rulebase", str(SMALL / "rules"))
    more = ("--checklist-file", str(SMALL / "checkout.yaml"), "--engine", "plain", "--output", "-")
    assert "W-1042" in command(*words, *more, "--view", "office").out
    assert "W-7" in command(*words, *more, "--order", "W-7").out
