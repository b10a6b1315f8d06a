"""Readings set one at a time, and what each one changes: states, signs, rules, findings."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from expert.author.files.dump import dump
from expert.author.rule_tests import DEFAULT_FACTS
from expert.errors import ReadingError, nearest
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Finding, each_finding
from expert.inference.kleene import Truth
from expert.inference.make_engine import Backend
from expert.inference.sentences import Speaker, first_up, limit_text
from expert.inference.subject_file import FRAME, SubjectFile, subject_of
from expert.knowledge.entry_model import FACTS
from expert.knowledge.model import Rulebase
from expert.knowledge.read_tests import PLURALS
from expert.knowledge.yaml_nodes import Fields, as_data, parse_yaml, read_yaml

FileContents = dict[str, object]
SETTABLE = (*FACTS, "altitude", "has")
FOUND = "found"
_STATES: dict[Truth, str] = {True: "so", False: "not so", None: "not known"}


@dataclass(frozen=True)
class WhatIfStanding:
    """What the readings lead to at one moment."""

    given: SubjectFile
    evaluator: Evaluator
    evaluation: Evaluation
    signs: Mapping[str, Truth]

    @property
    def findings(self) -> dict[str, Finding]:
        """Every finding by its cause, also those under another."""
        return {finding.cause.id: finding for finding in each_finding(self.evaluation.findings)}


@dataclass
class WhatIf:
    """A file of readings that is written line by line.

    `contents` is the file as it would be saved: facts of the subject, `readings`, and where there
    are any `as found` and `circuits` (compressors, cases). `folder` is where a site file is
    looked for.
    """

    rulebase: Rulebase
    system: str = "us"
    backend: Backend = "auto"
    contents: FileContents = field(default_factory=lambda: {**DEFAULT_FACTS, "readings": {}})
    folder: Path = Path()
    _cached: tuple[str, Evaluator] | None = None

    @classmethod
    def of_file(cls, path: Path, rulebase: Rulebase, system: str, backend: Backend) -> WhatIf:
        """Begins with the readings of a file. Raises PackError or ReadingError."""
        root = read_yaml(path)
        contents: FileContents = {}
        readings: FileContents = {}
        for name, node in root.fields.items() if isinstance(root, Fields) else ():
            if name in FRAME:
                contents[name] = as_data(node)
            else:
                readings[name] = as_data(node)
        under = contents.get("readings")
        contents["readings"] = {**(under if isinstance(under, dict) else {}), **readings}
        made = cls(rulebase, system, backend, contents, path.parent)
        made.standing()
        return made

    def standing(self) -> WhatIfStanding:
        """What follows from all that is set. Raises ReadingError for what cannot be accepted."""
        given = subject_of(parse_yaml(self._text(), "what-if"), self.folder / "-", self.rulebase,
                          self.system)  # fmt: skip
        evaluator = self._evaluator(given)
        evaluation = evaluator.evaluate(given.readings, given.found)
        facts, _ = evaluator.facts(given.readings, given.found)
        evaluator.run(facts)
        return WhatIfStanding(given, evaluator, evaluation, dict(facts.signs))

    def set(self, name: str, value: str) -> None:
        """Set a reading or a fact of the subject. Raises ReadingError, and then nothing is set."""
        before = _copied(self.contents)
        given = _series(value)
        if name in SETTABLE:
            self.contents[name] = given
        else:
            group, quantity = self._group(name)
            group[quantity] = given
        try:
            self.standing()
        except ReadingError as error:
            self.contents = before
            raise ReadingError(_without_place(str(error))) from None

    def unset(self, name: str) -> None:
        """Take a reading or a fact away. Raises ReadingError for what is not set."""
        if name in SETTABLE and name in self.contents:
            del self.contents[name]
            return
        group, quantity = self._group(name)
        if quantity not in group:
            hint = nearest(quantity, group)
            raise ReadingError(f"'{name}' is not set. {hint}".rstrip())
        del group[quantity]

    def save(self, path: Path) -> None:
        """Write what is set as a file of readings, for `diagnose` and for scenarios."""
        contents = _copied(self.contents)
        if isinstance(site := contents.get("site"), str):
            contents["site"] = os.path.relpath(self.folder / site, path.parent)
        path.write_text(_dumped(contents), encoding="utf-8")

    def _group(self, name: str) -> tuple[FileContents, str]:
        """The mapping in which a name stands: of the subject, of 'A2.case_air', of 'found.x'."""
        where, dot, quantity = name.rpartition(".")
        if quantity not in self.rulebase.quantities:
            hint = nearest(quantity, (*self.rulebase.quantities, *SETTABLE))
            hint = hint or "'find WORD' looks for names."
            raise ReadingError(f"'{quantity}' is not a known quantity. {hint}")
        if not dot:
            return _under(self.contents, "readings"), quantity
        if where == FOUND:
            return _under(self.contents, "as found"), quantity
        plural = next((p for p in PLURALS if where in _under(self.contents, p)), "circuits")
        return _under(_under(self.contents, plural), where), quantity

    def _text(self) -> str:
        return _dumped(self.contents)

    def _evaluator(self, given: SubjectFile) -> Evaluator:
        key = repr((given.subject, given.members))
        if self._cached is None or self._cached[0] != key:
            evaluator = Evaluator(
                self.rulebase, given.subject, members=given.members, system=self.system,
                backend=self.backend,
            )  # fmt: skip
            self._cached = (key, evaluator)
        return self._cached[1]


def change_lines(before: WhatIfStanding, after: WhatIfStanding) -> Iterator[str]:
    """What is different after a line: states, signs, findings, advice."""
    old, new = before.evaluation.states, after.evaluation.states
    quantities = after.evaluator.rulebase.quantities
    for name in dict.fromkeys((*old, *new)):
        was = old[name].word if name in old else "unknown"
        now = new[name].word if name in new else "unknown"
        if was != now and not (quantities[name].is_choice or {was, now} == {"unknown"}):
            yield f"{quantities[name].title}: {now}, was {was}"
    signs = after.evaluator.rulebase.signs
    for name in dict.fromkeys((*before.signs, *after.signs)):
        had, has = before.signs.get(name), after.signs.get(name)
        if had is not has:
            yield f"sign {name} ({signs[name].says}): {_STATES[has]}, was {_STATES[had]}"
    yield from _finding_changes(before.findings, after.findings)


def _finding_changes(old: Mapping[str, Finding], new: Mapping[str, Finding]) -> Iterator[str]:
    for cause, finding in new.items():
        strength = f"{finding.words} ({finding.certainty:.2f})"
        if cause not in old:
            yield f"found: {finding.cause.title}, {strength}  [{cause}]"
        elif finding.certainty != old[cause].certainty:
            was = old[cause]
            yield f"{finding.cause.title}: {strength}, was {was.words} ({was.certainty:.2f})"
        if cause in old and finding.held_back != old[cause].held_back:
            held = ", ".join(finding.held_back) or "nothing"
            yield f"{finding.cause.title}: advice held back: {held}"
    for cause, finding in old.items():
        if cause not in new:
            yield f"no longer found: {finding.cause.title}"


def known_lines(standing: WhatIfStanding) -> Iterator[str]:
    """Everything that is known, with its state and limit; then the signs that hold."""
    evaluation, evaluator = standing.evaluation, standing.evaluator
    speaker = Speaker(evaluator.rulebase, evaluation.known, evaluator.limits, evaluator.system)
    for name, known in evaluation.known.items():
        line = f"{name}: {speaker.plain(name)}"
        state, limit = evaluation.states[name], evaluator.limits.get(name)
        if not known.quantity.is_choice and limit is not None:
            line += f"; {state.word}, normal {limit_text(limit, known.quantity, evaluator.system)}"
        yield line
    for name, truth in standing.signs.items():
        if truth is True:
            yield f"sign {name}: {first_up(evaluator.rulebase.signs[name].says)}."


def _series(value: str) -> object:
    """'[10 F, 12 F]' is a list, all else one text."""
    if value.startswith("[") and value.endswith("]"):
        return [part.strip() for part in value[1:-1].split(",")]
    return value


def _under(contents: FileContents, key: str) -> FileContents:
    inner = contents.get(key)
    if not isinstance(inner, dict):
        inner = contents[key] = {}
    return inner


def _copied(contents: FileContents) -> FileContents:
    return {
        key: _copied(value) if isinstance(value, dict) else value for key, value in contents.items()
    }


def _dumped(contents: FileContents) -> str:
    kept = {key: value for key, value in contents.items() if value not in ({}, [])}
    return dump(kept or {"readings": {}})


def _without_place(message: str) -> str:
    """The refusal without the place in a file that nobody has written."""
    lines = [
        line.partition("what-if:")[2].partition(": ")[2] or line for line in message.split("\n")
    ]
    return "\n".join(line for line in lines if line.strip())
