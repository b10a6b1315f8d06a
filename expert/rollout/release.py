"""What a company gives out: a version of its pack, one taken back, a key in another's place.

Each is a manifest (canonical JSON) with a signature; it names the one before, so that none can be
taken out of their row. What is in force on a machine follows from the manifests, its day, its crew.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from expert.rollout.rollout_errors import RefusedError
from expert.rollout.signing import is_signed

FORM = 1
PACK, WITHDRAWN, KEY = "pack", "withdrawn", "key"
_NEEDED: Mapping[str, Mapping[str, type]] = {
    PACK: {"name": str, "version": str, "content": str, "begins": str, "crews": list},
    WITHDRAWN: {"release": str, "why": str},
    KEY: {"key": str, "instead": str},
}
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
            needed = {**_ALL, **_NEEDED[found["kind"]]}
            whole = set(found) == set(needed) and all(
                isinstance(found[name], kind) for name, kind in needed.items()
            )
            if found["kind"] == PACK:
                date.fromisoformat(found["begins"])
                whole = whole and all(isinstance(each, str) for each in found["crews"])
        except (ValueError, TypeError, KeyError, RecursionError):
            whole = False
        if not whole or found["form"] != FORM:
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

    def is_for(self, day: date, crews: Collection[str]) -> bool:
        """Whether it holds on a day for somebody of some crews (and names)."""
        known = {each.casefold() for each in crews if each}
        first = {each.casefold() for each in self.crews}
        return not self.withdrawn and self.begins <= day and (not first or bool(first & known))

    def __str__(self) -> str:
        return f"{self.name} {self.version}"


def manifest_of(kind: str, after: str, at: str, by: str, **more: object) -> str:
    """The text of a manifest, the same for the same values."""
    told = {"form": FORM, "kind": kind, "after": after, "at": at, "by": by, **more}
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
            crews = told["crews"]
            assert isinstance(crews, list)
            found[each.id] = PackVersion(
                each, each.text("name"), each.text("version"), each.text("content"),
                date.fromisoformat(each.text("begins")), tuple(map(str, crews)),
            )  # fmt: skip
        elif told["kind"] == WITHDRAWN and (back := found.get(each.text("release"))):
            found[back.release.id] = PackVersion(
                back.release, back.name, back.version, back.content, back.begins, back.crews,
                each.text("why"),
            )  # fmt: skip
    return list(found.values())


def in_force(
    given_out: Iterable[PackVersion], day: date, crews: Collection[str]
) -> PackVersion | None:
    """The version that holds: the one that began last, of those the one given out last."""
    for_them = [each for each in given_out if each.is_for(day, crews)]
    return (
        max(enumerate(for_them), key=lambda each: (each[1].begins, each[0]))[1]
        if (for_them)
        else None
    )


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
