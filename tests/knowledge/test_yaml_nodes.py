"""YAML is read as it was typed, with the place of everything, and refused with a place."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from budget import examples, step
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.errors import PackError, Place
from expert.knowledge.yaml_nodes import (
    Fields,
    Items,
    Node,
    Text,
    parse_yaml,
    places_in,
    read_untested,
    read_yaml,
)
from expert.places import shipped


def fields(text: str) -> Fields:
    node = parse_yaml(text, "f.yaml")
    assert isinstance(node, Fields)
    return node


def problem(text: str) -> tuple[str, Place, str]:
    with pytest.raises(PackError) as refused:
        parse_yaml(text, "f.yaml")
    (one,) = refused.value.problems
    return one.message, one.place, one.hint


@pytest.mark.parametrize(
    "typed",
    ["no", "Yes", "on", "off", "null", "~", "12:30", "010", "0x1F", "1_000", "1e3", ".5", "8 psi"],
)
def test_a_plain_scalar_stays_what_was_typed(typed: str) -> None:
    value = fields(f"a: {typed}").fields["a"]
    assert isinstance(value, Text)
    assert value.text == typed


def test_a_date_stays_text() -> None:
    assert fields("a: 2024-01-02").fields["a"] == Text("2024-01-02", Place("f.yaml", 1, 4))


def test_every_node_has_its_line_and_column() -> None:
    node = fields("a:\n  - b: c\n")
    inner = node.fields["a"]
    assert isinstance(inner, Items)
    assert inner.place == Place("f.yaml", 2, 3)
    (item,) = inner.items
    assert isinstance(item, Fields)
    assert item.key_place("b") == Place("f.yaml", 2, 5)
    assert item.fields["b"].place == Place("f.yaml", 2, 8)


def test_columns_count_characters_and_not_bytes() -> None:
    assert fields("é: {ü: x}").fields["é"].place.column == 4
    assert fields("{é: ü, b: x}").fields["b"].place == Place("f.yaml", 1, 11)


def test_a_missing_key_is_placed_at_its_mapping() -> None:
    assert fields("\n\na: b").key_place("c") == Place("f.yaml", 3, 1)


@pytest.mark.parametrize(("text", "column"), [("a: bcd", 5), ("a: 'bcd'", 6), ('a: "bcd"', 6)])
def test_a_column_inside_a_text_is_a_column_of_the_file(text: str, column: int) -> None:
    value = fields(text).fields["a"]
    assert isinstance(value, Text)
    assert value.at(2) == Place("f.yaml", 1, column)


@pytest.mark.parametrize("text", ["a: >\n  one\n  two\n", "a: one\n  two\n", "a: |\n  one\n"])
def test_a_text_over_several_lines_is_placed_at_its_beginning(text: str) -> None:
    value = fields(text).fields["a"]
    assert isinstance(value, Text)
    assert value.at(6) == Place("f.yaml", 1, 4)


def test_a_duplicate_key_is_refused_at_its_second_place() -> None:
    message, place, _ = problem("a: 1\nb: 2\na: 3\n")
    assert "first is in line 1" in message
    assert place == Place("f.yaml", 3, 1)


def test_all_duplicate_keys_are_told_at_once() -> None:
    with pytest.raises(PackError) as refused:
        parse_yaml("a: 1\na: 2\na: {b: 1, b: 2}\nc: {d: 1, d: 2}\n", "f.yaml")
    assert [p.place.line for p in refused.value.problems] == [2, 3, 4]


@pytest.mark.parametrize(
    ("text", "place", "says"),
    [
        ("a: b: c", (1, 5), "must stand in quotes"),
        ("a: 1\n\tb: 2", (2, 1), "never with tabs"),
        ("a:\n\t- b", (2, 1), "never with tabs"),
        ("a:\n  - b\n \t- c", (3, 2), "never with tabs"),
        ("a: 'x", (1, 4), "Close them"),
        ("a: *x", (1, 4), "starts with *"),
        ("a: 1\n---\nb: 2", (2, 1), "delete the line '---'"),
        ("a: \x07b", (1, 4), "Delete it"),
        ("a: 1\nb: é\x00", (2, 5), "Delete it"),
        ("a: &x [1, *x]", (1, 4), "Write the text out"),
        ("a: &x {b: {c: *x}}", (1, 4), "Write the text out"),
        ("? [a]\n: b", (1, 3), ""),
        ("", (0, 0), ""),
        ("# only a comment\n", (0, 0), ""),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_place_and_what_to_do(
    text: str, place: tuple[int, int], says: str
) -> None:
    _, found, hint = problem(text)
    assert (found.line, found.column) == place
    assert says in hint


def test_ten_thousand_brackets_are_refused() -> None:
    with pytest.raises(PackError):
        parse_yaml("[" * 10_000, "f.yaml")


def test_an_alias_is_read_as_what_it_stands_for() -> None:
    node = fields("a: &x [1]\nb: *x")
    assert node.fields["b"] == node.fields["a"]


def test_a_tag_does_not_make_an_object() -> None:
    assert isinstance(fields("a: !!python/object:os.system x").fields["a"], Text)


def test_a_byte_order_mark_does_not_matter(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: b")
    node = read_yaml(path)
    assert isinstance(node, Fields)
    assert node.key_place("a").column == 1


@pytest.mark.parametrize(
    ("make", "code", "line"),
    [
        (lambda path: None, "file-missing", 0),
        (lambda path: path.mkdir(), "file-unreadable", 0),
        (lambda path: path.write_bytes(b"a: 1\r\nb: \xff"), "not-utf8", 2),
        (lambda path: path.write_bytes(b"\xef\xbb\xbfa: 1\nb: L\xe4den\n"), "not-utf8", 2),
        (lambda path: path.write_text("a: 1\n", encoding="utf-16"), "not-utf8", 0),
    ],
)
def test_a_file_that_cannot_be_read_is_named(
    tmp_path: Path, make: object, code: str, line: int
) -> None:
    path = tmp_path / "f.yaml"
    make(path)  # type: ignore[operator]
    with pytest.raises(PackError) as refused:
        read_yaml(path)
    (one,) = refused.value.problems
    assert (one.code, one.place) == (code, Place(str(path), line))
    assert not line or one.hint == "It is in another encoding; save it as UTF-8 and try again."


def test_a_problem_shows_its_line_with_a_mark_below_the_column(tmp_path: Path) -> None:
    path = tmp_path / "f.yaml"
    path.write_text("a: 1\na: 2\n")
    with pytest.raises(PackError) as refused:
        read_yaml(path)
    assert str(refused.value).splitlines()[1:3] == ["    a: 2", "    ^"]


def test_a_problem_of_a_file_that_is_gone_is_told_without_its_line(tmp_path: Path) -> None:
    with pytest.raises(PackError) as refused:
        parse_yaml("a: 1\na: 2\n", str(tmp_path / "gone.yaml"))
    assert "gone.yaml:2:1" in str(refused.value)


@given(st.text(max_size=60))
@settings(max_examples=examples(300), deadline=None)
def test_no_text_ends_in_anything_but_a_node_or_a_problem(text: str) -> None:
    try:
        parse_yaml(text, "f.yaml")
    except PackError as refused:
        assert refused.problems


SHAPES = st.text("ab:-[]{}&*!'\" \n\t#,|>?%", max_size=40)


@given(SHAPES)
@settings(max_examples=examples(500), deadline=None)
def test_no_yaml_punctuation_ends_in_a_bare_exception(text: str) -> None:
    try:
        parse_yaml(text, "f.yaml")
    except PackError as refused:
        assert refused.problems


SHIPPED = sorted(
    path for folder in ("rulebase", "checklists") for path in shipped(folder).rglob("*.yaml")
)


@pytest.mark.parametrize("path", SHIPPED[:: step(12)], ids=lambda path: path.name)
def test_a_shipped_file_reads_the_same_where_the_c_library_of_yaml_is_missing(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fast = read_yaml(path)
    monkeypatch.delattr(yaml, "CBaseLoader", raising=False)
    assert read_yaml(path) == fast


@pytest.mark.parametrize("path", SHIPPED[:: step(12)], ids=lambda path: path.name)
def test_a_shipped_file_reads_the_same_without_its_tests(path: Path) -> None:
    untested = read_untested(path)
    assert untested == _without_tests(read_yaml(path))
    assert "tests" not in {name.rpartition(".")[2] for name in places_in(untested)}


def _without_tests(node: Node) -> Node:
    if isinstance(node, Items):
        return Items(tuple(map(_without_tests, node.items)), node.place)
    if isinstance(node, Text):
        return node
    fields = {key: _without_tests(each) for key, each in node.fields.items() if key != "tests"}
    return Fields(fields, node.place, {key: node.keys[key] for key in fields})


@pytest.mark.parametrize(
    "text",
    [
        "rules:\n- id: a\n  b: >\n    one\n    tests:\n    two\n  tests:\n  - b: c\n  when: [d]\n",
        "rules:\n  - id: a\n\n    # b\n    tests: [{b: c},\n      {d: e}]\n\n    when: [f]\n",
        "rules:\n  - id: a\n    tests:\n      - b: |\n          c\n\n        d: e\n  - id: g\n",
        "rules:\n  - id: a\n    tests:\n",
        "rules: [{id: a, b: c}]\ntests:\n  - d\n",
    ],
)  # fmt: skip
def test_only_the_tests_of_entries_are_passed_over(text: str, tmp_path: Path) -> None:
    path = tmp_path / "rules.yaml"
    path.write_text(text, encoding="utf-8")
    whole = read_yaml(path)
    assert isinstance(whole, Fields)
    rules = _without_tests(whole.fields["rules"])
    assert read_untested(path) == Fields({**whole.fields, "rules": rules}, whole.place, whole.keys)


def test_of_places_with_one_way_the_first_is_told() -> None:
    places = places_in(fields("do:\n  - {a: x}\n  - {a: y}\n  - {a: x}\nb: [c, c]"))
    assert [(str(places[way])) for way in ("do", "do.a", "do.a.x", "do.a.y", "b.c")] == [
        "f.yaml:1:1", "f.yaml:2:6", "f.yaml:2:9", "f.yaml:3:9", "f.yaml:5:5",
    ]  # fmt: skip
    assert "do" not in places_in(fields("do: x\nb: c"), ("do",))
