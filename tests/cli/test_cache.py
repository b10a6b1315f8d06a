"""What is kept between runs is never stale and never in the way."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.cli.job.cache import MOST, VARIABLE, cached


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
