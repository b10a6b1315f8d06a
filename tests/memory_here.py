"""How much memory the tests may take: of the machine, of the container, of the process."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

GROUPS, OWN = Path("/sys/fs/cgroup"), Path("/proc/self/cgroup")


def memory_here() -> float:
    """The least of all limits [bytes]; nothing where the system tells none.

    What a machine has says too much inside a container: there a process that takes more than the
    container may is killed.
    """
    return min([*_of_machine(), *of_container(GROUPS, OWN), *_of_process()], default=0.0)


def _of_machine() -> Iterator[float]:
    if "SC_PHYS_PAGES" in getattr(os, "sysconf_names", ()):
        yield float(os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE"))


def of_container(groups: Path, own: Path) -> Iterator[float]:
    """The limits of the control groups that a process is in, and of those above them."""
    try:
        lines = own.read_text(encoding="utf-8").splitlines()
    except OSError:
        return
    for line in lines:
        _, controllers, path = line.split(":", 2)
        if not controllers:  # the second form of control groups has no controllers here
            top, name = groups, "memory.max"
        elif "memory" in controllers.split(","):
            top, name = groups / "memory", "memory.limit_in_bytes"
        else:
            continue
        inner = top / path.lstrip("/")
        for folder in (inner, *(each for each in inner.parents if each.is_relative_to(top))):
            try:
                text = (folder / name).read_text(encoding="ascii").strip()
            except OSError:
                continue  # a container sees its own group as the topmost one
            if text.isdecimal():
                yield float(text)


def _of_process() -> Iterator[float]:
    try:
        import resource
    except ImportError:
        return
    if (soft := resource.getrlimit(resource.RLIMIT_AS)[0]) != resource.RLIM_INFINITY:
        yield float(soft)
