"""Known values of jobs in Parquet files: one row a block of jobs, a list for each thing it holds.

Names stand once a file, as JSON in its metadata, and are numbers in the lists (`flat_rows.py`). A
file is whole or not there; nothing in it is changed.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
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

SUFFIX = ".parquet"
_META = b"rackwalk"


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
    draft = path.with_name(f"{path.name}.{os.getpid()}.part")
    whole = table.replace_schema_metadata({_META: json.dumps(meta)})
    pq.write_table(whole, draft, compression="zstd", row_group_size=1)
    draft.replace(path)


def _schema() -> Any:
    return pa.schema(
        [pa.field(name, pa.list_(pa.type_for_alias(kind))) for name, kind in LISTS.items()]
    )


def files_in(folder: Path) -> list[Path]:
    """The files of a folder, in the order in which they were made."""
    return sorted(folder.glob(f"*{SUFFIX}"))


def meta_of(path: Path) -> dict[str, Any]:
    """What a file says of itself."""
    found: dict[str, Any] = json.loads(pq.read_schema(path).metadata[_META])
    return found


def heads(path: Path) -> Iterator[tuple[str, str, str]]:
    """The jobs of a file, each with the hash of its last entry and the name of its frame."""
    frames = meta_of(path)["names"]["frame"]
    for row in pq.read_table(path, columns=["job", "chain", "frame"]).to_pylist():
        named = (frames[number] for number in row["frame"])
        yield from zip(row["job"], row["chain"], named, strict=True)


def batches(path: Path) -> Iterator[Batch]:
    """The jobs of a file, block after block; none of a file of another form, to be made anew."""
    with pq.ParquetFile(path) as file:
        meta = json.loads(file.schema_arrow.metadata[_META])
        if meta["form"] != FORM:
            return
        frames = {name: Frame(**each) for name, each in meta["frames"].items()}
        names = FileNames(meta["names"], meta["sites"], frames)
        for number in range(file.num_row_groups):
            row = file.read_row_group(number).combine_chunks()
            lists = {
                name: row.column(name).chunk(0).values.to_numpy(zero_copy_only=False)
                for name in LISTS
                if LISTS[name] != "string"
            }
            heads_of = (row.column(name).chunk(0).values.to_pylist() for name in ("job", "chain"))
            yield batch_of(names, tuple(zip(*heads_of, strict=True)), lists)
