"""Every single value of a rulebase, a site file and a file of readings replaced by something odd.

Nothing may end in a bare exception, and every problem must say its line.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import yaml
from budget import step
from tiny_rulebase import TINY
from yaml import MappingNode, Node, ScalarNode, SequenceNode

from expert.author.rule_tests import run_rule_tests
from expert.errors import PackError, ReadingError
from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import read_subject_file
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase

_DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
STRIDE = 1 if os.environ.get("RACKWALK_TEST_PROFILE") == "nightly" else 9
SITE = """\
site:
  name: Here
  invented: yes
  altitude: 1000 ft
  has: [heat reclaim]
  values: {setting: 50 F}
racks:
  - id: A
    title: Rack
    refrigerant: R-449A
    application: low temperature
    defrost: hot gas
    values: {setting: 55 F}
    limits:
      differential: {normal: 14 to 18 psi, very_low: 9 psi, source: "site: legend",
                     cannot_judge_when: [valve is shut], note: a note}
    compressors: [{id: A-1}]
    circuits:
      - id: A1
        case_type: doors
        values: {setting: 60 F}
        cases: [{id: A1-left}]
"""
READINGS = """\
title: one circuit
refrigerant: R-449A
application: low temperature
defrost: hot gas
case_type: doors
has: [heat reclaim]
altitude: 5280 ft
readings:
  upper_pressure: 198 psig
  lower_pressure: 190 psig
  line_temperature: [10 F at 1 min, 12 F at 2 min]
  clearing_time: 24 min
  valve: open
as found: {upper_pressure: 200 psig}
circuits: {A2: {valve: shut}}
"""


def text_node(text: str) -> Node:
    return ScalarNode("tag:yaml.org,2002:str", text)


def list_node(*items: Node) -> Node:
    return SequenceNode("tag:yaml.org,2002:seq", list(items))


def mapping_node(*pairs: tuple[Node, Node]) -> Node:
    return MappingNode("tag:yaml.org,2002:map", list(pairs))


ODD: dict[str, Callable[[], Node]] = {
    "nothing": lambda: text_node(""),
    "word": lambda: text_node("x"),
    "number": lambda: text_node("3"),
    "huge number": lambda: text_node("9" * 5000),
    "negative measure": lambda: text_node("-3 psi"),
    "not ascii": lambda: text_node("\N{SUPERSCRIPT TWO}é\N{ARABIC-INDIC DIGIT THREE}"),
    "empty list": list_node,
    "list of nothing": lambda: list_node(text_node("")),
    "nested list": lambda: list_node(list_node(text_node("x"))),
    "empty mapping": mapping_node,
    "mapping": lambda: mapping_node((text_node("x"), text_node("y"))),
    "list of mappings": lambda: list_node(mapping_node((text_node("x"), text_node("y")))),
}


def spoiled(text: str, name: str, stride: int = 1) -> Iterator[str]:
    """The text with each of its values in turn (or each stride-th) replaced by what is named."""
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    yield _written(ODD[name]())
    for put in list(_slots(root))[list(ODD).index(name) % stride :: stride]:
        old = put(ODD[name]())
        yield _written(root)
        put(old)


def _slots(node: Node) -> Iterator[Callable[[Node], Node]]:
    if isinstance(node, MappingNode):
        for index, (key, value) in enumerate(node.value):

            def put_value(
                new: Node, node: Node = node, index: int = index, key: Node = key
            ) -> Node:
                old: Node = node.value[index][1]
                node.value[index] = (key, new)
                return old

            yield put_value
            yield from _slots(value)
    elif isinstance(node, SequenceNode):
        for index, value in enumerate(node.value):

            def put_item(new: Node, node: Node = node, index: int = index) -> Node:
                old: Node = node.value[index]
                node.value[index] = new
                return old

            yield put_item
            yield from _slots(value)


def _written(node: Node) -> str:
    stream = io.StringIO()
    yaml.serialize(node, stream, Dumper=_DUMPER, allow_unicode=True)
    return stream.getvalue()


def assert_placed(refused: PackError) -> None:
    assert refused.problems
    for problem in refused.problems:
        whole = problem.code in ("missing-section", "empty")
        assert problem.place.line or whole, str(problem)
        assert problem.message


@pytest.mark.parametrize("odd", list(ODD)[:: step(3)])
def test_a_rulebase_with_an_odd_value_is_refused_with_places_or_works(
    odd: str, tmp_path: Path
) -> None:
    for text in spoiled(TINY, odd, STRIDE):
        (tmp_path / "all.yaml").write_text(text, encoding="utf-8")
        try:
            base = load_rulebase(tmp_path)
        except PackError as refused:
            assert_placed(refused)
        else:
            run_rule_tests(base, "plain")


@pytest.mark.parametrize("odd", ODD)
def test_a_site_file_with_an_odd_value_is_refused_with_places_or_works(
    odd: str, tiny: Rulebase
) -> None:
    for text in spoiled(SITE, odd):
        try:
            site = parse_site(text, "site.yaml", tiny)
        except PackError as refused:
            assert_placed(refused)
        else:
            for subject in site.subjects.values():
                members = site.members(subject)
                Evaluator(tiny, subject, members=members, backend="plain").evaluate(())


@pytest.mark.parametrize("odd", ODD)
def test_a_file_of_readings_with_an_odd_value_is_refused_or_works(
    odd: str, tiny: Rulebase, tmp_path: Path
) -> None:
    path = tmp_path / "readings.yaml"
    for text in spoiled(READINGS, odd):
        path.write_text(text, encoding="utf-8")
        try:
            told = read_subject_file(path, tiny)
        except ReadingError as refused:
            assert str(path) in str(refused)
        else:
            evaluator = Evaluator(tiny, told.subject, members=told.members, backend="plain")
            evaluator.evaluate(told.readings, told.found)
