"""A rulebase is read whole, and everything that is wrong with it is told at once, with places."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from tiny_rulebase import TINY, LoadTiny, WriteRulebase

from expert.errors import PackError, Problem
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.memory import Memory
from expert.knowledge.model import Rulebase
from expert.units.kinds import Kind

PSI = 6894.757293168


def problems(load_tiny: LoadTiny, *changes: str) -> tuple[Problem, ...]:
    with pytest.raises(PackError) as refused:
        load_tiny(*changes)
    return refused.value.problems


def test_the_tiny_rulebase_is_read_in_the_order_of_its_ids(tiny: Rulebase) -> None:
    assert list(tiny.rules) == ["cold-line", "low-and-slow", "slow-by-the-clock"]
    for entries in (tiny.quantities, tiny.causes, tiny.signs, tiny.cautions):
        assert list(entries) == sorted(entries)
    assert tiny.quantities["differential"].kind is Kind.PRESSURE_DIFFERENCE


def test_numbers_are_in_si(tiny: Rulebase) -> None:
    upper = tiny.quantities["upper_pressure"]
    assert upper.accuracy == pytest.approx(PSI)
    assert upper.refuse_above == pytest.approx(600 * PSI)
    limit = next(limit for limit in tiny.limits if limit.quantity == "differential")
    assert (limit.very_low, limit.low, limit.high, limit.very_high) == pytest.approx(
        (10 * PSI, 15 * PSI, 20 * PSI, 30 * PSI)
    )


def test_an_accuracy_of_a_temperature_is_a_difference(tiny: Rulebase) -> None:
    assert tiny.quantities["line_temperature"].accuracy == pytest.approx(5 / 9)


def test_the_source_label_is_kept_apart_from_its_detail(tiny: Rulebase) -> None:
    source = tiny.quantities["differential"].source
    assert (source.label, source.detail) == ("computed", "upper minus lower")
    assert str(source) == "computed: upper minus lower"


def test_the_name_of_a_rulebase_carries_its_version_and_hash(tiny: Rulebase) -> None:
    assert str(tiny.info) == f"tiny 0.1 ({tiny.info.hash[:12]})"


def _spread(folder: Path, text: str) -> Path:
    """The tiny rulebase with a file for each rule and each other section, the last first."""
    parts = re.split(r"^(?=[a-z_]+:)", text, flags=re.MULTILINE)[1:]
    rules = next(part for part in parts if part.startswith("rules:"))
    parts.remove(rules)
    each = re.split(r"^(?=  - id:)", rules, flags=re.MULTILINE)[1:]
    parts += (f"rules:\n{rule}" for rule in each)
    for turn, part in enumerate(reversed(parts)):
        path = folder / f"{turn % 3}" / f"{turn}.yaml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(part, encoding="utf-8")
    return folder


def test_the_hash_covers_contents_only(tmp_path: Path, tiny: Rulebase) -> None:
    hashes = []
    for name, text in (
        ("a", TINY), ("b", TINY.replace("\n", "\r\n")), ("c", TINY + "# more\n"),
        ("d", TINY.replace("expect: silent", "expect: undecided")),
        ("e", TINY.replace("15 to 20 psi", "15 to 21 psi")),
    ):  # fmt: skip
        folder = tmp_path / name
        folder.mkdir()
        (folder / "all.yaml").write_bytes(text.encode())
        hashes.append(load_rulebase(folder).info.hash)
    assert hashes[0] == hashes[1] == hashes[2] == hashes[3] != hashes[4]
    spread = load_rulebase(_spread(tmp_path / "spread", TINY))
    assert spread.info.hash == hashes[0]
    assert list(spread.rules) == list(tiny.rules)
    assert list(spread.quantities) == list(tiny.quantities)


def test_a_rulebase_may_be_spread_over_files_and_folders(tmp_path: Path) -> None:
    head, rules = TINY.split("rules:\n")
    rules, cautions = rules.split("cautions:\n")
    (tmp_path / "deep" / "er").mkdir(parents=True)
    (tmp_path / "z.yaml").write_text(head)
    (tmp_path / "deep" / "er" / "rules.yaml").write_text("rules:\n" + rules)
    (tmp_path / "deep" / "cautions.yaml").write_text("cautions:\n" + cautions)
    assert len(load_rulebase(tmp_path).rules) == 3


def test_a_folder_without_a_rulebase_is_named(tmp_path: Path) -> None:
    with pytest.raises(PackError, match="no rulebase here") as refused:
        load_rulebase(tmp_path / "none")
    assert str(tmp_path / "none") in str(refused.value)


def test_a_file_that_would_be_left_out_for_its_name_is_told(write_rulebase: WriteRulebase) -> None:
    folder = write_rulebase(TINY)
    (folder / "more.yml").write_text("rules: []")
    with pytest.raises(PackError, match=r"more\.yml: This file would not be read"):
        load_rulebase(folder)


def test_problems_of_all_files_are_told_together(write_rulebase: WriteRulebase) -> None:
    folder = write_rulebase(TINY.replace("strong: 0.75", "strong: 7.5"))
    (folder / "broken.yaml").write_text("rules: [")
    (folder / "more.yaml").write_text("rules:\n  - {id: x}\n")
    with pytest.raises(PackError) as refused:
        load_rulebase(folder)
    files = [Path(problem.place.path).name for problem in refused.value.problems]
    assert files == ["all.yaml", "broken.yaml", "more.yaml"]


CASES: list[tuple[tuple[str, ...], str, str, str]] = [
    # (old text, new text), code, the line of the problem holds, message or hint says
    (("rules:\n", "rule:\n"), "unknown-key", "rule:", "Did you mean 'rules'"),
    (("    because: It took too long.\n", ""), "missing-key", "slow-by-the-clock", "'because'"),
    (("because: It took too long.", "because:"), "empty", "because:", "'because'"),
    (("says: the push is weak", "says: ''"), "empty", "weak_push", "'says'"),
    (("when: [clearing_time is high]", "when: []"), "empty", "when: []", "'when'"),
    (("do: [Turn it.]", "do: []"), "empty", "do: []", "'do'"),
    (("title: remark", "titel: remark"), "unknown-key", "titel", "Did you mean 'title'"),
    (("id: slow-by-the-clock", "id: Slow"), "bad-id", "id: Slow", "'Slow'"),
    (("id: cold-line", "id: low-and-slow"), "duplicate-id", "low-and-slow", "already there"),
    (("id: rise-limit", "id: clearing-limit"), "duplicate-id", "clearing-limit", "already there"),
    (("id: weak_push", "id: remark"), "duplicate-id", "id: remark", "needs another name"),
    (("kind: duration", "kind: durations"), "unknown-word", "durations", "'duration'"),
    (("subject: circuit, kind: text", "subject: city, kind: text"),
     "unknown-word", "city", "Known"),
    (("accuracy: 1 min", "accuracy: 1 psi"), "not-a-measure", "1 psi", "duration is wanted"),
    (("accuracy: 1 min", "accuracy: 1"), "no-unit", "accuracy: 1,", "'1 min'"),
    (("accuracy: 1 min", "accuracy: ''"), "empty", "accuracy: ''", "empty"),
    (("accuracy: 1 min", "accuracy: -1 min"), "bad-accuracy", "-1 min", "no sign"),
    (("kind: text,", "kind: text, accuracy: 1 psi,"), "no-number", "remark", "no 'accuracy:'"),
    (("kind: choice,", "kind: choice, refuse: above 1 psig,"), "no-number", "valve", "'refuse:'"),
    (("choices: [open, shut, half open],", ""), "choices", "id: valve", "needs 'choices:'"),
    (("kind: text,", "kind: text, choices: [a],"), "choices", "id: remark", "only a choice"),
    (("half open],", "known],"), "bad-choice", "known]", "'known'"),
    (("half open],", "shut],"), "bad-choice", "shut]", "twice"),
    (("half open],", "not open],"), "bad-choice", "not open]", "'not open'"),
    (('refuse: "below 0 psig, above 600 psig"', "refuse: under 5 psig"),
     "bad-band", "under", "below"),
    (('"below 0 psig, above 600 psig"', '"below 9 psig, above 6 psig"'), "bad-band", "9 psig", "9"),
    (("effort: 2, cautions", "effort: none, cautions"), "not-a-count", "effort: none", "1 to"),
    (("cautions: [hot], source", "cautions: [hto], source"), "unknown-caution", "[hto]", "'hot'"),
    (("function: pressure_difference", "function: pressure_diff"), "unknown-word", "diff,", "mean"),
    (("upper: upper_pressure", "uper: upper_pressure"), "unknown-key", "uper", "mean 'upper'"),
    (("{upper: upper_pressure,", "{upper: clearing_time,"),
     "wrong-kind", "upper: clear", "must be"),
    (("{upper: upper_pressure,", "{upper: differential,"), "cycle", "id: differ", "from itself"),
    (("take: highest", "take: biggest"), "unknown-word", "biggest", "'highest'"),
    (("of: differential,", "of: diferential,"), "unknown-quantity", "of: dif", "'differential'"),
    (("of: clearing_time,", "of: valve,"), "unknown-quantity", "of: valve", "is no number"),
    (("normal: 15 to 20 psi", "normal: ''"), "empty", "normal: ''", "'normal'"),
    (("normal: 15 to 20 psi", "normal: 15-20 psi"), "bad-band", "15-20", "'15 to 20 psi'"),
    (("normal: 15 to 20 psi", "normal: 15 to 20"), "no-unit", "15 to 20", "'15 psi'"),
    (("normal: 15 to 20 psi", "normal: 20 to 15 psi"), "band-order", "20 to 15", "must rise"),
    (("very_low: 10 psi", "very_low: 16 psi"), "band-order", "16 psi", "must rise"),
    (("very_low: 10 psi", "very_low: ''"), "empty", "very_low: ''", "empty"),
    (("application: low temperature", "application: low temp"),
     "unknown-application", "clear", "low"),
    (("application: low temperature", "application: []"), "empty", "application: []", "nothing"),
    (("[valve is shut]", "[differential is low]"), "precondition", "[differential is low]", "Only"),
    (("[valve is shut]", "[slow]"), "precondition", "[slow]", "Only choices"),
    (("source: common practice}\n  - {id: clear", "source: site}\n  - {id: clear"),
     "unknown-source",
     "source: site", "site file"),
    (("[clearing_time is high]", "[clearing_time is hihg]"), "unknown-state", "hihg", "'high'"),
    (("[clearing_time is high]", "[remark is low]"), "unknown-state", "remark is low", "known"),
    (("[clearing_time is high]", "[clearing_tme is high]"),
     "unknown-quantity", "tme", "clearing_time"),
    (("[clearing_time is high]", "[valve is opn]"), "unknown-state", "opn", "'open'"),
    (("[clearing_time is high]", "[clearing_time is high and low]"),
     "unknown-state", "and", "One c"),
    (("[clearing_time is high]", "[clearing_time]"), "unknown-sign", "[clearing_time]", "say what"),
    (("[differential is low, slow]", "[differential is low, slwo]"),
     "unknown-sign", "slwo", "'slow'"),
    (("[differential is low, slow]", "[slow, not slow]"), "contradiction", "not slow", "never"),
    (("[differential is low, slow]", "[differential is low, differential is high]"),
     "contradiction",
     "is high]", "never hold"),
    (("[differential is low, slow]", "[differential is very low, differential is not low]"),
     "contradiction", "is not low]", "never hold"),
    (("[differential is low, slow]", "[differential is low, differential is not known]"),
     "contradiction", "not known]", "never hold"),
    (("concludes: [slow]", "concludes: [slo]"), "unknown-sign", "[slo]", "Did you mean 'slow'"),
    (("{set-low: strong}", "{set-lo: strong}"), "unknown-cause", "set-lo:", "'set-low'"),
    (("{set-low: strong}", "{set-low: strongish}"), "unknown-strength", "strongish", "'strong'"),
    (("{set-low: strong}", "strong"), "not-a-mapping", "strong", "'cause: strength'"),
    (("evidence_for: {set-low: strong}", "concludes: []"), "no-conclusion", "low-and", "leads to"),
    (("{left-iced: moderate}", "{set-low: moderate}"),
     "for-and-against", "against: {set-low", "both"),
    (("leads_to: [left-iced]", "leads_to: [left-icd]"), "unknown-cause", "left-icd", "'left-iced'"),
    (("urgency: food,\n     leads", "urgency: soon,\n     leads"), "unknown-word", "soon", "food"),
    (("rise: 2 F, slow: yes", "rise: 2 F, slow: maybe"), "unknown-word", "maybe", "yes'"),
    (("rise: 2 F, slow: yes", "rise: 2 F, slow: []"), "empty", "slow: []", "leave it out"),
    (("rise: 2 F, slow: yes", "rise: 2 psi, slow: yes"), "not-a-measure", "2 psi", "temperature"),
    (("rise: 2 F, slow: yes", "ris: 2 F, slow: yes"), "unknown-quantity", "ris:", "'rise'"),
    (("rise: 2 F, slow: yes", "valve: opn, slow: yes"), "unknown-choice", "opn", "'open'"),
    (("{valve: open}, expect: undecided", "[valve], expect: undecided"), "not-a-mapping", "[valve]",
     "given"),
    (("{valve: open}, expect: undecided", "{valve: open}, expect: maybe"), "unknown-word", "maybe",
     "fires"),
    (("strong: 0.75", "strong: much"), "not-a-share", "much", "0 to 1"),
    (("strong: 0.75", "strong: nan"), "not-a-share", "nan", "0 to 1"),
    (("{weak: 0.3, moderate: 0.5, strong: 0.75}", "[0.3]"), "not-a-mapping", "[0.3]", "name"),
    (("[{from: 0.5, say: likely}, {from: 0, say: possible}]", "[]"), "empty", "words: []", "words"),
    ((", {from: 0, say: possible}", ""), "certainty-words", "words:", "from 0"),
    (("pack: {name: tiny, version: 0.1}\n", ""), "missing-section", "", "pack"),
    (("pack: {name: tiny, version: 0.1}", "pack: tiny"), "not-a-mapping", "pack: tiny", "pack"),
    (('source: "computed: upper minus lower"', "source: guess"),
     "unknown-source", "guess", "Start"),
    (('source: "computed: upper minus lower"', "source: published"), "source-unnamed", "published",
     "must be named"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "code", "line", "says"), CASES, ids=[f"{c[1]}-{c[0][1][:30]}" for c in CASES]
)
def test_what_is_wrong_is_told_with_its_place_and_a_way_out(
    load_tiny: LoadTiny, changes: tuple[str, ...], code: str, line: str, says: str
) -> None:
    found = problems(load_tiny, *changes)
    problem = next(problem for problem in found if problem.code == code)
    if line:
        assert line in problem.excerpt()
        assert problem.place.column > 0
    assert says in f"{problem.message} {problem.hint}"


def test_two_limits_that_would_both_apply_are_refused(load_tiny: LoadTiny) -> None:
    (problem,) = problems(
        load_tiny, "of: rise, normal: at least 20 F", "of: differential, normal: at least 9 psi"
    )
    assert problem.code == "two-limits"
    assert "narrower" in problem.hint


def test_a_narrower_limit_beside_a_general_one_is_allowed(load_tiny: LoadTiny) -> None:
    base = load_tiny(
        "of: rise, normal: at least 20 F",
        "of: differential, applies: {defrost: hot gas}, normal: at least 9 psi",
    )
    assert len(base.limits) == 3


def test_two_limits_may_meet_where_a_third_one_is_narrower(load_tiny: LoadTiny) -> None:
    more = {
        "cold": "application: low temperature",
        "gas": "defrost: hot gas",
        "both": "application: low temperature, defrost: hot gas",
    }
    lines = [
        f"  - {{id: {name}, of: rise, applies: {{{words}}}, normal: at least 9 F,"
        " source: from memory}"
        for name, words in more.items()
    ]
    assert len(load_tiny("\nsigns:", "\n".join(["", *lines, "signs:"])).limits) == 6
    (problem,) = problems(load_tiny, "\nsigns:", "\n".join(["", *lines[:2], "signs:"]))
    assert problem.code == "two-limits"


def test_rules_that_wait_for_one_another_are_named(load_tiny: LoadTiny) -> None:
    (problem,) = problems(
        load_tiny, "[valve is half open]", "[weak_push]", "[rise is low]", "[slow]",
        "evidence_for: {left-iced: moderate}", "concludes: [weak_push]",
    )  # fmt: skip
    assert problem.code == "cycle"
    assert "slow-by-the-clock" in problem.message
    assert "cold-line" in problem.message


def test_a_second_scale_of_certainty_is_refused(write_rulebase: WriteRulebase) -> None:
    folder = write_rulebase(TINY)
    scale = TINY[TINY.index("certainty:") : TINY.index("quantities:")]
    (folder / "zz.yaml").write_text(scale)
    with pytest.raises(PackError, match=r"zz\.yaml:2:3.*twice"):
        load_rulebase(folder)


def test_a_mistyped_kind_does_not_also_blame_the_bands(load_tiny: LoadTiny) -> None:
    found = problems(
        load_tiny, "upper_pressure, title: upper pressure, subject: rack, kind: gauge_pressure",
        "upper_pressure, title: upper pressure, subject: rack, kind: gauge_presure",
    )  # fmt: skip
    assert {problem.code for problem in found} == {"unknown-word", "wrong-kind"}


@pytest.mark.parametrize("seed", ["0", "1", "2"])
def test_messages_do_not_depend_on_the_hash_seed(write_rulebase: WriteRulebase, seed: str) -> None:
    text = TINY.replace("[valve is half open]", "[weak_push]").replace("[rise is low]", "[slow]")
    text = text.replace("evidence_for: {left-iced: moderate}", "concludes: [weak_push, slow]")
    text = text.replace(
        "[differential is low, slow]", "[differential > remark, upper_pressure > 3 F]"
    )
    folder = write_rulebase(text)
    told = subprocess.run(
        [sys.executable, "-m", "expert", "rules", "check", "--rulebase", str(folder)],
        env={"PYTHONHASHSEED": seed, "PATH": "", "PYTHONPATH": str(Path(__file__).parents[2])},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert told.returncode == 3
    with pytest.raises(PackError) as refused:
        load_rulebase(folder)
    assert told.stderr.strip() == f"rackwalk: {refused.value}"


def test_a_file_that_was_read_with_its_tests_is_not_read_again_without(
    write_rulebase: WriteRulebase, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, memory = write_rulebase(TINY), Memory()
    whole = load_rulebase(folder, memory)
    assert any(rule.tests for rule in whole.rules.values())
    with monkeypatch.context() as patch:
        patch.setattr("expert.knowledge.yaml_nodes.parse_yaml", lambda *_: pytest.fail("read"))
        lean = load_rulebase(folder, memory, proof=False)
    assert not any(rule.tests for rule in lean.rules.values())
    other = Memory()
    assert lean == load_rulebase(folder, other, proof=False)
    assert load_rulebase(folder, other) == whole  # what was read without them does not do for that
