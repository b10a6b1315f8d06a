"""Who may come in by a company's own sign-in: a YAML file of companies and people."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from expert.errors import PackError, UsageError
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, read_yaml
from expert.user_folders import expanded
from expert.web.roles import ROLES, Person, name_of

_COMPANY = ("id", "jobs", "pack")
_PERSON = ("name", "signs in as", "role", "company")


@dataclass
class Companies:
    """Where the jobs of each company are, by which pack they are judged, and who is who.

    `people` goes by the name of the sign-in, in small letters.
    """

    jobs: dict[str, Path | str] = field(default_factory=dict)
    packs: dict[str, Path] = field(default_factory=dict)
    people: dict[str, Person] = field(default_factory=dict)


def read_companies(path: Path) -> Companies:
    """The companies and people of a file. Raises PackError with every problem found."""
    if not path.is_file():
        raise UsageError(f"There is no file {path}.")
    reader, found = Reader(), Companies()
    top = reader.fields(read_yaml(path), "file of people", ("companies", "people"))
    for node in reader.items(top.fields.get("companies") if top else None, "'companies'"):
        if (each := reader.fields(node, "company", _COMPANY)) is not None:
            _company(reader, each, path.parent, found)
    for node in reader.items(top.fields.get("people") if top else None, "'people'"):
        if (each := reader.fields(node, "person", _PERSON)) is not None:
            _person(reader, each, found)
    if top is not None and not reader.problems and not found.people:
        reader.problem("people", "Nobody is listed, so nobody could sign in.", top.place)
    if reader.problems:
        raise PackError(reader.problems)
    return found


def _company(reader: Reader, fields: Fields, folder: Path, found: Companies) -> None:
    texts = _texts(reader, fields, _COMPANY[:2])
    name, jobs = texts["id"], texts["jobs"]
    if not name or not jobs:
        return
    if name in found.jobs:
        reader.problem("people", f"The company '{name}' is listed twice.", fields.place)
    found.jobs[name] = jobs if "://" in jobs else folder / expanded(jobs)
    if others := [each for each in found.jobs if each != name]:
        for other in others:
            if str(found.jobs[other]) == str(found.jobs[name]):
                told = f"'{other}' and '{name}' would share their jobs: give each a place."
                reader.problem("people", told, fields.place)
    if "pack" in fields.fields:
        found.packs[name] = folder / reader.text(fields.fields["pack"], "'pack'")


def _person(reader: Reader, fields: Fields, found: Companies) -> None:
    texts = _texts(reader, fields, _PERSON)
    if not all(texts.values()):
        return
    role = reader.word(fields.fields["role"], "'role'", ROLES)
    reader.word(fields.fields["company"], "'company'", found.jobs)
    name, key = name_of(texts["name"]), texts["signs in as"].lower()
    if not name:
        reader.problem("people", "This is no name that can stand in entries.", fields.place)
    if key in found.people:
        reader.problem("people", f"'{key}' is listed twice.", fields.place)
    if role in ROLES and texts["company"] in found.jobs and name:
        found.people[key] = Person(name, role, texts["company"])


def _texts(reader: Reader, fields: Fields, names: tuple[str, ...]) -> Mapping[str, str]:
    found = {}
    for name in names:
        if name not in fields.fields:
            reader.problem("missing-key", f"'{name}:' is missing.", fields.place)
        found[name] = (
            reader.text(fields.fields.get(name), f"'{name}'") if name in fields.fields else ""
        )
    return found
