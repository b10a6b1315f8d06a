"""Writes entries as YAML in the layout of knowledge files; every scalar stays the text it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import yaml
from yaml.emitter import Emitter
from yaml.representer import SafeRepresenter
from yaml.resolver import BaseResolver
from yaml.serializer import Serializer

from expert.author.files.yaml_layout import format_text

_ONE_LINE = 80


class _Dumper(Emitter, Serializer, SafeRepresenter, BaseResolver):
    """Knows no types beside text, so that 'yes' and '12:30' need no quotes."""

    def __init__(self, stream: Any, **options: Any) -> None:
        Emitter.__init__(
            self, stream, width=10**6, allow_unicode=True, line_break="\n",
            canonical=None, indent=None,
        )  # fmt: skip
        Serializer.__init__(self)
        SafeRepresenter.__init__(self, default_flow_style=False, sort_keys=False)
        BaseResolver.__init__(self)

    def ignore_aliases(self, data: Any) -> bool:
        """Nothing is written as an alias."""
        return True

    def represent_mapping(self, tag: str, mapping: Any, flow_style: bool | None = None) -> Any:
        """A short mapping that is no entry stands on one line."""
        node = super().represent_mapping(tag, mapping, flow_style)
        node.flow_style = "id" not in mapping and _short(mapping)
        return node

    def represent_sequence(self, tag: str, sequence: Any, flow_style: bool | None = None) -> Any:
        """A short list of texts stands on one line."""
        node = super().represent_sequence(tag, sequence, flow_style)
        node.flow_style = _short(sequence)
        return node


def dump(document: Mapping[str, object]) -> str:
    """The document as text. Its scalars must be texts."""
    return format_text(yaml.dump(document, Dumper=_Dumper))


def _short(value: Mapping[str, object] | Sequence[object]) -> bool:
    parts = [*value, *value.values()] if isinstance(value, Mapping) else [*value]
    if not all(isinstance(part, str) and not part.endswith(".") for part in parts):
        return False  # sentences stand on lines of their own
    return sum(len(str(part)) + 2 for part in parts) < _ONE_LINE
