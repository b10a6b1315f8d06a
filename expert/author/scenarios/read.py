"""Whole cases in files: readings, and which cause they must lead to.

A scenario is a file of readings as `rackwalk diagnose` takes it, with a section `scenario:` that
says what is expected.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from expert.errors import PackError, Place, Problem, ReadingError, nearest
from expert.inference.compiled import Compiled
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation
from expert.inference.make_engine import Backend
from expert.inference.subject_file import SubjectFile, read_subject_file
from expert.knowledge.model import Rulebase
from expert.knowledge.reader import Reader
from expert.knowledge.source import Source
from expert.knowledge.yaml_nodes import Fields, Node, read_yaml

_KEYS = ("title", "source", "expect", "note", "added")
_EXPECT = (
    "first", "tied", "also", "never", "none", "advice_held", "undecided", "certainty",
)  # fmt: skip


@dataclass(frozen=True)
class Expectation:
    """What a scenario must lead to; everything that is given must hold.

    `first` is the cause ranked first; with `tied` it may share the first rank with one of these
    (alone, `tied` says that one of these is first). `also` are found anywhere, `never` nowhere.
    `none` is no finding at all; `undecided` no finding, but something worth measuring next.
    `certainty` gives the words for the certainty of a cause.
    """

    first: str = ""
    tied: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    none: bool = False
    undecided: bool = False
    advice_held: tuple[str, ...] = ()
    certainty: dict[str, str] = field(default_factory=dict)

    @property
    def empty(self) -> bool:
        """Whether nothing is expected at all."""
        return self == Expectation()


@dataclass(frozen=True)
class Scenario:
    """One whole case with its source and what it must lead to.

    `added` are the readings of a published case that its source does not print.
    """

    title: str
    source: Source
    given: SubjectFile
    expect: Expectation
    place: Place
    added: tuple[str, ...] = ()


def load_scenarios(folder: Path, rulebase: Rulebase, only: str = "") -> tuple[Scenario, ...]:
    """Every scenario of a folder and the folders in it whose path has a word, by path.

    Raises PackError with the problems of all files, also where there is none.
    """
    files = sorted(folder.rglob("*.yaml"))
    if not files:
        message = "There are no scenarios here."
        raise PackError([Problem("no-scenarios", message, Place(str(folder)))])
    found: list[Scenario] = []
    problems: list[Problem] = []
    for path in (each for each in files if only in str(each)):
        try:
            found.append(read_scenario(path, rulebase))
        except PackError as error:
            problems.extend(error.problems)
        except ReadingError as error:
            message = f"Its readings cannot be taken:\n{error}"
            problems.append(Problem("readings", message, Place(str(path))))
    if problems:
        raise PackError(problems)
    return tuple(found)


def read_scenario(path: Path, rulebase: Rulebase) -> Scenario:
    """The scenario of a file. Raises PackError, or ReadingError for its readings."""
    root = read_yaml(path)
    reader = Reader()
    node = root.fields.get("scenario") if isinstance(root, Fields) else None
    if node is None:
        message = "The file has no 'scenario: {title, source, expect}'."
        raise PackError([Problem("missing-section", message, root.place)])
    scenario = reader.fields(node, "scenario", _KEYS, ("title", "source", "expect"))
    if scenario is None:
        raise PackError(reader.problems)
    got = scenario.fields
    expect = _expectation(got["expect"], rulebase, reader)
    if expect.empty and not reader.problems:
        reader.problem("nothing-expected", "The scenario expects nothing.", node.place)
    title = reader.text(got["title"], "title")
    source = reader.source(got["source"], "this scenario")
    added = reader.texts(got.get("added"), "added")
    if reader.problems:
        raise PackError(reader.problems)
    given = read_subject_file(path, rulebase)
    read = {each.quantity for each in (*given.readings, *(given.found or ()))}
    for name in (each for each in added if each not in read):
        message = f"'{name}' is said to be added, and is not among the readings."
        raise PackError([Problem("not-a-reading", message, node.place, nearest(name, read))])
    return Scenario(title, source, given, expect, node.place, added)


def _expectation(node: Node, rulebase: Rulebase, reader: Reader) -> Expectation:
    fields = reader.fields(node, "what a scenario expects", _EXPECT)
    if fields is None:
        return Expectation()
    got = fields.fields
    actions = {gate.action for gate in rulebase.gates.values()}
    words = [word for _, word in rulebase.certainty.words]
    sure = reader.fields(got.get("certainty"), "certainty", tuple(rulebase.causes))
    expect = Expectation(
        first=next(iter(_names(fields, "first", rulebase.causes, reader)), ""),
        tied=_names(fields, "tied", rulebase.causes, reader),
        also=_names(fields, "also", rulebase.causes, reader),
        never=_names(fields, "never", rulebase.causes, reader),
        none=reader.word(got.get("none"), "answer", ("yes",)) == "yes",
        undecided=reader.word(got.get("undecided"), "answer", ("yes",)) == "yes",
        advice_held=_names(fields, "advice_held", actions, reader, "action with a gate"),
        certainty={
            cause: reader.word(value, "word for a certainty", words)
            for cause, value in (sure.fields if sure else {}).items()
        },
    )
    named = {expect.first, *expect.tied, *expect.also, *expect.certainty} - {""}
    if both := sorted(named & set(expect.never)):
        reader.problem("contradiction", f"'{both[0]}' is expected, and never.", fields.place)
    if (expect.none or expect.undecided) and (named or expect.advice_held):
        message = "No finding is expected, and a cause or its advice too."
        reader.problem("contradiction", message, fields.place)
    return expect


def _names(
    fields: Fields, key: str, known: Iterable[str], reader: Reader, what: str = "cause"
) -> tuple[str, ...]:
    node = fields.fields.get(key)
    names = reader.texts(node, key)
    for name in names:
        if name not in set(known):
            place = node.place if node else fields.place
            message = f"There is no {what} '{name}'."
            reader.problem(f"unknown-{what.split()[0]}", message, place, nearest(name, known))
    return names


class ScenarioRunner:
    """Evaluates scenarios over one rulebase; evaluators are kept for subjects that return."""

    def __init__(self, rulebase: Rulebase, backend: Backend = "auto", system: str = "us"):
        self.rulebase = rulebase
        self.backend = backend
        self.system = system
        self._made: dict[object, Evaluator] = {}
        self._compiled: Compiled = {}

    def evaluator(self, scenario: Scenario) -> Evaluator:
        """The evaluator of a scenario's subject."""
        given = scenario.given
        # Titles do not bear on findings, so that all files of one kind share an evaluator.
        subject = given.subject
        facts = tuple(sorted(subject.facts.items()))
        plain = not subject.values and not subject.limits and not given.members
        key: object = (subject.kind, facts, subject.has, subject.altitude)
        if not plain:
            key = scenario.place
        if key not in self._made:
            self._made[key] = Evaluator(
                self.rulebase, subject, members=given.members, system=self.system,
                backend=self.backend, compiled=self._compiled,
            )  # fmt: skip
        return self._made[key]

    def evaluate(self, scenario: Scenario) -> Evaluation:
        """What follows from the readings of a scenario."""
        return self.evaluator(scenario).evaluate(scenario.given.readings, scenario.given.found)
