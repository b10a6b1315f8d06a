"""A digest of every demo walk: its findings, and its reports in all views and forms, byte for byte.

Run: python tests/walks/walk_digests.py [--rulebase FOLDER] > before.txt, then, after files were
moved: python tests/walks/walk_digests.py --against before.txt. It names each walk that came out
otherwise, and ends with exit code 1 where one did.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping
from hashlib import sha256
from pathlib import Path

from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.places import shipped
from expert.procedure.checklist import Checklist
from expert.procedure.load_checklists import load_checklists
from expert.report.render import gather, render
from expert.report.views import FORMATS, VIEWS

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]
from found_in_walk import found  # noqa: E402
from walked_job import DEMO, job_of, walked_through  # noqa: E402

WALKS = tuple(sorted(DEMO.glob("*.answers.yaml")))


def digest(path: Path, site: Site, base: Rulebase, checklists: Mapping[str, Checklist]) -> str:
    """A hash of all that a walk comes to."""
    walked = walked_through(path, site, base, checklists)
    job, entries = job_of(walked.session, site), walked.session.picture.entries
    report = gather(job, entries, walked.runner, backend="plain")
    told = sha256(repr(found(walked.session)).encode())
    for view in VIEWS:
        for form in FORMATS:
            told.update(render(report, view, form).encode())
    return told.hexdigest()


def digests(base: Rulebase, walks: tuple[Path, ...] = WALKS) -> Iterator[tuple[str, str]]:
    """Name and digest of each walk, judged by a rulebase."""
    checklists = load_checklists(shipped("checklists"), base)
    site = load_site(DEMO / "site.yaml", base)
    for path in walks:
        yield path.name.removesuffix(".answers.yaml"), digest(path, site, base, checklists)


def main() -> int:
    """A line a walk, or the walks that differ from those of a file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rulebase", type=Path, default=shipped("rulebase"))
    parser.add_argument("--against", type=Path, metavar="FILE", help="what this printed before")
    options = parser.parse_args()
    lines = [f"{name} {told}" for name, told in digests(load_rulebase(options.rulebase))]
    if options.against is None:
        sys.stdout.write("\n".join([*lines, ""]))
        return 0
    before = options.against.read_text(encoding="utf-8").splitlines()
    otherwise = sorted({line.split()[0] for line in set(lines) ^ set(before)})
    said = f"{len(lines)} walks, {len(otherwise)} come out otherwise.\n"
    sys.stdout.write("\n".join([*otherwise, said]))
    return int(bool(otherwise))


if __name__ == "__main__":
    sys.exit(main())
