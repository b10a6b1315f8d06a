"""What is packed into a wheel: found where the files are what they were, wherever they lie."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from expert.cli.job import cache, shipped_kept
from expert.cli.job.shipped_kept import FOLDER, packed, packing
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase

from .small_job import SMALL


def lies_in(root: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, list[Path]]:
    """The place and the files of a rulebase in a folder that counts as that of the program."""
    monkeypatch.setattr(shipped_kept, "shipped", lambda name: root / name)
    monkeypatch.delenv(cache.VARIABLE, raising=False)  # the tests may be run without the cache
    place = root / "rulebase"
    return place, sorted(place.glob("*.yaml"))


def test_what_was_packed_is_found_elsewhere_with_the_paths_there_until_a_file_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(SMALL / "rules", tmp_path / "built" / "rulebase")
    place, files = lies_in(tmp_path / "built", monkeypatch)
    with packing(tmp_path / "built" / FOLDER):
        cache.cached(Rulebase, files, lambda: load_rulebase(place), str(place))
    shutil.move(tmp_path / "built", tmp_path / "installed")
    place, files = lies_in(tmp_path / "installed", monkeypatch)

    def make() -> Rulebase:
        raise AssertionError("it was made again")

    assert cache.cached(Rulebase, files, make, str(place)) == load_rulebase(place)
    files[0].write_text(files[0].read_text("utf-8") + "\n# changed\n", encoding="utf-8")
    assert packed(Rulebase, files, [str(place)]) is None
    assert packed(Rulebase, [SMALL / "site.yaml"], []) is None  # no file of the program
