"""Jobs judged from columns on the workers of a Dask scheduler: a task a file.

Every worker must see the files under the same path and have this program. What a task gives
depends on its file and the two rulebases alone, so one that is lost with its worker is done again
elsewhere, and the answer is the same. A scheduler runs what it is given, so it belongs into a
network that is trusted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from distributed import Client, as_completed

from expert.author.comparison.backtest import JudgedBy
from expert.author.comparison.by_columns import ColumnComparison, Settled
from expert.columns.parquet import UnreadableColumnsError
from expert.errors import RackwalkError

_WAIT = 20  # s for the scheduler to answer
_AHEAD = 4  # files that wait for each worker's thread; what they give is held until it is told

_CLIENT: Any = Client
_ENDED: Any = as_completed
_COMPARISONS: dict[tuple[str, str], ColumnComparison] = {}  # of this worker, the last one


@dataclass(frozen=True)
class FileSettled:
    """What the blocks of a file settle; `problem` says why not all of them could be read."""

    path: Path
    blocks: tuple[Settled, ...]
    problem: str = ""


def settled_on_workers(
    address: str, files: Sequence[Path], both: tuple[JudgedBy, JudgedBy]
) -> Iterator[FileSettled]:
    """What the columns of files settle, in the order in which workers are done.

    Raises RackwalkError where no scheduler answers.
    """
    try:
        client: Any = _CLIENT(address, timeout=_WAIT, set_as_default=False)
    except (OSError, ValueError) as error:
        raise RackwalkError(f"No workers answer at '{address}': {error}") from None
    with client:
        shared = client.scatter(both, broadcast=True)
        waiting = iter(files)
        threads = sum(client.nthreads().values()) or 1

        def submitted(count: int) -> list[Any]:
            return [
                client.submit(settle_file, str(path.resolve()), shared, pure=False)
                for path in islice(waiting, count)
            ]

        running = _ENDED(submitted(_AHEAD * threads), loop=client.loop)
        for done in running:
            yield done.result()
            for more in submitted(1):
                running.add(more)


def settle_file(path: str, both: tuple[JudgedBy, JudgedBy]) -> FileSettled:
    """What the columns of a file settle; a worker makes its rulebases ready once."""
    key = (both[0].rulebase.info.hash, both[1].rulebase.info.hash)
    comparison = _COMPARISONS.get(key)
    if comparison is None:
        _COMPARISONS.clear()
        comparison = _COMPARISONS[key] = ColumnComparison(*both)
    blocks: list[Settled] = []
    try:
        blocks.extend(comparison.in_file(Path(path)))
    except UnreadableColumnsError as error:
        return FileSettled(Path(path), tuple(blocks), str(error))
    return FileSettled(Path(path), tuple(blocks))
