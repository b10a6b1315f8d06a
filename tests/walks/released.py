"""What the steps of each checklist were when it was last given out, by a hash of their text.

`python tests/walks/released.py --write` notes them; a release does it.
"""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path

import yaml

from expert.places import shipped

NOTED = Path(__file__).parent / "released.json"


def now() -> dict[str, list[str]]:
    """Revision and hash of each shipped checklist; comments and layout count for nothing."""
    found = {}
    for path in sorted(shipped("checklists").glob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        said = yaml.load(text, Loader=yaml.CBaseLoader)["checklist"]
        revision = str(said.pop("revision"))
        steps = json.dumps(said, sort_keys=True).encode()
        found[path.stem] = [revision, hashlib.sha256(steps).hexdigest()[:16]]
    return found


def noted() -> dict[str, list[str]]:
    """What was given out last."""
    found: dict[str, list[str]] = json.loads(NOTED.read_text(encoding="utf-8"))
    return found


def older(noted: dict[str, list[str]], found: dict[str, list[str]]) -> list[str]:
    """Checklists that were changed after they were given out and bear the same revision."""
    return [
        name
        for name, (revision, steps) in found.items()
        if name in noted and noted[name][1] != steps and int(revision) <= int(noted[name][0])
    ]


if __name__ == "__main__" and sys.argv[1:] == ["--write"]:
    NOTED.write_text(json.dumps(now(), indent=1) + "\n", encoding="utf-8")
