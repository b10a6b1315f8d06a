"""Known values of jobs in Parquet files: one row a job, lists of numbers in it.

Names stand once a file, as JSON in its metadata, and are numbers in the lists. All values are SI.
A file is whole or not there; nothing in it is changed.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from expert.columns.batch import AnyNumbers, Batch, FileNames, batch_of
from expert.columns.flat_rows import FORM, LISTS, flat_rows
from expert.columns.frame import Frame
from expert.columns.known_values import JobValues

SUFFIX = ".parquet"
_META = b"rackwalk"
_ROWS = 16384  # jobs that are read at once, at most


def write(
    path: Path, jobs: Iterable[JobValues], sites: Mapping[str, str], frames: Mapping[str, Frame]
) -> int:
    """A file of some jobs, with the texts of their sites by hash; how many they are."""
    columns, names = flat_rows(jobs)
    meta = {
        "form": FORM,
        "names": names.lists(),
        "sites": {each: sites[each] for each in names.made["site"]},
        "frames": {each: asdict(frames[each]) for each in names.made["frame"]},
    }
    fields = [pa.field("job", pa.string()), pa.field("entries", pa.int32())]
    fields += [pa.field(name, pa.list_(pa.type_for_alias(kind))) for name, kind in LISTS.items()]
    schema = pa.schema(fields, metadata={_META: json.dumps(meta)})
    table = pa.Table.from_pydict(columns, schema=schema)
    draft = path.with_name(f"{path.name}.{os.getpid()}.part")
    pq.write_table(table, draft, compression="zstd", row_group_size=_ROWS)
    draft.replace(path)
    return int(table.num_rows)


def files_in(folder: Path) -> list[Path]:
    """The files of a folder, in the order in which they were made."""
    return sorted(folder.glob(f"*{SUFFIX}"))


def names_in(path: Path) -> FileNames | None:
    """The names of a file; None for one of another form."""
    meta = json.loads(pq.read_schema(path).metadata[_META])
    return _names(meta) if meta["form"] == FORM else None


def heads(path: Path) -> Iterator[tuple[str, int]]:
    """The jobs of a file and how many entries each had."""
    table = pq.read_table(path, columns=["job", "entries"])
    yield from zip(table["job"].to_pylist(), table["entries"].to_pylist(), strict=True)


def batches(path: Path, size: int) -> Iterator[Batch]:
    """The jobs of a file, so many at once."""
    with pq.ParquetFile(path) as file:
        names = _names(json.loads(file.schema_arrow.metadata[_META]))
        for part in file.iter_batches(batch_size=size):
            lists = {name: _flat(part.column(name)) for name in LISTS}
            entries = part.column("entries").to_numpy()
            yield batch_of(names, part.column("job").to_pylist(), entries, lists)


def _names(meta: Mapping[str, Any]) -> FileNames:
    frames = {name: Frame(**each) for name, each in meta["frames"].items()}
    return FileNames(meta["names"], meta["sites"], frames)


def _flat(column: Any) -> tuple[AnyNumbers, AnyNumbers]:
    """The numbers of all lists in a row, and where each list begins and ends."""
    offsets = column.offsets.to_numpy()
    values = column.values.to_numpy()[offsets[0] : offsets[-1]]
    return values, (offsets - offsets[0]).astype(np.int64)
