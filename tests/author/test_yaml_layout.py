"""The formatter: one layout, comments kept, meaning unchanged, done after one time."""

from __future__ import annotations

import os
import shutil
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from budget import at_night, examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.author.files.yaml_layout import format_text
from expert.author.files.yaml_tree import read_tree
from expert.errors import PackError, Place
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.yaml_nodes import Fields, Items, Node, parse_yaml
from expert.places import shipped

STRIDE = 1 if os.environ.get("RACKWALK_TEST_PROFILE") == "nightly" else 9
SHIPPED = sorted([*shipped("rulebase").rglob("*.yaml"), *shipped("checklists").rglob("*.yaml")])


def formatted(text: str) -> str:
    once = format_text(text, "f.yaml")
    assert format_text(once, "f.yaml") == once
    return once


def meaning(node: Node) -> object:
    """What a file says, without places and with mappings in no order."""
    if isinstance(node, Items):
        return [meaning(item) for item in node.items]
    if isinstance(node, Fields):
        return {key: meaning(value) for key, value in node.fields.items()}
    return " ".join(node.text.split())


def without_places(value: object) -> object:
    """A model with every place, and every mapping of places, taken out."""
    if isinstance(value, Place):
        return None
    if is_dataclass(value):
        kept = [field.name for field in fields(value) if field.name != "places"]
        return (type(value), *(without_places(getattr(value, name)) for name in kept))
    if isinstance(value, dict):
        return {key: without_places(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [without_places(each) for each in value]
    return value


@at_night
def test_the_whole_shipped_rulebase_means_the_same_after_formatting(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    folder = tmp_path / "rulebase"
    shutil.copytree(shipped("rulebase"), folder)
    for path in sorted(folder.rglob("*.yaml"))[::STRIDE]:
        path.write_text(format_text(path.read_text(encoding="utf-8"), str(path)), encoding="utf-8")
    before, after = shipped_rulebase, load_rulebase(folder)
    for name in ("quantities", "limits", "signs", "causes", "rules", "cautions", "gates"):
        assert without_places(getattr(after, name)) == without_places(getattr(before, name)), name
    assert without_places(after.certainty) == without_places(before.certainty)


@pytest.mark.parametrize("path", SHIPPED[::STRIDE], ids=lambda path: path.name)
def test_a_shipped_file_is_formatted_once_for_all(path: Path) -> None:
    once = formatted(path.read_text(encoding="utf-8"))
    long = [line for line in once.split("\n") if len(line) > 120 and " " in line.strip()]
    assert long == []


def test_keys_come_in_their_usual_order_and_unknown_ones_last() -> None:
    text = "rules:\n  - because: B.\n    odd: x\n    when: [a]\n    id: r\n"
    assert formatted(text) == "rules:\n  - id: r\n    when: [a]\n    because: B.\n    odd: x\n"


def test_sections_stay_in_the_order_of_their_author() -> None:
    text = "rules: []\npack:\n    version: 1\n    name: x\n"
    assert formatted(text) == "rules: []\npack:\n  name: x\n  version: 1\n"


def test_a_checklist_keeps_the_order_of_its_keys() -> None:
    text = "checklist:\n   title: T\n   id: x\n"
    assert formatted(text) == "checklist:\n  title: T\n  id: x\n"


def test_comments_stay_with_what_they_stand_at() -> None:
    text = (
        "# head\n\nsigns:   # of all\n # first\n  -   says: x   # said\n      id: a # named\n"
        "  # old:\n  # - b\n# last\n"
    )
    assert formatted(text) == (
        "# head\n\nsigns:  # of all\n  # first\n  - id: a  # named\n    says: x  # said\n"
        "  # old:\n  # - b\n# last\n"
    )


def test_a_comment_moves_with_its_key() -> None:
    text = "signs:\n  - says: x\n    # why this name\n    id: a\n"
    assert formatted(text) == "signs:\n  # why this name\n  - id: a\n    says: x\n"


def test_a_list_with_comments_inside_is_written_line_by_line() -> None:
    text = "a: [x, # one\n  y]\n"
    assert formatted(text) == "a:\n  - x  # one\n  - y\n"


def test_a_hash_inside_a_text_is_no_comment() -> None:
    text = 'a: "x # y"\nb: z#1\nc: >-\n  one\n  # two\nd: |\n  # three\n'
    assert formatted(text) == 'a: "x # y"\nb: z#1\nc: >-\n  one # two\nd: "# three"\n'.replace(
        "c: >-\n  one # two", 'c: "one # two"'
    )


def test_brackets_on_several_lines_are_joined_where_they_fit() -> None:
    assert formatted("a: [x,\n    y]\n") == "a: [x, y]\n"


def test_brackets_that_do_not_fit_become_lines() -> None:
    words = [f"word-{number}-of-many" for number in range(9)]
    once = formatted(f"a: [{', '.join(words)}]\n")
    assert once == "a:\n" + "".join(f"  - {word}\n" for word in words)


def test_a_long_text_is_folded_and_a_number_stays_with_its_unit() -> None:
    once = formatted(f"a: {'twelve ' * 12}and then 10 psi more {'words ' * 9}\n")
    lines = once.split("\n")
    assert lines[0] == "a: >-"
    assert all(len(line) <= 100 for line in lines)
    assert "10 psi" in once


def test_a_text_is_not_folded_while_its_author_left_it_on_a_line_of_modest_length() -> None:
    text = f"a: {'word ' * 22}end\n"
    assert 100 < len(text) <= 120
    assert formatted(text) == text


def test_quotes_stay_and_are_double_where_that_needs_no_escape() -> None:
    text = "a: 'x'\nb: \"it's\"\nc: 'say \"x\"'\nd: 'a: b'\n"
    assert formatted(text) == 'a: "x"\nb: "it\'s"\nc: \'say "x"\'\nd: "a: b"\n'


def test_no_two_blank_lines_and_none_at_the_beginning_of_a_list() -> None:
    assert formatted("a:\n\n  - x\n\n\n\n  - y\n\n\n") == "a:\n  - x\n\n  - y\n"


def test_what_is_typed_keeps_its_form() -> None:
    text = "a: no\nb: 12:30\nc: 010\nd: 1.0\ne:\nf: ~\n"
    assert formatted(text) == text


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("a: &x [1]\nb: *x\n", "anchor"),
        ("a: !t x\n", "tag"),
        ("%YAML 1.1\n---\na: b\n", "directive"),
    ],
)
def test_what_could_be_lost_is_refused(text: str, what: str) -> None:
    with pytest.raises(PackError, match=what):
        format_text(text, "f.yaml")


def test_a_file_that_is_wrong_is_refused_with_its_place() -> None:
    with pytest.raises(PackError, match=r"f\.yaml:3:1"):
        format_text("a: 1\nb: 2\na: 3\n", "f.yaml")


WORDS = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), include_characters="#:-[]{}'\",|>"),
    min_size=1, max_size=12,
)  # fmt: skip
PLAIN = st.from_regex(r"[a-z][a-z0-9 ]{0,10}[a-z]", fullmatch=True)
COMMENTS = st.lists(st.from_regex(r"[a-z]{1,8}( [a-z]{1,8}){0,2}", fullmatch=True), max_size=2)


@st.composite
def documents(draw: st.DrawFn) -> str:
    """Rulebase-like files with comments, quotes, brackets and odd indentation."""
    lines: list[str] = []
    indent = draw(st.sampled_from([0, 2, 4]))
    for section in draw(
        st.lists(st.sampled_from(["signs", "rules", "odd"]), min_size=1, unique=True)
    ):
        lines += [f"# {comment}" for comment in draw(COMMENTS)]
        lines.append(f"{section}:" + draw(st.sampled_from(["", "  # beside"])))
        for _ in range(draw(st.integers(1, 3))):
            lines += [f"{' ' * indent}# {comment}" for comment in draw(COMMENTS)]
            keys = draw(st.lists(st.sampled_from(["id", "says", "when", "because", "x"]),
                                 min_size=1, unique=True))  # fmt: skip
            for number, key in enumerate(keys):
                pad = " " * indent + ("- " if number == 0 else "  ")
                value = draw(st.one_of(PLAIN, WORDS.map(_quoted), st.lists(PLAIN, max_size=4)
                                       .map(lambda parts: f"[{', '.join(parts)}]")))  # fmt: skip
                lines.append(f"{pad}{key}: {value}" + draw(st.sampled_from(["", " # side"])))
            lines += [""] * draw(st.integers(0, 2))
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


@settings(max_examples=examples(150), deadline=None)
@given(documents())
def test_any_file_means_the_same_and_keeps_its_comments(text: str) -> None:
    once = formatted(text)
    assert meaning(parse_yaml(once, "f")) == meaning(parse_yaml(text, "f"))
    comments = [part.strip() for line in text.split("\n") for part in [line.partition("# ")[2]]]
    for comment in filter(None, comments):
        if "'" not in comment:
            assert comment.split()[0] in once


def test_a_tree_holds_every_comment_of_a_shipped_file() -> None:
    path = shipped("rulebase") / "hot-gas-defrost" / "rules-differential.yaml"
    text = path.read_text(encoding="utf-8")
    root = read_tree(text, str(path))
    wanted = [line for line in text.split("\n") if line.startswith("#")]
    assert wanted
    assert root.entries[0].lead[: len(wanted)] == wanted


def test_tests_in_proof_stand_on_one_line_where_they_have_room() -> None:
    """Not where a comment stands inside, and not beside a rule."""
    test = """\
      - given:
          fan_state: stopped

          case_air: 12 F
        expect: fires
"""
    text = f"proof:\n  - rule: one\n    tests:\n{test}"
    line = "      - {given: {fan_state: stopped, case_air: 12 F}, expect: fires}\n"
    assert formatted(text) == text.replace(test, line)
    said = text.replace("stopped\n", "stopped  # by hand\n")
    assert "\n          fan_state: stopped  # by hand\n" in formatted(said)
    beside = text.replace("proof:", "rules:").replace("rule: one", "id: one")
    assert "\n          case_air: 12 F\n" in formatted(beside)
    long = text.replace("12 F", f"[{', '.join(['12 F at 10:00'] * 6)}]")
    assert "\n        expect: fires\n" in formatted(long)
