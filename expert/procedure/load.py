"""From checklist files to checked checklists; every problem is reported in one go."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from expert.errors import PackError, Place, Problem
from expert.knowledge.conditions import Condition
from expert.knowledge.model import Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.resolve import resolve
from expert.knowledge.yaml_nodes import parse_yaml
from expert.procedure.check_checklist import check_checklist
from expert.procedure.check_order import check_order
from expert.procedure.checklist import Checklist, Phase
from expert.procedure.read_checklist import read_checklist


def load_checklist(path: Path, rulebase: Rulebase) -> Checklist:
    """The checked checklist of a file. Raises PackError with every problem found."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise PackError(
            [Problem("file-unreadable", f"Cannot read the checklist: {reason}.", Place(str(path)))]
        ) from None
    return parse_checklist(text, str(path), rulebase)


def load_checklists(folder: Path, rulebase: Rulebase) -> dict[str, Checklist]:
    """Every checklist of a folder by its id. Raises PackError with the problems of all files.

    Folders inside it are not searched: they hold sites and answers.
    """
    found: dict[str, Checklist] = {}
    problems: list[Problem] = []
    for path in sorted(folder.glob("*.yaml")):
        try:
            checklist = load_checklist(path, rulebase)
        except PackError as error:
            problems.extend(error.problems)
            continue
        if checklist.id in found:
            message = f"'{checklist.id}' is already in {found[checklist.id].place.path}."
            problems.append(Problem("duplicate-id", message, checklist.place))
        found[checklist.id] = checklist
    if problems:
        raise PackError(problems)
    return found


def parse_checklist(text: str, path: str, rulebase: Rulebase) -> Checklist:
    """The checked checklist of a text; `path` is only for messages."""
    reader = Reader()
    checklist = read_checklist(parse_yaml(text, path), reader)
    if checklist is not None:
        phases = tuple(_resolved(phase, rulebase, reader) for phase in checklist.phases)
        digest = hashlib.sha256(text.replace("\r\n", "\n").encode()).hexdigest()
        checklist = replace(checklist, phases=phases, hash=digest)
        check_checklist(checklist, rulebase, reader)
        check_order(checklist, rulebase, reader)
    if reader.problems or checklist is None:
        raise PackError(sorted(set(reader.problems), key=lambda problem: problem.place))
    return checklist


def _resolved(phase: Phase, rulebase: Rulebase, reader: Reader) -> Phase:
    def held(conditions: tuple[Condition, ...]) -> tuple[Condition, ...]:
        return tuple(
            resolve(condition, rulebase.quantities, rulebase.signs, reader)
            for condition in conditions
        )

    steps = tuple(
        replace(step, when=held(step.when), unless=held(step.unless)) for step in phase.steps
    )
    return replace(phase, steps=steps)
