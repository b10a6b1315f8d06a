"""The company's pack on a machine: what was given out, the files, and whether they are unchanged.

It lies in a folder beside the jobs: `releases.json`, and a folder for each version whose content
is there. Nothing in it is trusted; signatures and hashes are checked whenever it is used.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Collection, Sequence
from datetime import date
from pathlib import Path, PurePosixPath

from expert.knowledge.pack_files import LETTERHEAD
from expert.rollout.release import (
    PackVersion,
    Release,
    content_hash_of,
    content_of,
    in_force,
    verified,
    versions,
)
from expert.rollout.rollout_errors import RefusedError
from expert.store.store_errors import StoreError

FOLDER = "company-pack"
_LIST = "releases.json"
_AGAIN = "'rackwalk sync' takes it again; '--rulebase base' judges without it."


class Installed:
    """What a machine holds of what its company gave out."""

    def __init__(self, beside: Path) -> None:
        self.folder = beside / FOLDER

    def releases(self) -> tuple[Release, ...]:
        """Everything that was taken, as it lies here. Raises RefusedError."""
        try:
            text = (self.folder / _LIST).read_text(encoding="utf-8")
        except FileNotFoundError:
            return ()
        except (OSError, ValueError) as error:
            raise RefusedError(f"{self.folder / _LIST} cannot be read: {error}.") from None
        try:
            return tuple(Release(str(each["manifest"]), str(each["signature"])) for each in
                         json.loads(text))  # fmt: skip
        except (ValueError, TypeError, KeyError):
            raise RefusedError(f"{self.folder / _LIST} was changed. {_AGAIN}") from None

    def keep(self, releases: Sequence[Release]) -> None:
        """Keep what was given out. Raises StoreError."""
        listed = [{"manifest": each.manifest, "signature": each.signature} for each in releases]
        _written(self.folder / _LIST, json.dumps(listed, indent=1))

    def has(self, version: PackVersion) -> bool:
        """Whether the content of a version is here, unchanged."""
        try:
            self.unchanged(version)
        except RefusedError:
            return False
        return True

    def install(self, version: PackVersion, content: str) -> None:
        """Lay the files of a version down, all or none. Raises RefusedError or StoreError."""
        if content_hash_of(content) != version.content:
            raise RefusedError(
                f"{version} is refused: its files were changed after they were signed."
            )
        target, draft = self._place(version), self._place(version).with_suffix(".part")
        shutil.rmtree(draft, ignore_errors=True)
        for name, text in json.loads(content).items():
            _written(draft / safe_name(name), str(text))
        shutil.rmtree(target, ignore_errors=True)
        try:
            draft.replace(target)
        except OSError as error:
            raise StoreError(f"Cannot lay down {target}: {error.strerror}.") from None

    def unchanged(self, version: PackVersion) -> Path:
        """The folder of a version, in which its pack lies. Raises RefusedError where it is not as
        it was signed.
        """
        place = self._place(version)
        if not place.is_dir():
            raise RefusedError(f"The files of {version} are not here. {_AGAIN}")
        try:
            content = content_of(files_in(place))
        except (OSError, ValueError):
            content = ""
        if content_hash_of(content) != version.content:
            raise RefusedError(
                f"{version} is refused: its files in {place} were changed after they were signed. "
                f"{_AGAIN}"
            )
        return place / safe_name(version.folder) if version.folder else place

    def in_force(
        self, keys: Collection[str], day: date, crews: Collection[str]
    ) -> tuple[PackVersion, Path] | None:
        """The version in force and its folder, both checked; None where none is."""
        releases = self.releases()
        verified(releases, keys)
        found = in_force(versions(releases), day, crews)
        return None if found is None else (found, self.unchanged(found))

    def _place(self, version: PackVersion) -> Path:
        return self.folder / version.release.id[:16]


def files_in(folder: Path) -> dict[str, str]:
    """Every file of a pack that is ever read, by its path inside, as text.

    Raises OSError or ValueError.
    """
    found = [*folder.rglob("*.yaml"), *folder.rglob(LETTERHEAD)]
    return {
        path.relative_to(folder).as_posix(): path.read_bytes().decode("utf-8")
        for path in sorted(found)
    }


def files_of(folders: Sequence[Path]) -> tuple[dict[str, str], str]:
    """The files of a pack and of those that are given out below it, by their paths in the folder
    in which all lie; and the path of the first. Raises OSError or ValueError.
    """
    if len(folders) == 1:
        return files_in(folders[0]), ""
    places = [each.resolve() for each in folders]
    above = Path(os.path.commonpath(places))
    inside = [each.relative_to(above).as_posix() for each in places]
    files = {
        f"{path}/{name}": text
        for path, place in zip(inside, places, strict=True)
        for name, text in files_in(place).items()
    }
    return files, inside[0]


def safe_name(name: str) -> str:
    """The path of a file inside a pack. Raises RefusedError for one that leads out of it."""
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name or not path.parts:
        raise RefusedError(f"A file of the pack is called '{name}', which leads out of it.")
    return str(path)


def _written(path: Path, text: str) -> None:
    draft = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        draft.write_bytes(text.encode())
        draft.replace(path)
    except OSError as error:
        raise StoreError(f"Cannot write {path}: {error.strerror}.") from None
