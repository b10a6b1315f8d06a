"""In a pack that has folders by system of the plant, each entry stands in its own."""

from __future__ import annotations

from pathlib import Path

import pytest
from tiny_rulebase import TINY

from expert.errors import PackError
from expert.knowledge.load_rulebase import load_rulebase
from expert.places import shipped

HEAD = "pack: {name: ours, version: 0.1, over: tiny, base: ../tiny}\n"
CAUSE = """\
causes:
  - {id: NAME, title: It, system: SYSTEM, subject: circuit, is: It is., confirm: [Look.],
     do: [Do.], urgency: food, source: from memory}
"""
OIL = CAUSE.replace("NAME", "oil-low").replace("SYSTEM", "oil")
HEAT = CAUSE.replace("NAME", "no-heat").replace("SYSTEM", "heat reclaim")
QUANTITY = """\
quantities:
  - {id: oil_glass, title: oil glass, subject: circuit, kind: share, accuracy: 5 %, cautions: [],
     source: from memory}
"""
LIMIT = """\
limits:
  - {id: oil-glass, of: oil_glass, normal: at least 30 %, source: from memory}
"""
SIGN = "signs:\n  - {id: oil_short, says: oil is short}\n"
RULE = """\
rules:
  - {id: low-glass, when: [oil_glass is low], concludes: [oil_short], because: It is low.,
     source: from memory}
"""
FOR = """\
rules:
  - {id: short-oil, when: [oil_short], evidence_for: {oil-low: strong}, because: It is low.,
     source: from memory}
"""
AGAINST = FOR.replace("short-oil", "oil-there").replace("_for", "_against")
PROOF = """\
proof:
  - {rule: short-oil, tests: [{given: {oil_short: yes}, expect: fires}]}
"""
LOOKS = """\
likenesses:
  - {cause: oil-low, shows: {oil_glass: {low: 0.9}}, source: from memory}
usual_words:
  - {quantity: oil_glass, shows: {low: 0.1, normal: 0.9}, source: from memory}
"""
RIGHT = {
    "oil/causes.yaml": OIL, "heat-reclaim/causes.yaml": HEAT, "oil/quantities.yaml": QUANTITY,
    "oil/limits.yaml": LIMIT, "oil/signs.yaml": SIGN, "oil/rules-glass.yaml": RULE,
    "oil/rules.yaml": FOR, "oil/rules-against.yaml": AGAINST,
    "oil/proof.yaml": PROOF, "oil/likeness.yaml": LOOKS,
}  # fmt: skip


def written(folder: Path, files: dict[str, str]) -> Path:
    (folder / "tiny").mkdir()
    (folder / "tiny" / "all.yaml").write_text(TINY, encoding="utf-8")
    for name, text in {"pack.yaml": HEAD, **files}.items():
        path = folder / "ours" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder / "ours"


def test_entries_in_their_folders_are_read(tmp_path: Path) -> None:
    assert "oil-low" in load_rulebase(written(tmp_path, RIGHT)).causes


@pytest.mark.parametrize(
    ("name", "to", "said"),
    [
        ("oil/causes.yaml", "heat-reclaim/other.yaml", "'oil-low', a cause of 'oil',"),
        ("oil/rules.yaml", "heat-reclaim/rules.yaml", "Rule 'short-oil'"),
        ("oil/rules-against.yaml", "heat-reclaim/rules.yaml", "Rule 'oil-there'"),
        ("oil/signs.yaml", "safety/signs.yaml", "Sign 'oil_short'"),
        ("oil/limits.yaml", "plant/limits.yaml", "Limit 'oil-glass' of oil_glass"),
        ("oil/rules.yaml", "rules.yaml", "Rule 'short-oil'"),
        ("oil/likeness.yaml", "heat-reclaim/likeness.yaml", "The likeness of 'oil-low'"),
        ("oil/proof.yaml", "heat-reclaim/proof.yaml", "The proof of 'short-oil'"),
        ("oil/proof.yaml", "proof.yaml", "The proof of 'short-oil'"),
        ("oil/rules.yaml", "misc/rules.yaml", "Rule 'short-oil'"),
    ],
)
def test_an_entry_in_the_wrong_folder_is_told_with_the_right_one(
    tmp_path: Path, name: str, to: str, said: str
) -> None:
    files = {to if each == name else each: text for each, text in RIGHT.items()}
    with pytest.raises(PackError) as refused:
        load_rulebase(written(tmp_path, files))
    told = next(each for each in refused.value.problems if said in each.message)
    assert told.code == "wrong-folder"
    assert Path(told.place.path) == tmp_path / "ours" / to
    assert "oil/" in told.hint


def test_a_pack_without_folders_by_system_is_free(tmp_path: Path) -> None:
    files = {f"mine/{name.replace('/', '-')}": text for name, text in RIGHT.items()}
    assert "oil-low" in load_rulebase(written(tmp_path, files)).causes


def test_the_map_names_every_folder_of_the_shipped_rulebase() -> None:
    folder = shipped("rulebase")
    text = (folder / "README.md").read_text(encoding="utf-8")
    for each in folder.iterdir():
        assert not each.is_dir() or f"`{each.name}`" in text, each.name
