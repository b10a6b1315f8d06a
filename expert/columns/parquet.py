"""Known values of jobs in Parquet files: one row a block of jobs, a list for each thing it holds.

Names stand once a file, as JSON in its metadata, and are numbers in the lists (`flat_rows.py`). A
file is whole or not there; nothing in it is changed. One that was damaged afterwards is told, and
its jobs are judged from their entries.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict
from itertools import islice
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from expert.columns.batch import Batch, FileNames, batch_of
from expert.columns.flat_rows import BLOCK, FORM, LISTS, NameLists, block_of
from expert.columns.frame import Frame
from expert.columns.known_values import JobValues
from expert.errors import RackwalkError

SUFFIX, PART = ".parquet", ".part"
_META, _SUM = b"rackwalk", b"rackwalk-sum"
Heads = tuple[tuple[str, str], ...]
_WRONG = (pa.ArrowException, OSError, ValueError, KeyError, TypeError)


class UnreadableColumnsError(RackwalkError):
    """A file of columns that is damaged, or is gone."""


@contextmanager
def _reading(path: Path) -> Iterator[None]:
    try:
        yield
    except _WRONG as error:
        said = str(error).strip().partition("\n")[0] or type(error).__name__
        raise UnreadableColumnsError(f"Columns {path.name} cannot be read ({said}).") from None


def write(
    path: Path, jobs: Iterable[JobValues], sites: Mapping[str, str], frames: Mapping[str, Frame]
) -> None:
    """A file of some jobs, with the texts of their sites by hash and the frames by name."""
    names, waiting = NameLists(), iter(jobs)
    blocks = [pa.RecordBatch.from_pylist([], schema=_schema())]
    while some := list(islice(waiting, BLOCK)):
        blocks.append(pa.RecordBatch.from_pylist([block_of(some, names)], schema=_schema()))
    meta = {
        "form": FORM,
        "names": names.lists(),
        "sites": {each: sites[each] for each in names.made["site"]},
        "frames": {each: asdict(frames[each]) for each in names.made["frame"]},
    }
    write_table(path, pa.Table.from_batches(blocks), meta)


def write_table(path: Path, table: Any, meta: Mapping[str, object]) -> None:
    """A file of blocks that are made already."""
    draft = path.with_name(f"{path.name}.{os.getpid()}{PART}")
    text = json.dumps(meta).encode()
    whole = table.replace_schema_metadata({_META: text, _SUM: _sum(text)})
    with draft.open("wb") as file:
        pq.write_table(whole, file, compression="zstd", row_group_size=1, write_page_checksum=True)
        file.flush()
        os.fsync(file.fileno())  # else a power cut may leave the name without the blocks
    draft.replace(path)


def _schema() -> Any:
    return pa.schema(
        [pa.field(name, pa.list_(pa.type_for_alias(kind))) for name, kind in LISTS.items()]
    )


def files_in(folder: Path) -> list[Path]:
    """The files of a folder, in the order in which they were made."""
    return sorted(folder.glob(f"*{SUFFIX}"))


def meta_of(path: Path) -> dict[str, Any]:
    """What a file says of itself. Raises UnreadableColumnsError."""
    with _reading(path):
        said = pq.read_schema(path).metadata
        found: dict[str, Any] = json.loads(said[_META])
        if found["form"] == FORM and said[_SUM] != _sum(said[_META]):
            raise ValueError("its names are not as they were written")
        return found


def _sum(text: bytes) -> bytes:
    return hashlib.sha256(text).hexdigest().encode()


def heads(path: Path) -> Iterator[tuple[str, str, str]]:
    """The jobs of a file, each with the hash of its last entry and the name of its frame; none of
    a file of another form. All of it is read, so that damage shows. Raises UnreadableColumnsError.
    """
    meta = meta_of(path)
    if meta["form"] != FORM:
        return
    with _opened(path) as file:
        for number in range(file.num_row_groups):
            row = _row(path, file, number, None)
            with _reading(path):
                numbers = row.column("frame").chunk(0).values.to_pylist()
                named = [meta["names"]["frame"][each] for each in numbers]
                found = [(*head, name) for head, name in zip(_heads(row), named, strict=True)]
            yield from found


def block_heads(path: Path) -> Iterator[Heads]:
    """The jobs of each block of a file, with the hash of the last entry. Raises likewise."""
    with _opened(path) as file:
        for number in range(file.num_row_groups):
            yield _heads(_row(path, file, number, ["job", "chain"]))


def batches(path: Path) -> Iterator[Batch]:
    """The jobs of a file, block after block; none of a file of another form, to be made anew.

    Raises UnreadableColumnsError, perhaps behind some blocks.
    """
    meta = meta_of(path)
    if meta["form"] != FORM:
        return
    with _reading(path):
        frames = {name: Frame(**each) for name, each in meta["frames"].items()}
        names = FileNames(meta["names"], meta["sites"], frames)
    with _opened(path) as file:
        for number in range(file.num_row_groups):
            yield _batch(path, names, _row(path, file, number, None))


def _opened(path: Path) -> Any:
    with _reading(path):
        return pq.ParquetFile(path, page_checksum_verification=True)


def _row(path: Path, file: Any, number: int, columns: list[str] | None) -> Any:
    with _reading(path):
        return file.read_row_group(number, columns=columns).combine_chunks()


def _batch(path: Path, names: FileNames, row: Any) -> Batch:
    with _reading(path):
        lists = {
            name: row.column(name).chunk(0).values.to_numpy(zero_copy_only=False)
            for name in LISTS
            if LISTS[name] != "string"
        }
        return batch_of(names, _heads(row), lists)


def _heads(row: Any) -> Heads:
    found = (row.column(name).chunk(0).values.to_pylist() for name in ("job", "chain"))
    return tuple(zip(*found, strict=True))
