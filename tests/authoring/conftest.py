"""A company pack over the small rulebase of the corpus of mistakes."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase

BASE = Path(__file__).parent / "base"
HEAD = "pack: {name: our-pack, version: 1.0.0, over: small-base, base: ../base}\n"

WritePack = Callable[..., Path]


@pytest.fixture(scope="session")
def small_base() -> Rulebase:
    """The small rulebase."""
    return load_rulebase(BASE)


@pytest.fixture
def write_pack(tmp_path: Path) -> WritePack:
    """Writes a company pack over the small rulebase from the texts of its files."""

    def write(*texts: str, name: str = "pack") -> Path:
        if not (tmp_path / "base").exists():
            shutil.copytree(BASE, tmp_path / "base")
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        (folder / "pack.yaml").write_text(HEAD, encoding="utf-8")
        for number, text in enumerate(texts):
            (folder / f"file-{number}.yaml").write_text(text, encoding="utf-8")
        return folder

    return write
