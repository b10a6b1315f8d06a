"""The handbook tells everything a rulebase knows, in sentences, with sources."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from budget import step

from expert.errors import UsageError
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.report.handbook import render_handbook
from expert.report.handbook_part import part_of

from .conftest import WritePack

WHO = "reason: Our cases are set colder., author: A. Sample, date: 2026-03-14"
CHANGES = f"""\
override_limits:
  - {{limit: case-air, normal: -22 to -14 F, {WHO}, source: "company: standard 4 (invented)"}}
switch_off:
  - {{rule: fans-stopped, {WHO}}}
"""


@pytest.fixture(scope="module")
def book() -> str:
    return render_handbook(load_rulebase(Path(__file__).parent / "base"), system="us")


def section(book: str, anchor: str) -> str:
    """The text below an anchor, up to the next one."""
    return book.partition(f'<a id="{anchor}"></a>')[2].partition('<a id="')[0]


def test_every_entry_of_the_shipped_rulebase_is_in_it(shipped_rulebase: Rulebase) -> None:
    text = render_handbook(shipped_rulebase)
    plain = text.replace("\\", "")
    for cause in shipped_rulebase.causes.values():
        assert f'<a id="cause-{cause.id}"></a>' in text
        assert " ".join(cause.not_when.split()) in plain
    for rule in shipped_rulebase.rules.values():
        assert f"Rule `{rule.id}`" in text
    for limit in shipped_rulebase.limits:
        assert f"Limit `{limit.id}`" in text
    for caution in shipped_rulebase.cautions.values():
        assert caution.ask in plain
    for quantity in shipped_rulebase.quantities.values():
        assert f"(`{quantity.id}`)" in text


def test_every_link_of_the_shipped_handbook_leads_somewhere(shipped_rulebase: Rulebase) -> None:
    text = render_handbook(shipped_rulebase)
    assert set(re.findall(r"\]\(#([^)]+)\)", text)) <= set(re.findall(r'<a id="([^"]+)">', text))


def test_a_rule_reads_as_a_sentence_with_its_source(book: str) -> None:
    assert (
        "- Strong evidence when the case air is warm, and case fans is all stopped. "
        "No fan moves the air. Source: common practice. Rule `fans-stopped`."
    ) in section(book, "cause-fan-motor-dead")


def test_a_cause_without_rules_says_so(book: str) -> None:
    assert "No rule speaks for it" in section(book, "cause-valve-starving")


def test_a_limit_tells_its_edges_and_source(book: str) -> None:
    line = next(line for line in book.split("\n") if "Limit `case-air`" in line)
    assert line.startswith(
        "- Normal -15.0 to -5.0 F; very low below -25.0 F; very high above 5.0 F."
    )
    assert "Source: common practice." in line


def test_a_sign_is_told_with_what_concludes_it(book: str) -> None:
    signs = section(book, "signs")
    assert "**The case air is warm** (`air_is_warm`)" in signs
    assert "So when discharge air is high. The air leaves the coil too warm." in signs


def test_numbers_stand_in_both_unit_systems_when_asked(small_base: Rulebase) -> None:
    assert "-15.0 to -5.0 F (-26.1 to -20.6 C)" in render_handbook(small_base, system="both")


def test_advice_that_is_held_back_is_told(book: str) -> None:
    assert "- condemn-part only when case fans is not running." in section(book, "gates")


def test_what_a_company_pack_changes_is_told_first(write_pack: WritePack) -> None:
    text = render_handbook(load_rulebase(write_pack(CHANGES)), system="us")
    changes = text.partition("## What this pack changes")[2].partition("\n## ")[0]
    assert "It lies over small-base 1.0.0" in changes
    assert "Discharge air (case-air): -22.0 to -14.0 F, below -15.0 to -5.0 F" in changes
    assert "Rule `fans-stopped` is switched off. Our cases are set colder." in changes
    assert "A. Sample, 2026-03-14" in changes


def test_a_text_cannot_make_mark_up_of_its_own(write_pack: WritePack) -> None:
    folder = write_pack(
        "signs:\n  - {id: odd, says: 'the *loud* [one](x)'}\n"
        "rules:\n  - {id: r, when: [case_air is high], concludes: [odd], because: It_is_<so>.,\n"
        "     source: common practice}\n"
    )
    text = render_handbook(load_rulebase(folder))
    assert r"the \*loud\* \[one\](x)" in text.lower()
    assert r"It\_is\_\<so\>." in text


def test_every_document_stands_once_in_the_list_of_sources_with_what_rests_on_it(
    shipped_rulebase: Rulebase,
) -> None:
    text = section(render_handbook(shipped_rulebase), "sources").replace("\\", "")
    lines = [line for line in text.splitlines() if line.startswith("- ")]
    named = [line.split(": ")[0] for line in lines]
    assert len(named) == len(set(named)) > 20
    for rule in shipped_rulebase.rules.values():
        assert (f"rule {rule.id}" in text) == (rule.source.label == "published"), rule.id
    assert any("40 CFR 82.157" in line and "limit rolling-leak-rate" in line for line in lines)


def test_one_system_alone_has_its_causes_and_is_shorter(shipped_rulebase: Rulebase) -> None:
    whole = render_handbook(shipped_rulebase, ())
    for system in sorted({cause.system for cause in shipped_rulebase.causes.values()})[:: step(5)]:
        part = render_handbook(part_of(shipped_rulebase, system.replace("-", " ").title()), ())
        assert len(part) < len(whole) / 3, system
        for cause in shipped_rulebase.causes.values():
            if cause.system == system:
                assert cause.title in part
    with pytest.raises(UsageError, match="Did you mean 'condenser'"):
        part_of(shipped_rulebase, "condensor")
