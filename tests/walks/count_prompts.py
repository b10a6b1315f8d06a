"""What every recorded walk takes a person: prompts and keystrokes at each depth.

Run: python tests/walks/count_prompts.py [NAME ...]. `before` is what the same walks took when each
step was a prompt of its own.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.places import shipped
from expert.procedure.answers import Answers
from expert.procedure.checklist import Checklist
from expert.procedure.load_checklists import load_checklists
from expert.procedure.read_answers import load_answers
from expert.procedure.screens import BRIEF, LEARNING, WORKING
from expert.procedure.session import Session

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))
from typed_walk import TypedCounts, type_through  # noqa: E402
from walked_job import DEMO, on_site  # noqa: E402

BEFORE = HERE / "prompts_before.json"
WAYS = ((LEARNING, False), (WORKING, False), (BRIEF, True))


def typed_at(
    checklist: Checklist, site: Site, subject: str, base: Rulebase, answers: Answers, depth: str,
    *, tables: bool,
) -> tuple[TypedCounts, Session]:  # fmt: skip
    """What a file takes at a depth, and its finished session."""
    session, _ = on_site(checklist, site, subject, base)
    return type_through(session, answers, depth, tables=tables), session


def main(names: list[str]) -> None:
    """Prints a line for each walk."""
    base = load_rulebase(shipped("rulebase"))
    checklists = load_checklists(shipped("checklists"), base)
    site = load_site(DEMO / "site.yaml", base)
    ids = {name.lower(): name for name in site.subjects}
    before = json.loads(BEFORE.read_text(encoding="utf-8")) if BEFORE.exists() else {}
    print(f"{'walk':52}{'before':>12}{'learning':>12}{'working':>20}{'brief, tables':>16}")
    for path in sorted(DEMO.glob("*.answers.yaml")):
        name = path.name.removesuffix(".answers.yaml")
        if names and not any(each in name for each in names):
            continue
        checklist = checklists[name.partition(".")[0]]
        subject = ids[name.partition(".")[2].partition("-")[0]]
        cells = []
        for depth, tables in WAYS:
            answers = load_answers(path, checklist)
            typed, _ = typed_at(checklist, site, subject, base, answers, depth, tables=tables)
            others = f" ({typed.others} other)" if depth == WORKING else ""
            cells.append(f"{typed.prompts}/{typed.keys}{others}")
        was = "/".join(map(str, before.get(name, ("?", "?"))))
        print(f"{name:52}{was:>12}{cells[0]:>12}{cells[1]:>20}{cells[2]:>16}")


if __name__ == "__main__":
    main(sys.argv[1:])
