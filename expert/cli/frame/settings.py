"""What holds on every command without being typed: the settings of a user and of a company.

An option wins, then the environment, then the user's file, then the company's. Both files are YAML
with a line for each setting. `FromSettings` stands as the default of an option until `fill_in` puts
the value there.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Mapping, Sequence
from itertools import count
from pathlib import Path

from expert.errors import NotWritten, Place, Problem, UsageError, nearest
from expert.host import without_halves
from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.made_when_used import dataclass
from expert.units.kinds import SYSTEMS
from expert.user_folders import expanded, of_machine, of_user

FILE = "settings.yaml"
BASE = "base"  # instead of a pack: the rules that came with the program
COMPANY = "company"  # instead of a pack: what the company gave out and is in force
USER_FILE, COMPANY_FILE = "RACKWALK_SETTINGS", "RACKWALK_COMPANY_SETTINGS"  # other places of them


_LINE = re.compile(r"([a-z]+): ([A-Za-z0-9/~.][^#:\t]*(?::[^\s#:]+)*)")  # a plain text of YAML


@dataclass(frozen=True)
class KnownSetting:
    """A setting that there is. `path` says that it may name a file or folder."""

    variable: str
    says: str
    path: bool = False


KNOWN: Mapping[str, KnownSetting] = {
    "who": KnownSetting("RACKWALK_WHO", "who does the jobs; stands in every entry"),
    "crew": KnownSetting("RACKWALK_CREW", "the crew, where a pack begins for some first"),
    "site": KnownSetting("RACKWALK_SITE", "site file of the store", path=True),
    "pack": KnownSetting("RACKWALK_PACK", "folder of the pack by which is judged", path=True),
    "jobs": KnownSetting("RACKWALK_HOME", "folder or address where jobs are kept", path=True),
    "server": KnownSetting(
        "RACKWALK_SERVER", "the company's store, for 'rackwalk sync'", path=True
    ),
    "keys": KnownSetting("RACKWALK_KEYS", "public keys that may sign packs, with spaces between"),
    "instruments": KnownSetting(
        "RACKWALK_INSTRUMENTS", "what the crew reads with in place of the usual, with ',' between"
    ),
    "units": KnownSetting("RACKWALK_UNITS", f"unit system: {' or '.join(SYSTEMS)}"),
    "jurisdiction": KnownSetting(
        "RACKWALK_JURISDICTION", f"law of a new store: {' or '.join(JURISDICTIONS)}"
    ),
}


@dataclass(frozen=True)
class Setting:
    """A value that holds, and where it comes from in words."""

    value: str
    where: str


@dataclass(frozen=True)
class FromSettings:
    """The default of an option: a setting, else `otherwise`. `needed` is said where it lacks."""

    name: str
    otherwise: object = None
    needed: str = ""


def user_file() -> Path:
    """The user's own settings file, whether it is there or not."""
    named = os.environ.get(USER_FILE)
    return Path(named) if named else of_user("config") / FILE


def company_file() -> Path:
    """The settings file for all users of a machine."""
    named = os.environ.get(COMPANY_FILE)
    return Path(named) if named else of_machine() / FILE


def setting(name: str) -> Setting | None:
    """A setting that holds, or None. Raises PackError for a file that is wrong."""
    variable = KNOWN[name].variable
    if told := os.environ.get(variable):
        return Setting(told if KNOWN[name].path else without_halves(told), variable)
    for whose, path in (("user", user_file()), ("company", company_file())):
        if value := read(path).get(name):
            return Setting(value, f"settings of the {whose}, {path}")
    return None


def read(path: Path) -> dict[str, str]:
    """The settings in a file; none where there is no file. Raises PackError."""
    found, problems = _what_stands(path)
    if problems:
        from expert.errors import PackError

        raise PackError(problems)
    return found


def _what_stands(path: Path) -> tuple[dict[str, str], Sequence[Problem]]:
    """The settings in a file that can be, and what is wrong with the rest of it."""
    if not path.is_file():
        return {}, ()
    if (plain := _plain(path)) is not None:
        return plain, ()
    from expert.errors import PackError
    from expert.knowledge.reader import Reader
    from expert.knowledge.yaml_nodes import read_yaml

    if not path.stat().st_size:
        return {}, ()
    reader = Reader()
    try:
        fields = reader.fields(read_yaml(path), "settings", KNOWN)
    except PackError as error:
        return {}, error.problems
    found = {}
    for name, node in (fields.fields if fields else {}).items():
        if name in KNOWN and (text := reader.text(node, f"'{name}'")):
            if problem := wrong(name, text):
                reader.problem("setting", problem, node.place)
            else:
                found[name] = _seen(name, text, path.parent)
    return found, reader.problems


def _plain(path: Path) -> dict[str, str] | None:
    """The settings of a file in which nothing needs a reader of YAML, as nearly all are.

    A command that needs no knowledge starts three times as quickly without one.
    """
    found: dict[str, str] = {}
    try:
        for line in path.read_text(encoding="utf-8").splitlines():
            match = _LINE.fullmatch(line)
            if match is None or match[1] not in KNOWN or match[1] in found:
                return None
            if wrong(match[1], match[2]):
                return None
            found[match[1]] = match[2]
    except (OSError, ValueError):
        return None
    return {name: _seen(name, text, path.parent) for name, text in found.items()}


def wrong(name: str, text: str, where: str = "") -> str:
    """Why a setting cannot have a value, in a sentence; empty where it can."""
    can_be = {"units": SYSTEMS, "jurisdiction": JURISDICTIONS}.get(name)
    if can_be is not None and text not in can_be:
        return f"{where or name} is '{text}'; it can be {' or '.join(can_be)}."
    if name in ("jobs", "server"):
        from expert.store.paths import address_problem

        return address_problem(text)
    return ""


def keep(name: str, text: str | None, path: Path) -> Path | None:
    """Write a setting into a file (None takes it out). Raises UsageError or NotWritten.

    A file that is broken would stop every command, this one too: it is put aside, the settings in
    it that can be read are kept, and the place where it now is comes back.
    """
    if name not in KNOWN:
        raise UsageError(
            f"There is no setting '{name}'. {nearest(name, KNOWN) or 'Known: ' + ', '.join(KNOWN)}"
        )
    if text is not None and (problem := wrong(name, text)):
        raise UsageError(problem)
    found, problems = _what_stands(path)
    if text is None:
        found.pop(name, None)
    else:
        found[name] = _writable(name, _seen(name, text, Path.cwd()))
    aside = _put_aside(path) if problems else None
    _write(path, found)
    return aside


def _put_aside(path: Path) -> Path:
    """Give a broken file a name at which no other stands; the name."""
    names = (path.with_name(f"{path.name}.broken{n or ''}") for n in count())
    aside = next(each for each in names if not os.path.lexists(each))
    try:
        path.rename(aside)
    except OSError as error:
        problem = Problem("settings", f"Cannot put it aside: {error.strerror}.", Place(str(path)))
        raise NotWritten(str(problem)) from None
    return aside


def _writable(name: str, value: str) -> str:
    """A value as text that the file can hold: one that cannot be read would stop every command."""
    held = without_halves(value)
    if held != value and KNOWN[name].path:
        raise UsageError(f"'{held}' has a name in another encoding. Give the folder another name.")
    return held


def _write(path: Path, found: Mapping[str, str]) -> None:
    import yaml

    from expert.whole_file import write_whole

    text = yaml.safe_dump(dict(found), allow_unicode=True, sort_keys=False) if found else ""
    try:
        # an address may hold a password, so it is for its owner only; the company's is for all
        write_whole(path, text, mode=0o644 if path == company_file() else 0o600)
    except OSError as error:
        problem = Problem("settings", f"Cannot write it: {error.strerror}.", Place(str(path)))
        raise NotWritten(str(problem)) from None


def _seen(name: str, text: str, folder: Path) -> str:
    """A value as it is meant: a path as seen from a folder, the name of a kept store as it is."""
    if not KNOWN[name].path:
        return " ".join(text.split())
    path = expanded(text)
    kept = path.suffix.lower() not in (".yaml", ".yml") and not (folder / path).exists()
    if name == "site" and kept:
        return path.name  # also where it was once kept like a path
    return _placed(text, folder)


def _placed(text: str, folder: Path) -> str:
    """A path as seen from a folder; an address and a word for itself stay as they are."""
    if "://" in text or text in (BASE, COMPANY):
        return text
    return str(Path(os.path.normpath(folder / expanded(text))))


def fill_in(options: argparse.Namespace) -> None:
    """Put the settings in place of every `FromSettings`; `options.standing` says which came so.

    Raises UsageError for what is needed and lacks, or cannot be.
    """
    options.standing = {}
    for name, value in vars(options).copy().items():
        if isinstance(value, FromSettings):
            setattr(options, name, _of_settings(value, name, options.standing))
    rulebase = getattr(options, "rulebase", None)
    if rulebase is not None and str(rulebase) == BASE:
        options.rulebase = None
    elif rulebase is not None and str(rulebase) == COMPANY:
        options.rulebase = company_pack(getattr(options, "jobs", None), getattr(options, "who", ""))
        if "rulebase" not in options.standing:
            options.standing["rulebase"] = COMPANY


def company_pack(jobs: Path | str | None, who: str) -> Path | None:
    """The folder of what is in force of what the company gave out, checked; None for none.

    Raises RefusedError.
    """
    from datetime import datetime

    from expert.rollout.installed import Installed
    from expert.store.paths import job_place, packs_beside

    if jobs is None and (named := setting("jobs")):
        jobs = named.value if "://" in named.value else Path(named.value)
    keys, crew = setting("keys"), setting("crew")
    name = setting("who")
    crews = [each.value for each in (crew, name) if each] + [who]
    installed = Installed(packs_beside(job_place(jobs)))
    today = datetime.now().astimezone().date()
    found = installed.in_force(keys.value.split() if keys else (), today, crews)
    if found is None:
        sys.stderr.write(
            "rackwalk: No version of the company's pack is in force here; judged by the rules of "
            "the program.\n"
        )
        return None
    return found[1]


def _of_settings(wanted: FromSettings, option: str, standing: dict[str, str]) -> object:
    found = setting(wanted.name)
    if found is None:
        if wanted.needed:
            raise UsageError(
                f"Say {wanted.needed}, or keep it: rackwalk settings {wanted.name} VALUE"
            )
        return wanted.otherwise
    if problem := wrong(wanted.name, found.value, found.where):
        raise UsageError(problem)
    if found.where == KNOWN["jobs"].variable:
        return None  # where jobs are kept knows it itself
    standing[option] = found.where
    known = KNOWN[wanted.name]
    return Path(found.value) if known.path and "://" not in found.value else found.value
