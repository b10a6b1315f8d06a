"""A rule as a lead told it: from answers to the text of a file, checked and tried out.

A draft is what a person answered, in the words of rulebase files: `when`, `unless`, `applies`,
`points_to` (a cause or a sign), `strength`, `against`, `because`, `source`, `rule` (its id),
`fires` and `silent` (what is given in a case), and the entries that are new with it: `quantities`,
`limits`, `signs`, `causes`.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from expert.author.files.dump import dump
from expert.author.rule_tests import Outcome, evaluator_for, outcome_of, run_rule_tests
from expert.errors import PackError, Place, Problem
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.read_limits import read_limit
from expert.knowledge.read_quantities import read_quantity
from expert.knowledge.read_rules import read_cause, read_rule, read_sign
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.rule_test_model import RuleTest
from expert.knowledge.yaml_nodes import Fields, Items, as_data, parse_yaml

Draft = dict[str, object]

NEW = ("quantities", "limits", "signs", "causes")
NEEDED = ("when", "points_to", "because", "source", "rule", "fires", "silent")
KEYS = (*NEW, *NEEDED, "unless", "applies", "strength", "against", "done")


def read_draft(path: Path) -> Draft:
    """The draft in a file. Raises PackError with everything that is wrong with its keys."""
    text = path.read_text(encoding="utf-8-sig") if path.exists() else ""
    root = parse_yaml(text, str(path)) if text.strip() else None
    if root is None:
        problem = Problem(
            "file-missing", "There is no such file, or it is empty.", Place(str(path))
        )
        raise PackError([problem])
    reader = Reader()
    fields = reader.fields(root, "a draft", KEYS)
    if reader.problems or fields is None:
        raise PackError(reader.problems)
    return {key: as_data(node) for key, node in fields.fields.items()}


def lacking(draft: Draft, base: Rulebase) -> list[str]:
    """The answers that are still missing."""
    missing = [key for key in NEEDED if not draft.get(key)]
    points_to = draft.get("points_to")
    if points_to and not _is_sign(str(points_to), draft, base) and not draft.get("strength"):
        missing.append("strength")
    return missing


def rulebase_text(draft: Draft, base: Rulebase) -> str:
    """The text of a rulebase file that says what a draft says."""
    sections: dict[str, object] = {}
    for key in NEW:
        entries = draft.get(key)
        if isinstance(entries, list) and entries:
            sections[key] = [{k: v for k, v in entry.items() if v != ""} for entry in entries]
    if draft.get("rule"):
        sections["rules"] = [_rule(draft, base)]
    if not sections:
        return ""
    return dump(sections)


def with_draft(base: Rulebase, draft: Draft) -> tuple[Rulebase, tuple[Problem, ...]]:
    """The rulebase with the entries of a draft, and what is wrong with these."""
    text = rulebase_text(draft, base)
    root = parse_yaml(text, "draft") if text else None
    reader = Reader()
    nodes = {
        key: node.items if isinstance(node, Items) else ()
        for key, node in (root.fields.items() if isinstance(root, Fields) else ())
    }
    quantities = dict(base.quantities)
    for node in nodes.get("quantities", ()):
        if (quantity := read_quantity(node, reader)) is not None:
            quantities[quantity.id] = quantity
    limits = [read_limit(node, quantities, reader) for node in nodes.get("limits", ())]
    signs = [read_sign(node, reader) for node in nodes.get("signs", ())]
    causes = [read_cause(node, reader) for node in nodes.get("causes", ())]
    known_signs = {**base.signs, **{sign.id: sign for sign in signs if sign}}
    rules = dict(base.rules)
    for node in nodes.get("rules", ()):
        if (rule := read_rule(node, reader)) is not None:
            when, unless = (
                tuple(resolve(each, quantities, known_signs, reader) for each in conditions)
                for conditions in (rule.when, rule.unless)
            )
            rules[rule.id] = replace(rule, when=when, unless=unless)
    made = replace(
        base,
        quantities=quantities,
        limits=(*base.limits, *(limit for limit in limits if limit)),
        signs=known_signs,
        causes={**base.causes, **{cause.id: cause for cause in causes if cause}},
        rules=rules,
    )
    return made, tuple(reader.problems)


def try_case(base: Rulebase, draft: Draft, given: Mapping[str, object]) -> str:
    """fires, silent or undecided: what the drafted rule does on a case."""
    asked = {**draft, "fires": given, "silent": {}}
    made, problems = with_draft(base, asked)
    if problems:
        raise PackError(problems)
    rule = made.rules[str(draft["rule"])]
    test: RuleTest = rule.tests[0]
    return outcome_of(rule, test, evaluator_for(test, made, "plain", {}))


def prove(draft_text: str, folder: Path, name: str) -> tuple[tuple[Problem, ...], list[Outcome]]:
    """The problems of a text as a file of a pack, and what its rules' tests come to.

    The text is tried as a pack of its own over that of the folder, so nothing is written there.
    """
    with tempfile.TemporaryDirectory() as place:
        trial = Path(place)
        over = load_rulebase(folder).info.name
        head = {"name": "draft", "version": "0", "over": over, "base": str(folder.resolve())}
        (trial / "pack.yaml").write_text(dump({"pack": head}), encoding="utf-8")
        path = trial / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(draft_text, encoding="utf-8")
        try:
            made = load_rulebase(trial)
        except PackError as error:
            return tuple(_placed(problem, path, name) for problem in error.problems), []
        own = {name: rule for name, rule in made.rules.items() if rule.place.path == str(path)}
        return (), list(run_rule_tests(replace(made, rules=own), "plain"))


def _placed(problem: Problem, path: Path, name: str) -> Problem:
    """The problem with its excerpt said outright, since the file it was found in goes away."""
    if problem.place.path != str(path):
        return problem
    message = f"{problem.message}\n{problem.excerpt()}" if problem.excerpt() else problem.message
    place = Place(name, problem.place.line, problem.place.column)
    return Problem(problem.code, message, place, problem.hint)


def _rule(draft: Draft, base: Rulebase) -> Draft:
    rule: Draft = {"id": draft["rule"], "when": draft.get("when", [])}
    if draft.get("unless"):
        rule["unless"] = draft["unless"]
    points_to = str(draft.get("points_to", ""))
    if _is_sign(points_to, draft, base):
        rule["concludes"] = [points_to]
    elif points_to:
        key = "evidence_against" if draft.get("against") == "yes" else "evidence_for"
        rule[key] = {points_to: draft.get("strength", "")}
    if draft.get("applies"):
        rule["applies"] = draft["applies"]
    rule["because"] = draft.get("because") or "not said yet"
    rule["source"] = draft.get("source") or "from memory"
    tests = [
        _test(draft, key, expect)
        for key, expect in (("fires", "fires"), ("silent", "silent"))
        if draft.get(key)
    ]
    if tests:
        rule["tests"] = tests
    return rule


def _test(draft: Draft, key: str, expect: str) -> Draft:
    test: Draft = {"given": draft[key]}
    applies = draft.get("applies")
    if isinstance(applies, dict) and applies:
        first = {k: v[0] if isinstance(v, list) else v for k, v in applies.items()}
        test["facts"] = first
    test["expect"] = expect
    return test


def _is_sign(name: str, draft: Draft, base: Rulebase) -> bool:
    drafted = draft.get("signs")
    own = [each.get("id") for each in drafted] if isinstance(drafted, list) else []
    return name in base.signs or name in own
