"""What is kept between runs is never stale and never in the way."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from expert.cli.job.cache import MOST, VARIABLE, cached, write_now


class Maker:
    """Makes a text from a file, and counts how often it did."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.made = 0

    def __call__(self) -> str:
        self.made += 1
        return self.file.read_text(encoding="utf-8")

    def cached(self, *more: str) -> str:
        return cached(str, [self.file], self, *more)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.delenv(VARIABLE, raising=False)  # the tests may be run without the cache
    monkeypatch.setattr("expert.cli.job.cache._folder", lambda: folder)
    return folder


@pytest.fixture
def maker(tmp_path: Path, cache: Path) -> Maker:
    file = tmp_path / "rules.yaml"
    file.write_text("one", encoding="utf-8")
    return Maker(file)


def test_the_same_files_are_read_once(maker: Maker) -> None:
    assert maker.cached() == maker.cached() == "one"
    assert maker.made == 1


def test_a_changed_file_is_read_anew(maker: Maker) -> None:
    maker.cached()
    maker.file.write_text("two", encoding="utf-8")
    assert maker.cached() == "two"


def test_what_it_depends_on_besides_counts_too(maker: Maker) -> None:
    maker.cached("rules of yesterday")
    maker.cached("rules of today")
    assert maker.made == 2


def test_a_damaged_file_is_made_again(maker: Maker, cache: Path) -> None:
    maker.cached()
    next(cache.iterdir()).write_bytes(b"not what was written")
    assert maker.cached() == "one"
    assert maker.made == 2


def test_something_of_another_kind_is_made_again(maker: Maker, cache: Path) -> None:
    import pickle

    maker.cached()
    next(cache.iterdir()).write_bytes(pickle.dumps(12))
    assert maker.cached() == "one"


def test_a_folder_that_cannot_be_written_does_no_harm(
    maker: Maker, cache: Path, tmp_path: Path
) -> None:
    cache.write_text("a file where the folder should be", encoding="utf-8")
    assert maker.cached() == "one"


def test_a_missing_file_is_left_to_the_reader_of_it(maker: Maker) -> None:
    maker.file.unlink()
    with pytest.raises(FileNotFoundError):
        maker.cached()


def test_nothing_is_kept_on_request(
    maker: Maker, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, "1")
    maker.cached()
    maker.cached()
    assert maker.made == 2
    assert not cache.exists()


def test_only_the_newest_are_kept(maker: Maker, cache: Path) -> None:
    for number in range(MOST + 3):
        maker.cached(str(number))
    assert len(list(cache.iterdir())) == MOST


def test_what_can_wait_is_written_once_and_then_found(
    maker: Maker, cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("expert.cli.job.cache._later", [])
    assert maker.cached() == "one" and not cache.exists()
    write_now()
    assert len(list(cache.iterdir())) == 1
    assert maker.cached() == "one" and maker.made == 1
    write_now()
    assert len(list(cache.iterdir())) == 1


def test_a_program_that_ends_before_writes_what_waited(tmp_path: Path) -> None:
    file = tmp_path / "rules.yaml"
    file.write_text("one", encoding="utf-8")
    begin = (
        "from pathlib import Path; from expert.cli.job.cache import cached, write_later\n"
        f"write_later(); cached(str, [Path({str(file)!r})], lambda: 'one')\n"
    )
    folder = {"XDG_CACHE_HOME": str(tmp_path), "LOCALAPPDATA": str(tmp_path)}
    environment = {name: each for name, each in os.environ.items() if name != VARIABLE}
    subprocess.run([sys.executable, "-c", begin], check=True, env={**environment, **folder})
    assert [*tmp_path.rglob("*.kept")]
