"""The files a rulebase is read from, found without reading them as YAML."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from os.path import normpath
from pathlib import Path

from expert.places import shipped, shipped_cases

CHECKLISTS = "checklists"  # a folder of a pack with checklists of its own
REPORTS = "reports"  # a folder of a pack with plain words of its own
PRACTICE = "practice"  # a folder of a pack with exercises, and what can be done in them
LETTERHEAD = "letterhead.txt"  # lines of a pack that stand above every view of a report
CASES = "cases"  # a folder of a pack with whole cases
BESIDE = (CHECKLISTS, REPORTS, CASES, PRACTICE)  # folders of a pack that hold no rules
_PACK = re.compile(r"^pack:(.*?)(?=^\S|\Z)", re.MULTILINE | re.DOTALL)
_BASE = re.compile(r"(?:^|[{,])\s*base:\s*[\"']?([^\"',}\n#]+)", re.MULTILINE)
_OVER = re.compile(r"(?:^|[{,])\s*over:", re.MULTILINE)
_SHIPPED = re.compile(r"\bname:\s*[\"']?rackwalk-base\b")
_MISNAMED = re.compile(r"\.(yml|ya?ml\.(txt|doc|rtf|text))$", re.IGNORECASE)


def pack_files(folder: Path) -> tuple[Path, ...]:
    """The files of one pack in which rules and all that belongs to them stand."""
    found: list[str] = []
    for place, folders, files in os.walk(folder):  # each start looks here; rglob takes five times
        if place == str(folder):
            folders[:] = [each for each in folders if each not in BESIDE]
        found += (os.path.join(place, name) for name in files if name.endswith(".yaml"))  # noqa: PTH118
    return tuple(map(Path, sorted(found, key=_parts)))


def _parts(path: str) -> list[str]:
    return path.split(os.sep)  # noqa: PTH206 - Path would cost what was saved


def misnamed(folder: Path) -> tuple[Path, ...]:
    """Files that were meant for the pack and would not be read, as editors and mail name them."""
    return tuple(sorted(each for each in folder.rglob("*.*") if _MISNAMED.search(each.name)))


def rulebase_files(folder: Path) -> tuple[Path, ...]:
    """Every file of a pack and of the packs below it; all that a rulebase depends on."""
    return tuple(path for place in pack_folders(folder) for path in pack_files(place))


def checklist_folders(folder: Path | None) -> tuple[Path, ...]:
    """Where checklists lie: in the packs of a folder, from the top one down, then the shipped."""
    packs = pack_folders(folder or shipped("rulebase"))
    own = [place for each in packs if (place := each / CHECKLISTS).is_dir()]
    return (*own, shipped(CHECKLISTS)) if _is_shipped(packs[-1]) else tuple(own)


def practice_files(folder: Path | None) -> tuple[Path, ...]:
    """The files of the exercises: of the lowest pack of a folder first, the top one last."""
    packs = pack_folders(folder or shipped("rulebase"))
    return tuple(
        path for each in reversed(packs) for path in sorted(each.glob(f"{PRACTICE}/*.yaml"))
    )


def case_folders(folder: Path | None) -> tuple[Path, ...]:
    """Where whole cases lie: in the packs of a folder, from the top one down, then the shipped."""
    packs = pack_folders(folder or shipped("rulebase"))
    own = [each / CASES for each in packs]
    own += [shipped_cases()] if _is_shipped(packs[-1]) else []
    return tuple(each for each in own if each.is_dir())


def pack_folders(folder: Path) -> tuple[Path, ...]:
    """The folder of a pack and of each one below it, the top one first."""
    found: dict[Path, Path] = {}
    waiting = [folder]
    while waiting:
        place = waiting.pop()
        if place.resolve() in found:
            continue
        found[place.resolve()] = place
        waiting += _below(place)
    return tuple(found.values())


def _is_shipped(folder: Path) -> bool:
    """Whether it is the pack that came with the program, or a copy of it."""
    head = folder / "pack.yaml"
    return head.is_file() and bool(_SHIPPED.search(head.read_text(encoding="utf-8-sig")))


def _below(folder: Path) -> list[Path]:
    """The folder of the pack below, if there is one. A `pack.yaml` is looked at first."""
    for path in _heads_first(folder):
        pack = _PACK.search(path.read_text(encoding="utf-8-sig", errors="replace"))
        if pack is None:
            continue
        if not _OVER.search(pack[1]):
            return []
        base = _BASE.search(pack[1])
        named = Path(normpath(folder / base[1].strip())) if base else None
        return [named or shipped("rulebase")]
    return []


def _heads_first(folder: Path) -> Iterator[Path]:
    """The files of a pack; where its own `pack.yaml` says it all, no other is looked for."""
    head = folder / "pack.yaml"
    if head.is_file():
        yield head
    yield from sorted(pack_files(folder), key=lambda path: path.name != "pack.yaml")
