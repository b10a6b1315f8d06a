"""A company pack lies over the base: it adds, overrides, switches off, and edits nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from shipped_knowledge import load_over_shipped

from expert.author.comparison.changed_knowledge import pack_lines
from expert.errors import PackError
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.inference.sentences import limit_text
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Limit, Rulebase
from expert.knowledge.pack_files import rulebase_files
from expert.knowledge.site import Subject
from expert.units.kinds import Kind
from expert.units.measure import Measure

from .conftest import BASE, WritePack

WHO = "reason: Our cases are set colder., author: A. Sample, date: 2026-03-14"
OVERRIDE = f"""\
override_limits:
  - {{limit: case-air, normal: -22 to -14 F, {WHO}, source: "company: standard 4 (invented)"}}
"""
OFF = f"switch_off:\n  - {{rule: fans-stopped, {WHO}}}\n"
ADDED = """\
signs:
  - {id: gas_short, says: the gas runs short}
rules:
  - {id: short-gas, when: [line_drop is high], concludes: [gas_short], because: It drops.,
     source: common practice}
"""


def limit(rulebase: Rulebase, name: str) -> Limit:
    return next(each for each in rulebase.limits if each.id == name)


def test_a_pack_adds_to_what_the_base_knows(write_pack: WritePack, small_base: Rulebase) -> None:
    made = load_rulebase(write_pack(ADDED))
    assert set(made.rules) == {*small_base.rules, "short-gas"}
    assert set(made.signs) == {*small_base.signs, "gas_short"}
    assert set(made.quantities) == set(small_base.quantities)


def test_an_override_puts_its_numbers_in_the_place_of_those_of_the_base(
    write_pack: WritePack, small_base: Rulebase
) -> None:
    made = limit(load_rulebase(write_pack(OVERRIDE)), "case-air")
    base = limit(small_base, "case-air")
    low, high = (Measure(Kind.TEMPERATURE, (f - 32) * 5 / 9 + 273.15) for f in (-22, -14))
    assert (made.low, made.high) == pytest.approx((low.value, high.value))
    assert (made.very_low, made.very_high) == (base.very_low, base.very_high)


def test_an_override_gives_its_reason_to_whoever_reads_the_limit(write_pack: WritePack) -> None:
    made = load_rulebase(write_pack(OVERRIDE))
    shown = limit(made, "case-air")
    assert shown.note == "Our cases are set colder. (A. Sample, 2026-03-14)"
    assert "company: standard 4" in limit_text(shown, made.quantities["case_air"], "us")


def test_an_override_does_not_lift_what_keeps_a_limit_from_being_judged(
    write_pack: WritePack, tmp_path: Path
) -> None:
    folder = write_pack(OVERRIDE)
    path = tmp_path / "base" / "base.yaml"
    text = path.read_text().replace(
        "    very_high: 5 F\n",
        "    very_high: 5 F\n    cannot_judge_when: [case_fans is running]\n",
    )
    path.write_text(text)
    assert limit(load_rulebase(folder), "case-air").cannot_judge_when


def test_the_overridden_limit_is_the_one_that_judges(
    write_pack: WritePack, circuit: Subject
) -> None:
    reading = Reading("case_air", Measure(Kind.TEMPERATURE, 248.15, 0.1), "-13 F")
    words = [
        Evaluator(load_rulebase(folder), circuit).evaluate([reading]).states["case_air"].word
        for folder in (write_pack(OVERRIDE), BASE)
    ]
    assert words == ["high", "normal"]


def test_a_rule_that_is_switched_off_is_gone_and_told(write_pack: WritePack) -> None:
    made = load_rulebase(write_pack(OFF))
    assert "fans-stopped" not in made.rules
    (off,) = made.switched_off
    assert (off.rule.id, off.author, off.date) == ("fans-stopped", "A. Sample", "2026-03-14")


def test_the_files_of_the_base_stay_as_they_are(write_pack: WritePack, tmp_path: Path) -> None:
    before = (BASE / "base.yaml").read_bytes()
    load_rulebase(write_pack(OVERRIDE, OFF, ADDED))
    assert (tmp_path / "base" / "base.yaml").read_bytes() == before


def test_name_version_and_hash_of_both_packs_are_told(
    write_pack: WritePack, small_base: Rulebase
) -> None:
    info = load_rulebase(write_pack(OVERRIDE)).info
    assert info.over is not None
    assert info.over.hash == small_base.info.hash
    shown = f"our-pack 1.0.0 ({info.hash[:12]}) over small-base 1.0.0 ({info.over.hash[:12]})"
    assert str(info) == shown


def test_the_hash_changes_with_the_pack_and_with_the_base(
    write_pack: WritePack, tmp_path: Path
) -> None:
    hashes = [load_rulebase(write_pack(text)).info.hash for text in (OVERRIDE, OVERRIDE, ADDED)]
    path = tmp_path / "base" / "base.yaml"
    path.write_text(path.read_text().replace("No fan moves the air.", "No air is moved."))
    hashes.append(load_rulebase(write_pack(ADDED)).info.hash)
    assert hashes[0] == hashes[1]
    assert len(set(hashes)) == 3


def test_a_pack_may_lie_over_another_company_pack(write_pack: WritePack, tmp_path: Path) -> None:
    write_pack(OVERRIDE, name="region")
    store = tmp_path / "store"
    store.mkdir()
    (store / "pack.yaml").write_text(
        "pack: {name: store, version: 2.0.0, over: our-pack, base: ../region}\n" + OFF
    )
    made = load_rulebase(store)
    assert str(made.info).count(" over ") == 2
    assert (len(made.overrides), len(made.switched_off)) == (1, 1)


def test_packs_that_lie_over_one_another_are_refused(tmp_path: Path) -> None:
    for name, other in (("one", "two"), ("two", "one")):
        (tmp_path / name).mkdir()
        text = f"pack: {{name: {name}, version: 1.0.0, over: {other}, base: ../{other}}}\n"
        (tmp_path / name / "pack.yaml").write_text(text)
    with pytest.raises(PackError, match="would lie over itself"):
        load_rulebase(tmp_path / "one")


def test_without_a_base_named_the_pack_lies_over_the_shipped_one(tmp_path: Path) -> None:
    (tmp_path / "pack.yaml").write_text("pack: {name: x, version: 1.0.0, over: rackwalk-base}\n")
    info = load_over_shipped(tmp_path).info
    assert info.over is not None
    assert info.over.name == "rackwalk-base"


def test_a_clash_tells_both_places(write_pack: WritePack) -> None:
    text = ADDED.replace("id: short-gas", "id: warm-air")
    with pytest.raises(PackError) as refused:
        load_rulebase(write_pack(text))
    (problem,) = refused.value.problems
    assert problem.place.path.endswith("file-0.yaml")
    assert "in small-base, " in problem.message
    assert "base.yaml:" in problem.message


def test_every_file_a_rulebase_depends_on_is_found_without_reading_it_as_yaml(
    write_pack: WritePack, tmp_path: Path
) -> None:
    folder = write_pack(OVERRIDE)
    names = sorted(path.name for path in rulebase_files(folder))
    assert names == ["base.yaml", "file-0.yaml", "pack.yaml"]
    assert tmp_path / "base" / "base.yaml" in rulebase_files(folder)


def test_what_a_pack_changes_is_told_in_words(write_pack: WritePack) -> None:
    folder = write_pack(OVERRIDE, OFF, ADDED)
    lines = list(pack_lines(load_rulebase(folder), folder))
    assert lines[0] == "It adds to small-base 1.0.0: 1 sign, 1 rule."
    assert "- sign gas_short: the gas runs short" in lines
    assert (
        "- rule short-gas: concludes that the gas runs short, when coil above header is high"
        in lines
    )
    assert (
        "- Discharge air (case-air): normal -22.0 to -14.0 F, was -15.0 to -5.0 F. Our cases are "
        "set colder. (A. Sample, 2026-03-14; company: standard 4 (invented))"
    ) in lines
    assert "- fans-stopped: Our cases are set colder. (A. Sample, 2026-03-14)" in lines


def test_of_a_rulebase_that_lies_over_nothing_no_change_is_told(small_base: Rulebase) -> None:
    assert list(pack_lines(small_base, BASE)) == []


def test_a_pack_that_changes_nothing_says_so(write_pack: WritePack) -> None:
    folder = write_pack()
    assert list(pack_lines(load_rulebase(folder), folder)) == [
        "It changes nothing in small-base 1.0.0."
    ]
