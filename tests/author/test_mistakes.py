"""Mistakes that leads make: each is told at its line, in a sentence one can act on.

A file in `mistakes/` is a fragment of a company pack over the small rulebase in `base/`. Its
comment says the line and the words that must be said; `# alone` marks a fragment with its own
`pack:`.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from expert.errors import PackError, Problem
from expert.knowledge.load_rulebase import load_rulebase

HERE = Path(__file__).parent
HEAD = "pack: {name: trial, version: 1.0.0, over: small-base, base: ../base}\n"
PROGRAMMERS_WORDS = re.compile(
    r"\b(mapping|sequence|scalar|token|parser?|syntax|node|None|null|regex|exception|invalid|"
    r"string|integer|float|boolean|schema|stream)\b"
)


@dataclass(frozen=True)
class Mistake:
    path: Path
    line: int
    words: tuple[str, ...]
    alone: bool

    def told_by(self, problem: Problem) -> bool:
        said = f"{problem.message} {problem.hint}"
        return (
            Path(problem.place.path).name == self.path.name
            and problem.place.line == self.line
            and all(word in said for word in self.words)
        )


def read_mistake(path: Path) -> Mistake:
    text = path.read_text(encoding="utf-8")
    found = re.search(r"^# line (\d+): (.+)$", text, re.MULTILINE)
    assert found, f"{path.name} does not say what is expected"
    words = tuple(word.strip() for word in found[2].split(" | "))
    return Mistake(path, int(found[1]), words, text.startswith("# alone\n"))


MISTAKES = [read_mistake(path) for path in sorted((HERE / "mistakes").glob("*.yaml"))]


def problems_of(mistakes: list[Mistake], folder: Path) -> tuple[Problem, ...]:
    shutil.copytree(HERE / "base", folder / "base")
    pack = folder / "pack"
    pack.mkdir()
    if not mistakes[0].alone:
        (pack / "pack.yaml").write_text(HEAD)
    for mistake in mistakes:
        shutil.copy(mistake.path, pack / mistake.path.name)
    with pytest.raises(PackError) as refused:
        load_rulebase(pack)
    return refused.value.problems


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.path.stem)
def test_a_mistake_is_told_once_at_its_line_with_what_to_do(
    mistake: Mistake, tmp_path: Path
) -> None:
    (problem,) = problems_of([mistake], tmp_path)
    assert problem.place.line == mistake.line, str(problem)
    assert mistake.told_by(problem), str(problem)


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.path.stem)
def test_a_mistake_is_told_in_sentences_with_the_line_and_a_pointer(
    mistake: Mistake, tmp_path: Path
) -> None:
    (problem,) = problems_of([mistake], tmp_path)
    line, pointer = problem.excerpt().split("\n")
    assert line[4:] == mistake.path.read_text().split("\n")[mistake.line - 1].replace("\t", " ")
    assert pointer.index("^") - 4 == problem.place.column - 1 <= len(line) - 4
    assert problem.message.endswith(".")
    assert problem.hint == "" or problem.hint[-1] in ".?"
    assert not PROGRAMMERS_WORDS.search(f"{problem.message} {problem.hint}"), str(problem)
    assert problem.hint or len(problem.message.split()) > 5


def test_there_are_more_than_sixty_kinds_of_mistake() -> None:
    assert len({(mistake.words, mistake.path.stem) for mistake in MISTAKES}) == len(MISTAKES) >= 60


def test_all_mistakes_together_are_told_in_one_go(tmp_path: Path) -> None:
    # a sign named like a quantity changes what other mistakes are
    apart = ("sign-named-like-a-quantity",)
    together = [m for m in MISTAKES if not m.alone and m.path.stem not in apart]
    found = problems_of(together, tmp_path)
    untold = [m.path.stem for m in together if not any(m.told_by(problem) for problem in found)]
    assert untold == []


def test_what_stands_in_a_broken_file_is_not_also_reported_missing(tmp_path: Path) -> None:
    shutil.copytree(HERE / "base", tmp_path / "base")
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text(HEAD)
    (pack / "broken.yaml").write_text("signs:\n  - id: gas_short\n    says: what: it says\n")
    (pack / "rules.yaml").write_text(
        "rules:\n  - {id: short-gas, when: [gas_short], evidence_for: {valve-starving: weak},\n"
        "     because: It is short., source: common practice}\n"
    )
    with pytest.raises(PackError) as refused:
        load_rulebase(pack)
    assert [Path(p.place.path).name for p in refused.value.problems] == ["broken.yaml"]


def test_an_entry_that_cannot_be_read_is_not_also_reported_missing(tmp_path: Path) -> None:
    shutil.copytree(HERE / "base", tmp_path / "base")
    pack = tmp_path / "pack"
    pack.mkdir()
    (pack / "pack.yaml").write_text(
        HEAD + "signs:\n  - {id: gas_short, say: the gas is short}\n"
        "rules:\n  - {id: short-gas, when: [gas_short], evidence_for: {valve-starving: weak},\n"
        "     because: It is short., source: common practice}\n"
    )
    with pytest.raises(PackError) as refused:
        load_rulebase(pack)
    assert [problem.code for problem in refused.value.problems] == ["unknown-key"]
