"""The rackwalk command: finds the sub-command, runs it, turns errors into sentences."""

from __future__ import annotations

import errno
import gc
import os
import re
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from typing import NoReturn

from expert import __version__
from expert.cli.frame import judged_by
from expert.cli.frame.on_standard_error import complain
from expert.cli.frame.parser import EXIT_CODES, Parser, run_module
from expert.errors import NotWritten, RackwalkError, Stopped, UsageError, nearest
from expert.host import on_leaving, steady_streams, without_halves

COMMANDS = {  # each with its module and what it is for
    "demo": ("checklist.demo", "walk the recorded demo job and write its report"),
    "list": (
        "checklist.list_checklists",
        "list the checklists, or the racks and circuits of a site",
    ),
    "checklists": ("checklist.check_checklists", "check checklists without running them"),
    "run": ("checklist.run", "run a checklist on a circuit or rack"),
    "resume": ("checklist.resume", "go on with a job that was stopped"),
    "site": ("site.site_command", "a store of one's own: begin it, add to it, show what is known"),
    "jobs": ("jobs.jobs_command", "list the recorded jobs"),
    "outcome": ("jobs.outcome", "say what a finding of a job turned out to be"),
    "serve": ("web.serve", "jobs in a phone's browser, for one person or several at once"),
    "sheet": ("checklist.write_sheet", "what is to be read, by place, on paper or on a phone"),
    "take-in": ("checklist.take_in", "enter into a job what was read on a sheet"),
    "report": ("checklist.report", "write the report of a job"),
    "refrigerant": (
        "refrigerant.refrigerant_command",
        "the refrigerant log: entries, leak rates, what is due",
    ),
    "audit": ("jobs.show_audit", "how the jobs were done: completeness, repeats, times, crews"),
    "diagnose": ("readings.diagnose", "findings from a file of readings, without a procedure"),
    "trend": ("readings.trend", "defrosts found in a log of values, and what is wrong with them"),
    "practice": ("practice.practice_command", "find faults on a plant that is not real"),
    "calc": ("calc.calc_command", "service physics: saturation, superheat, subcooling and more"),
    "quantities": ("rules.quantities", "list what can be measured, with units and limits"),
    "sync": ("company.sync", "take the company's pack, and exchange jobs with its store"),
    "packs": ("company.packs", "give out the company's pack: sign, publish, take back"),
    "settings": ("frame.settings_command", "what holds without being typed: store, pack, name"),
    "rules": ("rules.rules_command", "work on the rulebase: check and test it"),
}
INTERNAL = 70
_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EROFS)  # no error in the program
# New objects before garbage is looked for (own choice): what a start loads stays, and with the
# usual 700 it was gone through some hundred times, a twentieth of a start.
_YOUNG = 50_000
_NEGATIVE = re.compile(r"^-[.\d]")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; gives the exit code. Never lets a traceback reach the user."""
    if "_ARGCOMPLETE" in os.environ:
        import_module("expert.cli.job.completion").complete(COMMANDS)
    try:
        try:
            return _run(arguments)
        finally:
            _leave_closed_streams()
    except KeyboardInterrupt:  # at the start, or while it was told how another end came about
        return Stopped.exit_code
    finally:
        _forget_ctrl_c()


def _forget_ctrl_c() -> None:
    """Let the exit code stand after a Ctrl-C that was answered.

    Python notes a KeyboardInterrupt that leaves a text run by `exec`, as a data class in the making
    is, and ends a `python -m` by the signal for it, caught or not; the next such text clears that.
    """
    exec("")  # noqa: S102 - no text of anybody's


def _leave_closed_streams() -> None:
    """A terminal that was closed must not spoil the exit code when the interpreter flushes."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError):
            with suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _run(arguments: Sequence[str] | None) -> int:
    gc.set_threshold(_YOUNG)
    words = _negatives(sys.argv[1:] if arguments is None else arguments)
    _quiet_pipe()
    judged_by.begin()
    try:
        _refuse_dashes(words)
        _legible(words)
        code = _dispatch(words)
        sys.stdout.flush()
        return code
    except RackwalkError as error:
        complain(f"rackwalk: {error}")
        return error.exit_code
    except KeyboardInterrupt:
        complain("\nrackwalk: stopped.")
        return 5
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:  # the last net: a sentence, and the traceback only on request
        if error.args[:1] == (errno.EIO,):  # the terminal is gone; termios says it without OSError
            return Stopped.exit_code
        if isinstance(error, OSError) and error.errno in _NO_ROOM:
            complain(
                f"rackwalk: {error.filename or 'The output'} cannot be written: {error.strerror}."
            )
            return NotWritten.exit_code
        if os.environ.get("RACKWALK_DEBUG"):
            raise
        if isinstance(error, UnicodeEncodeError) and without_halves(error.object) != error.object:
            complain(
                f"rackwalk: '{without_halves(error.object)}' holds a sign in another encoding than "
                f"that of this machine ({sys.getfilesystemencoding()}), most likely in the name of "
                "a folder or file. Give it another name."
            )
            return UsageError.exit_code
        complain(
            f"rackwalk: an error in the program: {type(error).__name__}: {error}\n"
            "What was entered is on disk. Set RACKWALK_DEBUG=1 to see the details."
        )
        return INTERNAL


def _dispatch(words: list[str]) -> int:
    if words and words[0] in COMMANDS:
        name, rest = words[0], words[1:]
        where, says = COMMANDS[name]
        return run_module(f"rackwalk {name}", says, where, rest)
    parser = Parser(
        prog="rackwalk",
        description="Guided checklists and rule-based diagnosis for supermarket racks.",
        usage="rackwalk COMMAND ...",
        epilog="commands:\n"
        + "\n".join(f"  {name:<13}{text}" for name, (_, text) in COMMANDS.items())
        + f"\n\n'rackwalk COMMAND --help' explains each one.\n\n{EXIT_CODES}",
    )
    parser.add_argument("--version", action="version", version=f"rackwalk {__version__}")
    if not words:
        parser.print_help()
        return 0
    if words[0].startswith("-"):
        parser.parse_args(words)
    return parser.error(f"there is no command '{words[0]}'. {nearest(words[0], COMMANDS)}".rstrip())


def _negatives(words: Sequence[str]) -> list[str]:
    """Joins '--temperature -20F' to one word, or argparse takes '-20F' for an option."""
    joined: list[str] = []
    for word in words:
        if (
            _NEGATIVE.match(word)
            and joined
            and joined[-1].startswith("--")
            and "=" not in joined[-1]
        ):
            joined[-1] += f"={word}"
        else:
            joined.append(word)
    return joined


def _legible(words: Sequence[str]) -> None:
    """Raises UsageError for a word with a byte that is no text here: nothing could keep it."""
    for word in words:
        if (shown := without_halves(word)) != word:
            raise UsageError(
                f"'{shown}' holds a sign in another encoding than that of this terminal "
                f"({sys.getfilesystemencoding()}). Write it without that sign, or let the terminal "
                "send UTF-8."
            )


def _refuse_dashes(words: Sequence[str]) -> None:
    """'--' behind an option's '=' comes out of argparse as an empty list and not as a text."""
    for word in words:
        option, equals, value = word.partition("=")
        if option.startswith("--") and equals and value == "--":
            raise UsageError(f"{option}: '--' is no value.")


def _quiet_pipe() -> None:
    """A closed terminal ends the program in order: what was acknowledged is on disk."""
    on_leaving(_stop)
    steady_streams()


def _stop(number: int, frame: object) -> NoReturn:
    raise KeyboardInterrupt
