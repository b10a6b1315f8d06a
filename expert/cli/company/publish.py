"""`rackwalk packs publish`: a version of the pack, checked, signed and given out."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.company.server import (
    add_server,
    given_out,
    open_server,
    today,
    trusted_keys,
    typed_passphrase,
)
from expert.cli.frame.common import say
from expert.cli.frame.options import add_who, typed_day
from expert.errors import UsageError

if TYPE_CHECKING:
    from expert.knowledge.pack_model import PackInfo
    from expert.rollout.release import Release
    from expert.store.jobs import JobStore

DESCRIPTION = """\
The pack is held against its base and the checklists, and every test of its rules is run; what fails
is not given out. Its files are signed as they are. A version may begin on a day and be for some
crews first (names of 'rackwalk settings crew', or of persons); without them it is for all, from
today. A version is given out once: what changed gets another number in pack.yaml.

The pack of a region that lies over the company's is given out with that one, for its crews. It
holds for them until it is given out again, whatever the company gives out meanwhile."""
EXAMPLES = """\
  rackwalk packs publish our-store --key office.pem --who 'R. Sample'
  rackwalk packs publish our-store --key office.pem --begins 2026-12-01 --crews north 'A. Sample'"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("folder", type=Path, metavar="FOLDER", help="the pack")
    add_key(parser)
    parser.add_argument("--begins", metavar="DAY", help="in force from this day on")
    parser.add_argument("--crews", nargs="+", default=[], metavar="CREW", help="for these first")
    add_who(parser, "who gives it out")
    add_server(parser)


def add_key(parser: argparse.ArgumentParser) -> None:
    """`--key FILE`."""
    parser.add_argument("--key", type=Path, required=True, metavar="FILE", help="the private key")


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when it was given out; 3 where the pack is wrong or its key not trusted."""
    from expert.rollout.installed import files_of
    from expert.rollout.release import PACK, content_hash_of, content_of, versions

    begins = typed_day(options.begins, "--begins") or today()
    info, folders = _checked(options.folder)
    files, place = files_of(folders)
    content = content_of(files)
    names = _names(info, len(folders))
    stacked = {"over": names[1:], "folder": place} if place else {}
    with open_server(options.server) as store:
        before = versions(given_out(store))
        for each in before:
            if (each.name, each.version) == (info.name, info.version):
                raise UsageError(f"{each} was given out already. Raise 'version:' in pack.yaml.")
            if not {each.name, *each.over} & set(names):
                raise UsageError(
                    f"The company's pack is '{each.name}', and this one '{info.name}': a machine "
                    "judges by one. Lay it over that one or put both into one folder."
                )
        release = give_out(
            store, options, PACK, content, name=info.name, version=info.version,
            content=content_hash_of(content), begins=str(begins), crews=list(options.crews),
            **stacked,
        )  # fmt: skip
    whom = ", first for " + ", ".join(options.crews) if options.crews else ""
    with_it = f" with {' and '.join(map(str, names[1:]))}" if place else ""
    say(f"Given out: {info.name} {info.version}{with_it}, in force from {begins}{whom}.")
    for name in dict.fromkeys(each.name for each in before if info.name in each.over):
        say(
            f"{name} lies over another version of it; give it out again once it is tried over this."
        )
    say(f"Release: {release.id[:12]}")
    return 0


def give_out(
    store: JobStore, options: argparse.Namespace, kind: str, held: str, **told: object
) -> Release:
    """Sign something and add it behind all that was given out. Raises UsageError or RefusedError.

    Nothing is given out that no machine would take: it must be signed by a key trusted by then.
    """
    from expert.rollout.release import Release, manifest_of, verified
    from expert.rollout.signing import sign
    from expert.store.releases import add_release

    if not options.who:
        raise UsageError("Say who gives it out: --who NAME, or keep it: rackwalk settings who NAME")
    before = given_out(store)
    at = datetime.now(UTC).isoformat(timespec="seconds")
    after = before[-1].id if before else ""
    manifest = manifest_of(kind, after, at, options.who, **told)
    signature, public = sign(manifest.encode(), options.key, typed_passphrase(options.key))
    release = Release(manifest, signature)
    verified((*before, release), trusted_keys() or ((public,) if not before else ()))
    add_release(store.database, release.id, manifest, signature, held, len(before))
    return release


def _checked(folder: Path) -> tuple[PackInfo, tuple[Path, ...]]:
    """A pack in which nothing is wrong: what it is, its folder and those given out with it.

    Raises PackError or UsageError.
    """
    from expert.author.scenarios.failure_lines import rule_test_lines
    from expert.author.scenarios.run_rule_tests import RuleTestRunner
    from expert.cli.job.load_knowledge import load_rules_with_tests
    from expert.knowledge.pack_files import checklist_folders, pack_folders
    from expert.practice.read_setting import load_practice
    from expert.procedure.load_checklists import load_checklists

    base = load_rules_with_tests(folder)
    *own, last = pack_folders(folder)
    places = [each.resolve() for each in own]
    if not own or any(one in other.parents for one in places for other in (*places, last)):
        raise UsageError(
            f"{base.info.name} must lie over the pack that came with the program, each pack in a "
            "folder of its own beside the others."
        )
    load_checklists(checklist_folders(folder), base)
    load_practice(folder, base)
    failed = [each for each in RuleTestRunner().run(base, str(folder)) if not each.passed]
    if failed:
        lines = (line for each in failed for line in rule_test_lines(each, base))
        raise UsageError("\n".join(["It is not given out: tests of its rules fail.", *lines]))
    if len(own) > 1:
        _same_elsewhere(tuple(own), base.info)
    return base.info, tuple(own)


def _same_elsewhere(folders: tuple[Path, ...], info: PackInfo) -> None:
    """Raises UsageError where packs laid down in another place are not what they are here."""
    import tempfile

    from expert.errors import PackError
    from expert.knowledge.load_rulebase import load_rulebase
    from expert.knowledge.pack_files import pack_folders
    from expert.rollout.installed import files_of

    files, place = files_of(folders)
    with tempfile.TemporaryDirectory() as elsewhere:
        for name, text in files.items():
            path = Path(elsewhere) / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(text.encode())
        own = pack_folders(Path(elsewhere) / place)[: len(folders)]
        try:
            same = all(Path(elsewhere) in each.parents for each in own)
            same = same and load_rulebase(own[0]).info.hash == info.hash
        except PackError:
            same = False
    if not same:
        raise UsageError(
            "It is not given out: on another machine it would not find the packs below it. Write "
            "'base:' in pack.yaml as seen from the pack, such as '../company'."
        )


def _names(info: PackInfo, count: int) -> list[str]:
    """The names of a pack and of those given out with it, from the top one down."""
    found: list[str] = []
    layer: PackInfo | None = info
    while layer is not None and len(found) < count:
        found.append(layer.name)
        layer = layer.over
    return found
