"""What a company gives out: a version of its pack, one taken back, a key in another's place.

Each is a manifest (canonical JSON) with a signature; it names the one before, so that none can be
taken out of their row. What is in force on a machine follows from the manifests, its day, its crew.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from expert.rollout.rollout_errors import RefusedError
from expert.rollout.signing import is_signed

FORM = 1
STACKED = 2  # the form of a pack that is given out with others below it
PACK, WITHDRAWN, KEY = "pack", "withdrawn", "key"
_NEEDED: Mapping[str, Mapping[str, type]] = {
    PACK: {"name": str, "version": str, "content": str, "begins": str, "crews": list},
    WITHDRAWN: {"release": str, "why": str},
    KEY: {"key": str, "instead": str},
}
_BELOW: Mapping[str, type] = {"over": list, "folder": str}  # names of those packs; where it lies
_ALL: Mapping[str, type] = {"form": int, "kind": str, "after": str, "at": str, "by": str}


@dataclass(frozen=True)
class Release:
    """One manifest as it was given out. `told` is what it says, once it is known to be signed."""

    manifest: str
    signature: str

    @property
    def id(self) -> str:
        """The hash of the manifest."""
        return hashlib.sha256(self.manifest.encode()).hexdigest()

    @property
    def told(self) -> dict[str, object]:
        """What it says. Raises RefusedError where it says nothing that can be read."""
        try:
            found = json.loads(self.manifest)
            stacked = found["kind"] == PACK and found["form"] == STACKED
            needed = {**_ALL, **_NEEDED[found["kind"]], **(_BELOW if stacked else {})}
            whole = set(found) == set(needed) and all(
                isinstance(found[name], kind) for name, kind in needed.items()
            )
            if found["kind"] == PACK:
                date.fromisoformat(found["begins"])
                listed = [*found["crews"], *(found["over"] if stacked else ())]
                whole = whole and all(isinstance(each, str) for each in listed)
        except (ValueError, TypeError, KeyError, RecursionError):
            whole = False
        if not whole or (found["form"] != FORM and not stacked):
            raise RefusedError(f"Release {self.id[:12]} cannot be read by this rackwalk.")
        return dict(found)

    def text(self, name: str) -> str:
        """A text of what it says."""
        return str(self.told[name])


@dataclass(frozen=True)
class PackVersion:
    """A version of the pack that was given out, and whether it was taken back since."""

    release: Release
    name: str
    version: str
    content: str
    begins: date
    crews: tuple[str, ...]
    withdrawn: str = ""
    over: tuple[str, ...] = ()  # names of the company's packs that are given out below it
    folder: str = ""  # where it lies in its content, where others lie beside it

    def is_for(self, day: date, crews: Collection[str]) -> bool:
        """Whether it holds on a day for somebody of some crews (and names)."""
        known = {each.casefold() for each in crews if each}
        first = {each.casefold() for each in self.crews}
        return not self.withdrawn and self.begins <= day and (not first or bool(first & known))

    def __str__(self) -> str:
        return f"{self.name} {self.version}"


def manifest_of(kind: str, after: str, at: str, by: str, **more: object) -> str:
    """The text of a manifest, the same for the same values."""
    form = STACKED if "over" in more else FORM
    told = {"form": form, "kind": kind, "after": after, "at": at, "by": by, **more}
    return json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=True)


def content_of(files: Mapping[str, str]) -> str:
    """The files of a pack as one text."""
    return json.dumps(dict(files), sort_keys=True, separators=(",", ":"), ensure_ascii=True)


def content_hash_of(content: str) -> str:
    """The hash that a manifest holds of a content."""
    return hashlib.sha256(content.encode()).hexdigest()


def verified(releases: Sequence[Release], keys: Collection[str]) -> tuple[str, ...]:
    """The keys that are trusted after some releases, `keys` being trusted to begin with.

    Raises RefusedError, with a sentence, for one that is not signed by a key trusted then, that
    was changed, or behind which one is missing.
    """
    trusted = list(dict.fromkeys(keys))
    if releases and not trusted:
        raise RefusedError(
            "No key is trusted here, so no pack of the company can be taken. Ask the office for "
            "its public key, and keep it: rackwalk settings keys ed25519:..."
        )
    before = ""
    for each in releases:
        message = each.manifest.encode()
        if not any(is_signed(message, each.signature, key) for key in trusted):
            raise RefusedError(
                f"{_name(each)} is refused: it is not signed by a key that is trusted here, or was "
                "changed after it was signed."
            )
        if each.text("after") != before:
            raise RefusedError(f"{_name(each)} is refused: the one given out before it is missing.")
        before = each.id
        if each.text("kind") == KEY:
            trusted = [key for key in trusted if key != each.text("instead")]
            trusted.append(each.text("key"))
    return tuple(trusted)


def versions(releases: Iterable[Release]) -> list[PackVersion]:
    """Every version that was given out, in order. The releases must be verified."""
    found: dict[str, PackVersion] = {}
    for each in releases:
        told = each.told
        if told["kind"] == PACK:
            found[each.id] = PackVersion(
                each, each.text("name"), each.text("version"), each.text("content"),
                date.fromisoformat(each.text("begins")), _texts(told["crews"]),
                over=_texts(told.get("over", [])), folder=str(told.get("folder", "")),
            )  # fmt: skip
        elif told["kind"] == WITHDRAWN and (back := found.get(each.text("release"))):
            found[back.release.id] = replace(back, withdrawn=each.text("why"))
    return list(found.values())


def in_force(
    given_out: Iterable[PackVersion], day: date, crews: Collection[str]
) -> PackVersion | None:
    """The version that holds: the one that began last, of those the one given out last.

    Of packs of different names the one that lies over the others.
    """
    for_them = (each for each in given_out if each.is_for(day, crews))
    newest: dict[str, PackVersion] = {}
    for each in sorted(for_them, key=lambda each: each.begins):
        newest.pop(each.name, None)  # so that they stand in the order of their days
        newest[each.name] = each
    below = {name for each in newest.values() for name in each.over}
    top = [each for each in newest.values() if each.name not in below] or [*newest.values()]
    return top[-1] if top else None


def _texts(value: object) -> tuple[str, ...]:
    return tuple(map(str, value)) if isinstance(value, list) else ()


def awaited(
    given_out: Iterable[PackVersion], day: date, crews: Collection[str]
) -> Iterator[PackVersion]:
    """The versions whose content a machine should have: in force, or about to begin."""
    listed = list(given_out)
    now = in_force(listed, day, crews)
    for each in listed:
        if each is now or (each.begins > day and each.is_for(each.begins, crews)):
            yield each


def _name(release: Release) -> str:
    try:
        told = release.told
    except RefusedError:
        return f"Release {release.id[:12]}"
    if told["kind"] == PACK:
        return f"{told['name']} {told['version']} (release {release.id[:12]})"
    return f"Release {release.id[:12]} ('{told['kind']}')"
