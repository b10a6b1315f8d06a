"""The folders of a rulebase: one pack, or a company pack and what it lies over."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from functools import cached_property, partial
from json.encoder import encode_basestring_ascii as _quoted
from os.path import normpath
from pathlib import Path

from expert.errors import PackError, Place, Problem
from expert.knowledge.entry_model import NOWHERE
from expert.knowledge.keys import LISTS, PROVING, SECTIONS, SINGLE
from expert.knowledge.memory import Memory
from expert.knowledge.old_keys import renewed
from expert.knowledge.pack_files import misnamed, pack_files
from expert.knowledge.pack_keys import PACK
from expert.knowledge.pack_model import PackInfo
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Items, Node, Text, id_of, read_untested, read_yaml
from expert.made_when_used import dataclass
from expert.places import shipped

PROOF_FILE = "proof.yaml"
_AT_MARGIN = re.compile(r"^[^\s#-].*", re.MULTILINE)  # keys of the file itself
_ID = re.compile(r"^[\s-]*\{?\s*id:\s*([\w-]+)", re.MULTILINE)


@dataclass(frozen=True)
class Layer:
    """One pack as read: what its files hold, section by section, not yet checked."""

    folder: Path
    files: tuple[Path, ...]
    sections: Mapping[str, tuple[Node, ...]]
    info: PackInfo
    over: str = ""
    base: str = ""
    place: Place = NOWHERE

    def has(self, place: Place) -> bool:
        """Whether a place lies in one of its files."""
        return place.path in self._paths

    @cached_property
    def _paths(self) -> frozenset[str]:
        return frozenset(map(str, self.files))


def read_layers(folder: Path, reader: Reader, memory: Memory) -> tuple[Layer, ...]:
    """The pack of a folder and every pack below it, the lowest first.

    Raises PackError where there is no file at all.
    """
    layers = [_read_layer(folder, reader, memory)]
    seen = {folder.resolve()}
    while layers[-1].over:
        top = layers[-1]
        below = Path(normpath(top.folder / top.base)) if top.base else shipped("rulebase")
        if below.resolve() in seen:
            message = f"'{top.info.name}' would lie over itself."
            reader.problem("cycle", message, top.place, "'base:' names the folder of another pack.")
            break
        if not pack_files(below):
            message = f"There is no pack in '{top.base}'."
            hint = f"'base:' is a folder, seen from {top.folder}."
            reader.problem("no-pack", message, top.place, hint)
            break
        seen.add(below.resolve())
        layers.append(_read_layer(below, reader, memory))
        if layers[-1].info.name not in ("", top.over):
            message = f"It lies over '{top.over}', and the pack found is '{layers[-1].info.name}'."
            hint = "Correct 'over:', or name the folder of that pack with 'base:'."
            reader.problem("wrong-base", message, top.place, hint)
    return tuple(reversed(layers))


def stacked(layers: tuple[Layer, ...]) -> PackInfo:
    """Name, version and hash of the top pack with those of the packs below.

    The hash of a pack that lies over another covers the content of both.
    """
    info: PackInfo | None = None
    for layer in layers:
        digest = layer.info.hash
        if info is not None:
            digest = hashlib.sha256(f"{info.hash} {digest}".encode()).hexdigest()
        own = layer.info
        info = PackInfo(own.name, own.version, own.title, own.description, digest, info)
    assert info is not None
    return info


def _read_layer(folder: Path, reader: Reader, memory: Memory) -> Layer:
    files = pack_files(folder)
    if not files:
        raise PackError([Problem("no-pack", "There is no rulebase here.", Place(str(folder)))])
    for path in misnamed(folder):
        name = path.name.lower().partition(".y")[0]
        hint = f"Name it {name}.yaml."
        reader.problem("file-name", "This file would not be read.", Place(str(path)), hint)
    sections = _gather(files, reader, memory)
    node = only(sections["pack"], "pack: {name, version}", folder, reader)
    fields = reader.entry(node, PACK)
    if fields is None:
        return Layer(folder, files, sections, PackInfo("", "", hash=content_hash(sections, memory)))
    got = {key: reader.text(fields.fields.get(key), key) for key in PACK.names}
    if got["base"] and not got["over"]:
        hint = "Add 'over: ...': the name of the pack in that folder."
        reader.problem("missing-key", "'base:' is given, and 'over:' is not.", fields.place, hint)
    info = PackInfo(
        got["name"],
        got["version"],
        got["title"],
        got["description"],
        content_hash(sections, memory),
    )
    place = fields.key_place("base" if got["base"] else "over")
    return Layer(folder, files, sections, info, got["over"], got["base"], place)


def _gather(files: tuple[Path, ...], reader: Reader, memory: Memory) -> dict[str, tuple[Node, ...]]:
    sections: dict[str, list[Node]] = {name: [] for name in SECTIONS}
    for path in files:
        if not reader.proof and _is_proof_alone(path):
            continue
        try:
            if reader.proof:
                root = memory.file(path, read_yaml)
            else:
                root = memory.file(path, read_untested, read_yaml)
        except PackError as error:
            reader.problems.extend(error.problems)
            reader.lost |= _ids_in(path)
            continue
        fields = reader.fields(root, "a rulebase file", SECTIONS)
        for name, node in (fields.fields if fields else {}).items():
            if name in SINGLE:
                sections[name].append(node)
            elif name in LISTS:
                items = reader.items(node, f"'{name}'")
                sections[name].extend(renewed(name, item) for item in items)
            else:
                reader.lost |= _ids_under(node)
    return {name: tuple(nodes) for name, nodes in sections.items()}


def _is_proof_alone(path: Path) -> bool:
    """Whether a file says nothing but how rules are proven, as far as can be seen at once."""
    if path.name != PROOF_FILE:
        return False
    try:
        return _AT_MARGIN.findall(path.read_text(encoding="utf-8-sig")) == ["proof:"]
    except (OSError, ValueError):
        return False


def _ids_in(path: Path) -> set[str]:
    """Ids that stand in a file that is no YAML, so that they are not also reported missing."""
    try:
        return set(_ID.findall(path.read_text(encoding="utf-8-sig")))
    except (OSError, ValueError):
        return set()


def _ids_under(node: Node) -> set[str]:
    """Ids of the entries of a section whose name is not known."""
    entries = node.items if isinstance(node, Items) else ()
    return {id_of(entry) for entry in entries} - {""}


def only(nodes: tuple[Node, ...], what: str, folder: Path, reader: Reader) -> Node | None:
    """The one node of a section that stands once in a rulebase."""
    if not nodes:
        reader.problem("missing-section", f"No file has '{what}'.", Place(str(folder)))
        return None
    for node in nodes[1:]:
        reader.problem("duplicate-key", f"'{what}' stands in the rulebase twice.", node.place)
    return nodes[0]


def content_hash(sections: Mapping[str, tuple[Node, ...]], memory: Memory) -> str:
    """SHA-256 over the entries of each section, in no order, without what only proves them.

    So neither the names of files nor how entries are spread over them, nor comments, layout and
    tests change it: two rulebases of one hash judge alike.
    """
    digest = hashlib.sha256()
    for name in SECTIONS:
        if name in PROVING:
            continue
        entries = sorted(memory.of("says", each, partial(_says, each)) for each in sections[name])
        digest.update("\0".join((name, *entries, "")).encode())
    return digest.hexdigest()


def _says(node: Node) -> str:
    """What an entry says: texts with single spaces, keys in no order, without its tests.

    It is JSON as `json.dumps` writes it with sorted keys; hashes of jobs in the field rest on that.
    """
    if type(node) is Text:
        return _quoted(" ".join(node.text.split()))
    if isinstance(node, Items):
        return f"[{', '.join(map(_says, node.items))}]"
    assert isinstance(node, Fields)
    keys = (key for key in sorted(node.fields) if key != "tests")
    parts = (f"{_quoted(key)}: {_says(node.fields[key])}" for key in keys)
    return f"{{{', '.join(parts)}}}"
