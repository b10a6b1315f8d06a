"""What a container or a shell allows counts, and not only what the machine has."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from memory_here import memory_here, of_container


def written(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="ascii")


@pytest.mark.parametrize(
    ("own", "files", "least"),
    [
        ("0::/\n", {"memory.max": "4294967296\n"}, 4294967296),  # as a container sees itself
        ("0::/job/step\n", {"job/step/memory.max": "max", "job/memory.max": "3000000000"}, 3e9),
        ("4:memory:/a/b\n0::/\n", {"memory/a/b/memory.limit_in_bytes": "2000000000"}, 2e9),
        ("5:cpu,memory:/gone\n", {"memory/memory.limit_in_bytes": "4000000000"}, 4e9),
        ("3:cpuset:/\n", {"memory/memory.limit_in_bytes": "4000000000"}, None),
        ("0::/\n", {"memory.max": "max\n"}, None),
    ],
)
def test_the_least_limit_of_the_groups_counts(
    tmp_path: Path, own: str, files: dict[str, str], least: float | None
) -> None:
    for name, text in files.items():
        written(tmp_path / "groups" / name, text)
    written(tmp_path / "own", own)
    assert min(of_container(tmp_path / "groups", tmp_path / "own"), default=None) == least


def test_where_there_are_no_groups_they_limit_nothing(tmp_path: Path) -> None:
    assert not list(of_container(tmp_path, tmp_path / "none"))


@pytest.mark.skipif(sys.platform != "linux", reason="by the shell of Linux")
def test_what_the_shell_allows_a_process_counts() -> None:
    assert memory_here() > 0
    told = subprocess.run(
        ["bash", "-c", 'ulimit -v 900000 && exec "$0" -c "import memory_here as m; '
         'print(m.memory_here())"', sys.executable],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parent)},
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert float(told) <= 900_000 * 1024
