"""What is called published can be opened: of every entry, procedure, report file and formula."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from expert.knowledge.source import Source
from expert.physics import frame
from expert.physics.frame.catalog import CATALOG
from expert.places import shipped

PHYSICS = Path(frame.__file__).parents[1]
FILES = sorted(
    path
    for folder in (*map(shipped, ("rulebase", "checklists", "reports")), PHYSICS)
    for path in folder.rglob("*.yaml")
)


def published(node: object) -> Iterator[str]:
    """Every text in a file that is called published."""
    if isinstance(node, dict):
        for value in node.values():
            yield from published(value)
    elif isinstance(node, list):
        for value in node:
            yield from published(value)
    elif isinstance(node, str) and node.startswith("published:"):
        yield " ".join(node.removeprefix("published:").split())


def test_a_published_source_of_a_file_names_a_document_that_can_be_opened() -> None:
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    vague = [
        (path.name, text)
        for path in FILES
        for text in published(yaml.load(path.read_text("utf-8"), Loader=loader))
        if not Source("published", text).findable
    ]
    assert vague == []


def test_a_published_source_of_a_formula_names_a_document_that_can_be_opened() -> None:
    named = {
        name: one.source.removeprefix("published: ")
        for name, one in CATALOG.items()
        if one.source.startswith("published:")
    }
    assert len(named) > 20
    assert {n: text for n, text in named.items() if not Source("published", text).findable} == {}


@pytest.mark.parametrize(
    "detail",
    [
        "40 CFR 82.157(c)(2), commercial refrigeration",
        "ACHR News 142801, liquid line restriction",
        "Rossi and Braun 1997, HVAC&R Research 3(1), 19",
        "FDA Food Code 3-501.16",
        "IAPWS R14-08 (2011)",
        "US Army TM 55-1930-209-14P-15",
        "ASHRAE 15-2022, section 9.8",
        "Regulation (EU) 2024/573, Article 5",
        "example.org/manuals/valve-sizing",
    ],
)
def test_a_document_with_its_number_year_or_page_can_be_opened(detail: str) -> None:
    assert Source("published", detail).findable


@pytest.mark.parametrize(
    "detail",
    [
        "trade press",
        "a refrigeration textbook",
        "service blog, over 2 psi",
        "ACHR News, system overcharge",
        "ASHRAE Handbook",
        "open trade courses, 300 to 500 micron",
        "pressure 2.5 psi and 1,500 micron",
        "40 CFR 82.157(b) (from memory)",
        "example.com",
    ],
)
def test_a_vague_source_or_one_from_memory_cannot(detail: str) -> None:
    assert not Source("published", detail).findable


def test_what_is_from_memory_says_so_before_and_not_behind() -> None:
    mixed = re.compile(r"^published:.*from memory", re.DOTALL)
    assert not [n for n, formula in CATALOG.items() if mixed.search(formula.source)]
