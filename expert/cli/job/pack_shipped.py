"""Everything that is shipped, made as commands ask for it: run when a wheel is built."""

from __future__ import annotations

from pathlib import Path

from expert.cli.job.load_knowledge import load_all_checklists, load_checklist_file, load_rules
from expert.cli.job.shipped_kept import packing
from expert.knowledge.pack_files import CHECKLISTS, checklist_folders
from expert.places import shipped


def pack_shipped(folder: Path) -> None:
    """Write checked rules and checklists into a folder. Raises PackError where they are wrong."""
    with packing(folder):
        rules = load_rules(None)
        load_all_checklists(None, rules)
        for path in sorted(shipped(CHECKLISTS).glob("*.yaml")):
            load_checklist_file(path, rules, checklist_folders(None))
