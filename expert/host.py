"""What differs between the systems that a technician's computer runs: signals, processes, consoles.

The parts for Windows are tried with its calls replaced; nothing here was run on Windows itself.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any, TextIO

# A terminal that is closed, a session that ends, and on Windows Ctrl-Break.
_LEAVING = ("SIGTERM", "SIGHUP", "SIGBREAK")
_QUERY, _STILL_ACTIVE = 0x1000, 259  # PROCESS_QUERY_LIMITED_INFORMATION, STILL_ACTIVE


def leaving_signals() -> tuple[int, ...]:
    """The signals of this system that ask a program to leave."""
    return tuple(getattr(signal, name) for name in _LEAVING if hasattr(signal, name))


def on_leaving(handler: Callable[[int, Any], object]) -> None:
    """Let a handler answer them."""
    for number in leaving_signals():
        signal.signal(number, handler)


def steady_streams() -> None:
    """No sign that a console cannot show ends the program: it is written as '?'.

    Nor does one that is typed or piped in another encoding: it is read as a sign of replacement. A
    stream that was closed before the start gives nothing and takes all, so that no file opened
    later gets its number and what is printed.
    """
    for name, flags, how in (
        ("stdin", os.O_RDONLY, "r"), ("stdout", os.O_WRONLY, "w"), ("stderr", os.O_WRONLY, "w")
    ):  # fmt: skip
        if getattr(sys, name) is None:
            nothing = os.fdopen(os.open(os.devnull, flags), how, encoding="utf-8")
            setattr(sys, name, nothing)
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            with suppress(ValueError, OSError):
                stream.reconfigure(errors="replace")


def shows_only_ascii(stream: TextIO) -> bool:
    """Whether a stream cannot be trusted with more than ASCII."""
    encoding = getattr(stream, "encoding", None) or "ascii"
    return not encoding.lower().startswith("utf")


def without_halves(text: str) -> str:
    """The text, with a sign of replacement for each byte that the terminal's encoding has not.

    Python hands such a byte over as half a character, which no file and no job can hold.
    """
    return "".join("\ufffd" if "\ud800" <= sign <= "\udfff" else sign for sign in text)


def columns() -> int:
    """How wide the terminal is: what COLUMNS says, else the terminal itself, else 80.

    As `shutil` tells it, which loads every kind of archive before it does.
    """
    told = os.environ.get("COLUMNS", "")
    if told.isdecimal() and int(told):
        return int(told)
    with suppress(AttributeError, ValueError, OSError):  # closed, no terminal, none at all
        return os.get_terminal_size(sys.__stdout__.fileno()).columns or 80  # type: ignore[union-attr]
    return 80


def machine() -> str:
    """The name of this machine."""
    if hasattr(os, "uname"):
        return os.uname().nodename  # the same name; `socket` takes as long to load as the store
    import socket

    return socket.gethostname()


def runs(pid: int) -> bool:
    """Whether a process of this machine runs; yes where that cannot be told."""
    if os.name == "nt":  # there, signal 0 would end the process
        return _runs_on_windows(pid)
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def _runs_on_windows(pid: int) -> bool:
    import ctypes

    kernel = getattr(ctypes, "windll").kernel32  # noqa: B009 - it is there on Windows only
    handle = kernel.OpenProcess(_QUERY, False, pid)
    if not handle:  # no such process, or another user's, which counts as running
        return bool(kernel.GetLastError() == 5)  # ERROR_ACCESS_DENIED
    try:
        code = ctypes.c_ulong()
        told = kernel.GetExitCodeProcess(handle, ctypes.byref(code))
        return not told or code.value == _STILL_ACTIVE
    finally:
        kernel.CloseHandle(handle)
