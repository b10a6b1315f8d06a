"""A YAML file as an editor's schema check sees it: scalars by the core schema of YAML 1.2."""

from __future__ import annotations

import re

from expert.knowledge.yaml_nodes import Fields, Items, Node

_WHOLE = re.compile(r"[-+]?\d+")
_DECIMAL = re.compile(r"[-+]?(\.\d+|\d+(\.\d*)?)([eE][-+]?\d+)?")  # YAML 1.2, 10.3.2


def core(node: Node) -> object:
    if isinstance(node, Items):
        return [core(item) for item in node.items]
    if isinstance(node, Fields):
        return {key: core(value) for key, value in node.fields.items()}
    text = node.text
    if node.quoted or node.folded:
        return text
    if text in ("", "~", "null"):
        return None
    if text in ("true", "false"):
        return text == "true"
    if _WHOLE.fullmatch(text):
        return int(text)
    return float(text) if _DECIMAL.fullmatch(text) else text
