"""What can still be read of a damaged job file, taken into a new one.

Rows are read from both ends of each table and, for entries, job by job, so that one bad page costs
only what lay on it. The newest sound copy fills in what the file has lost.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from expert.procedure.entries import Entry, to_json
from expert.store.backup import dated
from expert.store.chain import FIELDS, HEAD, first_broken, root_of
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.merge import bring
from expert.store.migrate import old_uid
from expert.store.store_errors import StoreError

LOST = "lost with the damaged file"
_HEAD = (
    "id", "checklist", "checklist_revision", "checklist_hash", "rulebase", "rulebase_version",
    "rulebase_hash", "site", "subject", "units", "who", "created", "finished",
)  # fmt: skip
_FIELDS = "seq, at, kind, step, data"
_SEALED = 3  # the form from which entries say who, and have hashes


@dataclass
class Rescued:
    """What was saved. `messages` say in sentences what was lost; `loose` are entries behind a gap.

    By job: `wanted` entries there were, those `behind` a gap, and those `headless`, whose job's
    own row was lost.
    """

    jobs: int = 0
    entries: int = 0
    messages: list[str] = field(default_factory=list)
    loose: list[str] = field(default_factory=list)
    wanted: dict[str, int] = field(default_factory=dict)
    behind: dict[str, list[Entry]] = field(default_factory=dict)
    headless: dict[str, list[Entry]] = field(default_factory=dict)


def rescue(damaged: Path, target: Path) -> Rescued:
    """Take what can be read of a file into a new one. Raises StoreError where that is nothing."""
    if target.exists():
        raise StoreError(f"{target} is there already; nothing was written over it.")
    rescued = Rescued()
    with JobStore(target) as store:
        with tempfile.TemporaryDirectory(prefix="rackwalk-") as folder:
            copy = Path(folder) / damaged.name
            try:
                for ending in ("", "-wal"):
                    if (beside := damaged.with_name(damaged.name + ending)).is_file():
                        shutil.copyfile(beside, copy.with_name(copy.name + ending))
            except OSError as error:
                raise StoreError(f"Cannot copy {damaged}: {error.strerror}.") from None
            _take(copy, store, rescued)
        _fill_in(damaged, store, rescued)
        _without_heads(store, rescued)
        _tell_lost(store, rescued)
        kept = store.jobs()
        rescued.jobs, rescued.entries = len(kept), sum(job.entries for job in kept)
    if not rescued.jobs:
        target.unlink(missing_ok=True)
        raise StoreError(f"Nothing could be read of {damaged}, and there is no copy of it.")
    return rescued


def put_in_place(damaged: Path, target: Path) -> Path:
    """The new file in place of the damaged one, which is kept beside it; gives its new path."""
    stamp = datetime.now(UTC).strftime("%Y-%m-%d-%H%M%S")
    aside = damaged.with_name(f"{damaged.stem}-damaged-{stamp}{damaged.suffix}")
    for ending in ("-wal", "-shm", ""):
        with suppress(FileNotFoundError):
            damaged.with_name(damaged.name + ending).rename(aside.with_name(aside.name + ending))
    target.rename(damaged)
    return aside


def _take(copy: Path, store: JobStore, rescued: Rescued) -> None:
    """The jobs of the file, each as far as its entries follow one another."""
    try:
        with closing(sqlite3.connect(copy)) as source:
            source.text_factory = lambda raw: raw.decode("utf-8", "replace")
            source.execute("SELECT 1 FROM sqlite_master").fetchone()
            heads = _heads(source)
            named = _both_ways(source, "SELECT DISTINCT job FROM entry", "job")
            for job_id in sorted(set(heads) | {str(row[0]) for row in named}):
                _one(source, job_id, heads.get(job_id), store, rescued)
    except (sqlite3.Error, UnicodeError) as error:
        rescued.messages.append(f"The file itself cannot be opened any more ({error}).")


def _one(
    source: sqlite3.Connection, job_id: str, head: Job | None, store: JobStore, rescued: Rescued
) -> None:
    entries, broken = _entries(source, job_id)
    if head is not None and (altered := _altered(source, job_id)) is not None:
        rescued.messages.append(
            f"Job {job_id}: entry {altered} was not as it was written; it is kept as it stands."
        )
    whole: list[Entry] = []
    while (seq := len(whole) + 1) in entries:
        whole.append(entries.pop(seq))
    wanted = max(*entries, len(whole), head.entries if head else 0, 0)
    if broken or wanted > len(whole):
        rescued.wanted[job_id] = wanted
        rescued.behind[job_id] = [entries[seq] for seq in sorted(entries)]
    if head is not None:
        store.add_all([(head, whole)])
    elif whole:
        rescued.headless[job_id] = whole


def _fill_in(damaged: Path, store: JobStore, rescued: Rescued) -> None:
    """What the newest sound copy has and the file has lost."""
    for path in reversed(dated(damaged)):
        with tempfile.TemporaryDirectory(prefix="rackwalk-") as folder:
            copy = Path(folder) / path.name
            try:
                shutil.copyfile(path, copy)
                with JobStore(copy) as sound:
                    if sound.read_only:
                        continue
                    for job in sound.jobs():
                        entries = sound.entries(job.id)
                        if whole := rescued.headless.pop(job.id, None):
                            store.add_all([(job, whole)])
                        bring(store, job, entries)
            except (OSError, StoreError):
                continue
        rescued.messages.append(
            f"What was lost since then aside, the copy {path.name} filled it in."
        )
        return
    rescued.messages.append("There is no dated copy from which to fill in more.")


def _without_heads(store: JobStore, rescued: Rescued) -> None:
    """Entries whose job is gone are kept under a head that says so."""
    for job_id, whole in rescued.headless.items():
        head = Job(
            checklist=LOST, checklist_revision="", checklist_hash="", rulebase=LOST,
            rulebase_version="", rulebase_hash="", site=LOST, site_text="", subject=LOST,
            units="us", who="", created=whole[0].at, id=job_id,
            uid=old_uid(job_id, to_json(whole[0])),
        )  # fmt: skip
        store.add_all([(head, whole)])
        rescued.messages.append(
            f"Job {job_id}: {len(whole)} entries were saved, but not its checklist and site."
        )


def _tell_lost(store: JobStore, rescued: Rescued) -> None:
    """A sentence for every job that is not whole again."""
    have = {job.id: job.entries for job in store.jobs()}
    for job_id, wanted in rescued.wanted.items():
        kept = have.get(job_id, 0)
        behind = [entry for entry in rescued.behind[job_id] if entry.seq > kept]
        rescued.loose += [
            json.dumps({"job": job_id, "entry": json.loads(to_json(entry))}) for entry in behind
        ]
        apart = f" {len(behind)} entries behind the gap are kept apart." if behind else ""
        if (missing := wanted - kept - len(behind)) > 0:
            rescued.messages.append(
                f"Job {job_id}: entries 1 to {kept} were saved, at least {missing} are lost.{apart}"
            )
        elif kept <= wanted:
            rescued.messages.append(
                f"Job {job_id}: {kept} entries were saved; later ones may be lost.{apart}"
            )


def _heads(source: sqlite3.Connection) -> dict[str, Job]:
    form = _form(source)
    texts = (
        dict(_both_ways(source, "SELECT hash, text FROM site_file", "rowid")) if form > 1 else {}
    )
    more = "site_hash, uid, branch_of, entries" if form > 1 else "site_text, '', '', 0"
    found: dict[str, Job] = {}
    for row in _both_ways(source, f"SELECT {', '.join(_HEAD)}, {more} FROM job", "rowid"):  # noqa: S608
        values: dict[str, Any] = dict(zip(_HEAD, row, strict=False))
        site, uid, branch_of, entries = row[len(_HEAD) :]
        try:
            for name in ("created", "finished"):
                if values[name] is not None:
                    values[name] = datetime.fromisoformat(values[name])
            text = texts.get(site, LOST) if form > 1 else site
            job = Job(
                **values, site_text=text, branch_of=branch_of, entries=int(entries),
                uid=uid or old_uid(values["id"], row[11], values["who"], values["subject"], text),
            )  # fmt: skip
        except (TypeError, ValueError):
            continue
        found[job.id] = job
    return found


def _entries(source: sqlite3.Connection, job_id: str) -> tuple[dict[int, Entry], bool]:
    found: dict[int, Entry] = {}
    broken = False
    fields = FIELDS if _form(source) >= _SEALED else f"{_FIELDS}, ''"
    for way in ("", " DESC"):
        query = f"SELECT {fields} FROM entry WHERE job = ? ORDER BY seq{way}"  # noqa: S608
        try:
            for row in source.execute(query, (job_id,)):
                try:
                    seq, at, kind, step, data, who = row
                    entry = Entry(
                        int(seq), datetime.fromisoformat(at), str(kind), str(step),
                        json.loads(data), str(who),
                    )  # fmt: skip
                    if not isinstance(entry.data, dict) or entry.at.tzinfo is None:
                        raise ValueError(data)
                except (TypeError, ValueError):
                    broken = True
                else:
                    found[entry.seq] = entry
        except (sqlite3.Error, UnicodeError):
            broken = True
        if not broken:
            break
    return found, broken


def _form(source: sqlite3.Connection) -> int:
    return int(source.execute("PRAGMA user_version").fetchone()[0])


def _altered(source: sqlite3.Connection, job_id: str) -> int | None:
    """The first entry that is not as it was written, as far as that can be read."""
    if _form(source) < _SEALED:
        return None
    try:
        head = f"SELECT {', '.join(HEAD)} FROM job WHERE id = ?"  # noqa: S608
        heads = source.execute(head, (job_id,)).fetchall()
        query = f"SELECT {FIELDS}, hash FROM entry WHERE job = ? ORDER BY seq"  # noqa: S608
        rows = source.execute(query, (job_id,)).fetchall()
    except (sqlite3.Error, UnicodeError):
        return None  # told elsewhere: it cannot be read
    root = root_of(dict(zip(HEAD, heads[0], strict=True))) if heads else ""
    return first_broken(root, ((tuple(row[:-1]), row[-1]) for row in rows))


def _both_ways(source: sqlite3.Connection, query: str, *order: str) -> Iterator[tuple[Any, ...]]:
    """The rows of a query from the first on and, where that breaks off, from the last back."""
    for way in ("", " DESC"):
        ordered = ", ".join(f"{name}{way}" for name in order)
        try:
            yield from source.execute(f"{query} ORDER BY {ordered}")
            return
        except (sqlite3.Error, UnicodeError):
            continue
