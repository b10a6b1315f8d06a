"""Where knowledge stands changes nothing that a technician or an office is told."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

from budget import NIGHTLY, at_night
from walk_digests import WALKS, digests

from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.places import shipped

NAMES = ("condenser-and-head-pressure-warm.b-dirty", "off-cycle-defrost-check.b1-healthy")
BOTH = tuple(each for each in WALKS if each.name.startswith(NAMES))
SOME = WALKS if NIGHTLY else BOTH[1:]


def moved(folder: Path) -> Path:
    """The shipped rulebase, every file of rules called otherwise, signs and limits in one file."""
    copied = Path(shutil.copytree(shipped("rulebase"), folder))
    for number, path in enumerate(sorted(copied.rglob("rules*.yaml"), reverse=True)):
        path.rename(path.with_name(f"rules-{number:03}.yaml"))
    for signs in sorted(copied.rglob("signs.yaml")):
        limits = signs.with_name("limits.yaml")
        joined = [path.read_text(encoding="utf-8") for path in (signs, limits) if path.exists()]
        limits.write_text("\n".join(joined), encoding="utf-8")
        signs.unlink()
    return copied


@at_night
def test_moved_files_change_no_walk(tmp_path: Path, shipped_rulebase: Rulebase) -> None:
    before = dict(digests(shipped_rulebase, SOME))
    folder = moved(tmp_path / "rulebase")
    elsewhere = load_rulebase(folder)
    names = {base.rules["both-halves-warm"].place.path for base in (elsewhere, shipped_rulebase)}
    assert len({Path(name).name for name in names}) == 2
    assert elsewhere.info.hash == shipped_rulebase.info.hash
    assert dict(digests(elsewhere, SOME)) == before


@at_night
def test_one_word_changes_those_walks_that_say_it(
    tmp_path: Path, shipped_rulebase: Rulebase
) -> None:
    before = dict(digests(shipped_rulebase, BOTH))
    folder = moved(tmp_path / "rulebase")
    causes = folder / "condenser" / "causes.yaml"
    text = causes.read_text(encoding="utf-8")
    text = text.replace(": Condenser dirty or", ": Condenser soiled or")
    causes.write_text(text, encoding="utf-8")
    changed = replace(load_rulebase(folder), info=shipped_rulebase.info)  # reports tell the hash
    after = dict(digests(changed, BOTH))
    otherwise = {name for name in before if before[name] != after[name]}
    assert any(name.startswith(NAMES[0]) for name in otherwise)
    assert not any(name.startswith(NAMES[1]) for name in otherwise)
