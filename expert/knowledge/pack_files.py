"""The files a rulebase is read from, found without reading them as YAML."""

from __future__ import annotations

import re
from os.path import normpath
from pathlib import Path

from expert.places import shipped

_PACK = re.compile(r"^pack:(.*?)(?=^\S|\Z)", re.MULTILINE | re.DOTALL)
_BASE = re.compile(r"(?:^|[{,])\s*base:\s*[\"']?([^\"',}\n#]+)", re.MULTILINE)
_OVER = re.compile(r"(?:^|[{,])\s*over:", re.MULTILINE)


def rulebase_files(folder: Path) -> tuple[Path, ...]:
    """Every file of a pack and of the packs below it; all that a rulebase depends on."""
    found: dict[Path, None] = {}
    waiting, seen = [folder], set()
    while waiting:
        place = waiting.pop()
        if place.resolve() in seen:
            continue
        seen.add(place.resolve())
        files = sorted(place.rglob("*.yaml"))
        found.update(dict.fromkeys(files))
        waiting += _below(place, files)
    return tuple(found)


def _below(folder: Path, files: list[Path]) -> list[Path]:
    """The folder of the pack below, if there is one. A `pack.yaml` is looked at first."""
    for path in sorted(files, key=lambda path: path.name != "pack.yaml"):
        pack = _PACK.search(path.read_text(encoding="utf-8-sig", errors="replace"))
        if pack is None:
            continue
        if not _OVER.search(pack[1]):
            return []
        base = _BASE.search(pack[1])
        named = Path(normpath(folder / base[1].strip())) if base else None
        return [named or shipped("rulebase")]
    return []
