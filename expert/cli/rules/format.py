"""`rackwalk rules format`: knowledge files in one layout, comments kept."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import say
from expert.errors import NotWritten, PackError, Place, Problem, UsageError
from expert.whole_file import write_whole

DESCRIPTION = """\
Two spaces of indentation, keys in their usual order, long texts folded; what a file says and every
comment in it stay. For rulebase files, checklists, site files and exercises. Formatting twice
changes nothing more. --check writes nothing and says which files are in another layout."""
EXAMPLES = """\
  rackwalk rules format my-pack
  rackwalk rules format my-pack/rules/fans.yaml
  rackwalk rules format --check rulebase checklists"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("files", nargs="*", metavar="FILE", help="files or folders")
    parser.add_argument("--rulebase", metavar="FOLDER", help="every file of a rulebase")
    parser.add_argument("--check", action="store_true", help="write nothing; exit code 3 if needed")


def run(options: argparse.Namespace) -> int:
    """Exit code 0; with --check 3 when a file is in another layout."""
    from expert.author.files.yaml_layout import format_text

    if "" in (*map(str.strip, options.files), options.rulebase):  # '' would be the folder one is in
        raise UsageError(
            "The name of a file or folder is empty. For the folder you are in, type '.'."
        )
    named = [Path(each) for each in (*options.files, options.rulebase) if each]
    if not named:
        raise UsageError("Say which: rackwalk rules format FILE ..., or a folder.")
    changed = 0
    problems: list[Problem] = []
    files = [file for path in named for file in _files(path)]
    for path in files:
        before = _read(path)
        try:
            after = format_text(before, str(path))
        except PackError as error:
            problems += error.problems
            continue
        if after == before:
            continue
        changed += 1
        if options.check:
            say(f"{path}:{_first_difference(before, after)}: not in the usual layout")
        else:
            _write(path, after)
            say(f"{path}: formatted")
    if problems:
        raise PackError(problems)
    verb = "would be formatted" if options.check else "formatted"
    say(f"{changed} of {len(files)} files {verb}.")
    return 3 if options.check and changed else 0


def _files(path: Path) -> list[Path]:
    if path.is_dir():
        return sorted(path.rglob("*.yaml"))
    if not path.exists():
        raise UsageError(f"There is no file or folder '{path}'.")
    return [path]


def _read(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        problem = Problem("file-unreadable", f"Cannot read the file: {reason}.", Place(str(path)))
        raise PackError([problem]) from None


def _write(path: Path, text: str) -> None:
    """The new text, all of it or nothing."""
    try:
        write_whole(path, text, mode=path.stat().st_mode & 0o777)
    except OSError as error:
        raise NotWritten(f"Cannot write {path}: {error.strerror}.") from None


def _first_difference(before: str, after: str) -> int:
    lines = zip(before.split("\n"), after.split("\n"), strict=False)
    return next((n for n, (old, new) in enumerate(lines, 1) if old != new), 1)
