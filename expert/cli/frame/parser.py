"""One parser for every command and action, and one way to run the module of each."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from itertools import groupby
from typing import NoReturn

from expert.cli.frame.on_standard_error import for_terminal
from expert.errors import UsageError, harmless, nearest
from expert.host import columns

EXIT_CODES = """\
exit codes: 0 done; 2 the command was used wrongly; 3 rules, checklist or site file are wrong;
4 a reading is missing or was refused; 5 stopped, can be resumed; 6 jobs or a file
cannot be read or written (disk, server, newer file); 70 an error in the program"""
_TABLE = re.compile(r"(  [\w<>=/-]+ {2,})\S.*")
_LEAST = 20  # columns in which a sentence can still be read
_UNKNOWN = "unrecognized arguments: "
_NO_CHOICE = re.compile(
    r"argument (?P<what>.*): invalid choice: '(?P<typed>.*)' \(choose from (?P<known>.*)\)"
)


class _Help(argparse.RawDescriptionHelpFormatter):
    """Sentences fill the width of the screen; lines that are set in stay as written."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=columns() - 2)

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        import textwrap

        filled: list[str] = []
        for set_in, lines in groupby(text.splitlines(), key=lambda line: line[:1] in ("", " ")):
            if not set_in:
                lines = iter(textwrap.wrap(" ".join(lines), width, break_on_hyphens=False))
            filled.extend(each for line in lines for each in _in_columns(line, width))
        return "\n".join(f"{indent}{line}".rstrip() for line in filled)


def _in_columns(line: str, width: int) -> list[str]:
    """A line '  name   what for' of a table, its second column filled; any other as it is."""
    import textwrap

    found = _TABLE.match(line)
    if found is None or len(line) <= width or width - len(found[1]) < _LEAST:
        return [line]
    return textwrap.wrap(line, width, subsequent_indent=" " * len(found[1]))


class Parser(argparse.ArgumentParser):
    """Help with examples kept as written, and errors as one sentence."""

    def __init__(self, **options: object) -> None:
        options.setdefault("formatter_class", _Help)
        super().__init__(allow_abbrev=False, **options)  # type: ignore[arg-type]

    def error(self, message: str) -> NoReturn:
        """Say what was wrong and how to get help; exit code 2."""
        if match := _NO_CHOICE.fullmatch(message):
            known = re.findall(r"[^\s,']+", match["known"])
            hint = nearest(match["typed"], known) or (
                f"Known: {', '.join(known)}." if len(known) < 8 else ""
            )
            message = f"{match['what']}: '{match['typed']}' is not known. {hint}".rstrip()
        elif message.startswith(_UNKNOWN) and (word := message.removeprefix(_UNKNOWN).split()[0]):
            message = f"{message}. {nearest(word, self._option_string_actions)}".rstrip(". ")
        said = for_terminal(f"{self.prog}: {harmless(message)}")
        self.exit(2, f"{said}\nTry: {self.prog} --help\n")


def run_module(
    prog: str, says: str, module: str, words: Sequence[str], *, action: str | None = None
) -> int:
    """Parse the words with the options of a module of `expert.cli`, and run it; its exit code.

    A module that serves several actions is told which; its texts may be functions of the action.
    """
    from expert.cli.frame.settings import fill_in  # the list of commands needs none

    command = import_module(f"expert.cli.{module}")
    parser = Parser(prog=prog)
    if {"-h", "--help"} & set(words):  # the texts of some are gathered from files
        description, examples = (
            text(action) if callable(text) else text
            for text in (command.DESCRIPTION, command.EXAMPLES)
        )
        parser.description = f"{says}.\n\n{description}".strip()
        parser.epilog = f"examples:\n{examples.rstrip()}\n\n{EXIT_CODES}"
    add: Callable[..., None] = command.add_arguments
    add(parser) if action is None else add(parser, action)
    options = parser.parse_args(list(words))
    fill_in(options)
    return int(command.run(options))


def add_action(parser: argparse.ArgumentParser) -> None:
    """The action of a command, and all that follows it."""
    parser.add_argument("action", nargs="?", metavar="ACTION", help=argparse.SUPPRESS)
    parser.add_argument("rest", nargs=argparse.REMAINDER, help=argparse.SUPPRESS)


def known_action(command: str, name: str | None, actions: Mapping[str, str]) -> str:
    """The action typed. Raises UsageError, with the nearest name, for one that is not there."""
    if name in actions and name is not None:
        return name
    hint = nearest(name or "", actions) or f"There are: {', '.join(actions)}."
    said = f"There is no 'rackwalk {command} {name}'." if name else f"'rackwalk {command}' what?"
    raise UsageError(f"{said} {hint}")
