"""`rackwalk site show`: a store with its racks and circuits, and what is not known yet."""

from __future__ import annotations

import argparse
from contextlib import closing
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_json, add_pack, print_json, say
from expert.cli.frame.options import add_place
from expert.cli.job.load_knowledge import load_rules
from expert.cli.job.which_site import kept_in, named_site
from expert.cli.site.which import chosen
from expert.host import columns

if TYPE_CHECKING:
    from collections.abc import Iterator

    from expert.knowledge.model import Rulebase
    from expert.knowledge.sheet_model import StoreSheetRow
    from expert.knowledge.site import Site, Subject
    from expert.terminal.layout import Layout

DESCRIPTION = """\
NAME is a kept store or a site file; with several stores and no NAME they are listed. A value that
a circuit has from its rack is known. --all counts every value that a judgement may use."""
EXAMPLES = """\
  rackwalk site show
  rackwalk site show 'Oak Street' --all
  rackwalk site show my-store.yaml
  rackwalk site show --history"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("name", nargs="?", metavar="NAME")
    parser.add_argument("--all", action="store_true", help="every value, not the usual ones only")
    parser.add_argument("--history", action="store_true", help="who changed what, and when")
    add_pack(parser)
    add_place(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0."""

    from expert.sites.not_known import not_known
    from expert.terminal.layout import Layout

    layout = Layout(columns())
    kept = kept_in(options.jobs) if options.name is None or options.history else {}
    if options.name is None and len(kept) > 1:
        _list(options, layout)
        return 0
    if options.history:
        _history(options, layout)
        return 0
    rules = load_rules(options.rulebase)
    name = options.name or chosen(None, options.jobs).name
    site = named_site(name, rules, options.jobs)
    if options.json:
        gaps = {
            each.subject.id: list(each.what) for each in not_known(site, rules, every=options.all)
        }
        subjects = [
            {
                "id": each.id, "title": each.title, "kind": each.kind, **each.facts,
                "values": {key: value.text for key, value in each.values.items()},
                "sheets": {key: [_row(row) for row in rows] for key, rows in each.sheets.items()},
                "not_known": gaps.get(each.id, []),
            }
            for each in site.subjects.values()
        ]  # fmt: skip
        print_json({"site": site.name, "subjects": subjects})
        return 0
    for line in _lines(site, rules, layout, every=options.all):
        say(line)
    return 0


def _lines(site: Site, rules: Rulebase, layout: Layout, *, every: bool) -> Iterator[str]:
    from expert.sites.data import counts
    from expert.sites.not_known import not_known

    yield from layout.text(f"{site.name}: {counts(site)}")
    gaps = {each.subject.id: each.what for each in not_known(site, rules, every=every)}
    for each in site.subjects.values():
        above = site.subjects.get(each.part_of)
        if each.kind == "site":
            own = dict(each.values)
            yield from layout.named("by the law of", _law(each))
        else:
            indent = 0 if each.kind == "rack" else 2
            facts = [
                text for key, text in each.facts.items()
                if above is None or above.facts.get(key) != text
            ]  # fmt: skip
            told = f"{each.title} ({', '.join(facts)})" if facts else each.title
            if each.kind == "rack":
                yield ""
            yield from layout.listed(each.id, told, indent)
            own = {
                key: value for key, value in each.values.items()
                if above is None or above.values.get(key) != value
            }  # fmt: skip
        indent = 0 if each.kind == "site" else 4
        titles = [f"{rules.quantities[key].title} {value.text}" for key, value in own.items()]
        if titles:
            yield from layout.named("known", "; ".join(titles), indent)
        for line in _rows(each, above, rules):
            yield from layout.named(*line, indent)
        if each.id in gaps and each.kind != "site":
            yield from layout.named("not known yet", "; ".join(gaps[each.id]), indent)


def _rows(each: Subject, above: Subject | None, rules: Rulebase) -> Iterator[tuple[str, str]]:
    """The rows of each sheet of a part: '72 F, full, off: 45 %'."""
    for name, rows in each.sheets.items():
        if above is None or above.sheets.get(name) != rows:
            told = "; ".join(
                f"{', '.join((row.weather_text, *(word for _, word in row.state)))}: {row.text}"
                for row in sorted(rows, key=lambda row: row.weather)
            )
            yield rules.quantities[name].title, told


def _row(row: StoreSheetRow) -> dict[str, str]:
    return {"weather": row.weather_text, **dict(row.state), "says": row.text}


def _law(store: Subject) -> str:
    named, judged = store.facts.get("jurisdiction"), store.fact("jurisdiction")
    said = "the store names none: rackwalk site set site jurisdiction 'European Union'"
    return named or f"{judged} ({said})"


def _list(options: argparse.Namespace, layout: Layout) -> None:
    kept = kept_in(options.jobs)
    if options.json:
        print_json([{"site": each.name, "version": each.version} for each in kept.values()])
        return
    for each in kept.values():
        told = f"version {each.version} of {each.at.astimezone():%Y-%m-%d}"
        for line in layout.named(each.name, f"{told}{f', {each.who}' if each.who else ''}"):
            say(line)


def _history(options: argparse.Namespace, layout: Layout) -> None:
    from expert.store.jobs import JobStore
    from expert.store.kept_sites import versions
    from expert.store.paths import job_place

    name = chosen(options.name, options.jobs).name
    with closing(JobStore(job_place(options.jobs))) as store:
        found = versions(store.database)[name]
    if options.json:
        print_json(
            [
                {"version": v.version, "at": v.at.isoformat(), "who": v.who, "why": v.why}
                for v in found
            ]
        )
        return
    for each in found:
        who = f", {each.who}" if each.who else ""
        for line in layout.named(f"{each.version}, {each.at.astimezone():%Y-%m-%d}{who}", each.why):
            say(line)
