"""The JSON Schemas accept every file there is and refuse what an editor can see is wrong."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import jsonschema
import pytest
from budget import NIGHTLY, step
from shipped_knowledge import shipped_rules

from expert.author.files.json_schema import DRAFT, FILES, schema_for
from expert.author.files.schema_forms import KEBAB
from expert.errors import PackError
from expert.knowledge.keys import LISTS, SINGLE
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.pack_files import practice_files, rulebase_files
from expert.knowledge.yaml_nodes import parse_yaml, read_yaml
from expert.places import shipped
from expert.practice.setting_keys import ALARM, AMOUNT, FAULT, PLANT, SECTIONS

from .conftest import BASE
from .yaml_core import core

HERE = Path(__file__).parent
RULEBASE = sorted(rulebase_files(shipped("rulebase")))
PRACTICE = practice_files(shipped("rulebase"))
SOME = RULEBASE[:: step(16)]
CHECKLISTS = sorted(shipped("checklists").glob("*.yaml"))
MISTAKES = HERE / "mistakes"
# What an editor can see without knowing what the whole rulebase holds.
SEEN = (
    "application-that-is-none", "band-in-other-words", "bounds-in-other-words",
    "choice-without-words", "colon-for-is", "comma-inside-braces", "condition-stops-too-early",
    "dash-forgotten", "date-in-another-form", "effort-in-minutes", "empty-group",
    "equals-sign-in-a-condition", "evidence-without-strength", "expectation-misspelt",
    "function-that-is-none", "given-is-a-list", "group-misspelt", "id-with-capitals-and-spaces",
    "is-forgotten", "key-misspelt", "key-of-another-entry", "kind-that-is-none",
    "leads-to-nothing", "name-with-a-capital", "name-with-spaces", "override-without-reason",
    "pack-without-version", "published-without-a-name", "reason-left-empty", "section-misspelt",
    "sign-given-as-a-word", "sign-id-with-hyphens", "source-forgotten", "source-of-another-kind",
    "space-after-dash-forgotten", "strength-that-is-none", "test-with-another-word",
    "tests-not-a-list", "two-conditions-on-a-line", "urgency-that-is-none", "when-is-one-text",
)  # fmt: skip


@cache
def validator(what: str, folder: Path) -> jsonschema.Draft202012Validator:
    base = shipped_rules() if folder == shipped("rulebase") else load_rulebase(folder)
    schema = schema_for(what, base)
    if NIGHTLY or folder == BASE:  # of the same forms; the many names of the shipped one take long
        jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def refused(what: str, text: str, folder: Path = BASE) -> list[str]:
    return [each.json_path for each in validator(what, folder).iter_errors(
        core(parse_yaml(text, "f.yaml")))]  # fmt: skip


def of_file(what: str, path: Path) -> list[str]:
    return [
        f"{each.json_path}: {each.message[:200]}"
        for each in validator(what, shipped("rulebase")).iter_errors(core(read_yaml(path)))
    ]


@pytest.mark.parametrize(
    "path", RULEBASE[:: step(16)], ids=lambda path: f"{path.parent.name}-{path.stem}"
)
def test_a_shipped_rulebase_file_is_accepted(path: Path) -> None:
    assert of_file("rulebase", path) == []


@pytest.mark.parametrize("path", CHECKLISTS[:: step(8)], ids=lambda path: path.stem)
def test_a_shipped_checklist_is_accepted(path: Path) -> None:
    assert of_file("checklist", path) == []


@pytest.mark.parametrize("path", PRACTICE, ids=lambda path: path.stem)
def test_a_shipped_file_of_exercises_is_accepted(path: Path) -> None:
    assert of_file("practice", path) == []


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("exercises: [{id: x, title: T, level: easy, plant: {seed: 1}}]", "$.exercises[0]"),
        ("exercises: [{id: x, title: T, level: esy, plant: {seed: 1}, faults: []}]",
         "$.exercises[0].level"),
        ("exercises: [{id: x, title: T, level: easy, plant: {sed: 1}, faults: []}]",
         "$.exercises[0].plant"),
        ("exercises: [{id: x, title: T, level: easy, plant: {seed: 1}, "
         "faults: [{fault: dirty-condensor, severity: 10 %}]}]",
         "$.exercises[0].faults[0].fault"),
        ("walking: [{to: rof, minutes: 3, source: common practice}]", "$.walking[0].to"),
        ("actions: [{id: x, title: T, place: roof, minutes: 3, source: somebody}]",
         "$.actions[0].source"),
    ],
)  # fmt: skip
def test_a_wrong_file_of_exercises_is_refused_at_its_place(text: str, path: str) -> None:
    assert path in refused("practice", text)


def test_the_demo_site_is_accepted() -> None:
    assert of_file("site", shipped("checklists") / "demo" / "site.yaml") == []


@pytest.mark.parametrize("name", SEEN)
def test_a_mistake_that_an_editor_can_see_is_refused(name: str) -> None:
    text = (MISTAKES / f"{name}.yaml").read_text(encoding="utf-8")
    assert refused("rulebase", text)


def test_what_only_the_whole_rulebase_can_tell_is_left_to_the_check() -> None:
    left: list[str] = []
    for path in sorted(MISTAKES.glob("*.yaml")):
        try:
            found = refused("rulebase", path.read_text(encoding="utf-8"))
        except PackError:
            continue  # no YAML at all
        if not found:
            left.append(path.stem)
    assert "quantity-misspelt" in left
    assert not set(left) & set(SEEN)


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("checklist: {id: x}", "$.checklist"),
        ("checklist: {id: X, title: T, revision: 1, purpose: P, subject: circuit, "
         "source: common practice, phases: []}", "$.checklist.id"),
        ("checklist: {id: x, title: T, revision: 1, purpose: P, subject: city, "
         "source: common practice, phases: []}", "$.checklist.subject"),
        ("checklist: {id: x, title: T, revision: 1, purpose: P, subject: circuit, source: common "
         "practice, phases: [{id: a, title: A, stage: as found, steps: [{asks: case_air}]}]}",
         "$.checklist.phases[0].steps[0]"),
        ("checklist: {id: x, title: T, revision: 1, purpose: P, subject: circuit, source: common "
         "practice, phases: [{id: a, title: A, stage: found, steps: []}]}",
         "$.checklist.phases[0].stage"),
    ],
)  # fmt: skip
def test_a_wrong_checklist_is_refused_at_its_place(text: str, path: str) -> None:
    assert path in refused("checklist", text)


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("site: {name: S}\nracks: []", "$.site"),
        ("site: {name: S, altitude: 10 ft}\nracks: [{id: A}]", "$.racks[0]"),
        ("site: {name: S, altitude: 10 ft, values: {case_air: 1 F}}\nracks: []", "$.site.values"),
        ("site: {name: S, altitude: 10 ft, limits: {case_air: {normal: at least 1 F, "
         "source: common practice}}}\nracks: []", "$.site.limits.case_air.source"),
        ("site: {name: S, altitude: 10 ft}\nracks: [{id: A, refrigerant: R-449A, "
         "application: cold}]", "$.racks[0].application"),
    ],
)  # fmt: skip
def test_a_wrong_site_file_is_refused_at_its_place(text: str, path: str) -> None:
    assert path in refused("site", text)


def test_the_names_of_a_rulebase_are_offered(small_base: Rulebase) -> None:
    text = json.dumps(schema_for("rulebase", small_base))
    for name in (*small_base.quantities, *small_base.causes, *small_base.signs, "case_air is high"):
        assert f'"{name}"' in text


def test_a_name_that_a_file_adds_itself_is_not_refused() -> None:
    assert not refused("rulebase", "rules:\n  - id: r\n    when: [new_thing is high]\n"
                       "    evidence_for: {new-cause: weak}\n    because: B.\n"
                       "    source: common practice\n")  # fmt: skip


def test_every_key_has_a_line_that_says_what_it_is_for() -> None:
    of_practice = (*SECTIONS.values(), PLANT, FAULT, AMOUNT, ALARM)
    for shape in (*LISTS.values(), *SINGLE.values(), *of_practice):
        for key in shape.keys:
            assert len(key.says) > 8, (shape.what, key.name)


def test_every_form_of_a_key_is_defined(small_base: Rulebase) -> None:
    shapes = {"rulebase": (*LISTS.values(), *SINGLE.values()),
              "practice": (*SECTIONS.values(), PLANT, FAULT, AMOUNT, ALARM)}  # fmt: skip
    for what, some in shapes.items():
        defined = schema_for(what, small_base)["$defs"]
        assert isinstance(defined, dict)
        for shape in some:
            assert {key.form for key in shape.keys} <= set(defined), shape.what


def test_the_schemas_say_their_draft_and_for_which_rulebase(small_base: Rulebase) -> None:
    for what in FILES:
        schema = schema_for(what, small_base)
        assert schema["$schema"] == DRAFT
        assert str(small_base.info) in str(schema["description"])
    assert KEBAB in json.dumps(schema_for("rulebase", small_base))
