from __future__ import annotations

from pathlib import Path

import pytest

from expert.errors import UsageError
from expert.store.paths import job_file, job_place


def test_the_folder_given_wins(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RACKWALK_HOME", "/elsewhere")
    assert job_file(tmp_path) == tmp_path / "jobs.db"


def test_the_variable_comes_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RACKWALK_HOME", str(tmp_path))
    assert job_file() == tmp_path / "jobs.db"


@pytest.mark.parametrize("value", [None, ""])
def test_without_either_it_is_the_users_data_folder(
    monkeypatch: pytest.MonkeyPatch, value: str | None
) -> None:
    monkeypatch.delenv("RACKWALK_HOME", raising=False)
    if value is not None:
        monkeypatch.setenv("RACKWALK_HOME", value)
    found = job_file()
    assert found.name == "jobs.db"
    assert found.parent.name == "rackwalk"


@pytest.mark.parametrize(
    "text",
    ["postgresql:/jobs.example/rackwalk", "postgersql://u:secret@h/d", "postgresql:u:secret@h/d",
     "http://jobs.example"],
)  # fmt: skip
def test_a_misspelt_address_is_refused_and_never_a_folder(text: str) -> None:
    with pytest.raises(UsageError, match="is no address of a job server") as refused:
        job_place(text)
    assert "secret" not in str(refused.value)


@pytest.mark.parametrize("text", ["C:/jobs", "jobs", "a:b/jobs", "/srv/jobs"])
def test_a_folder_stays_a_folder(text: str) -> None:
    assert job_place(text) == Path(text) / "jobs.db"
