"""`rackwalk rules new`: be asked, in trade words, for a new rule, and have it written."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import say
from expert.cli.job.load_knowledge import load_rules_with_tests
from expert.errors import NotWritten, PackError, Place, Problem, Stopped, UsageError
from expert.knowledge.pack_files import pack_files

if TYPE_CHECKING:
    from expert.author.interview.ask import Asker
    from expert.author.interview.draft import Draft
    from expert.author.rule_tests import Outcome
    from expert.knowledge.model import Rulebase

DRAFT = "new-rule.draft"
DESCRIPTION = """\
Asks what you saw, how it was, what it points to, how strongly, why and where you know it from, and
for one case where it is so and one where it is not. What is not there yet (a thing to look at, its
normal band, a cause, a sign) is asked for too. Then it writes rules/NAME.yaml into the pack (in
one with folders by system of the plant SYSTEM/rules-NAME.yaml), checks it and runs its tests. A
pack that is not there yet is begun.

Every answer is kept in new-rule.draft in the pack's folder at once: after Ctrl-C or a dead battery
the same command goes on where you stopped. --from FILE takes the answers from such a file, without
questions."""
EXAMPLES = """\
  rackwalk rules new --rulebase my-pack
  rackwalk rules new --rulebase my-pack --from answers.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument(
        "--rulebase", type=Path, metavar="FOLDER", help="the pack it is written into (needed)"
    )
    parser.add_argument(
        "--from", type=Path, metavar="FILE", dest="answers", help="answers, without questions"
    )


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when the rule is written; 3 when it is wrong; 5 when stopped."""

    if options.rulebase is None:
        raise UsageError("Say which pack it is written into: --rulebase FOLDER. It may be new.")
    folder: Path = options.rulebase
    try:
        begin_pack(folder, asked=options.answers is None)
    except (KeyboardInterrupt, EOFError):
        say()
        raise Stopped("Stopped; nothing was begun.") from None
    base = load_rules_with_tests(folder)
    if options.answers is not None:
        return _write(_answers(options.answers, base), base, folder, sure=True)
    path = folder / DRAFT
    try:
        draft = _begun(path)
        _ask(draft, base, path)
        code = _write(draft, base, folder, sure=False)
    except (KeyboardInterrupt, EOFError):
        say()
        raise Stopped(
            f"Stopped. Your answers are kept in {path}; to go on: "
            f"rackwalk rules new --rulebase {folder}"
        ) from None
    if code == 0:
        path.unlink(missing_ok=True)
    return code


def begin_pack(folder: Path, *, asked: bool) -> None:
    """Begin a pack over the shipped rulebase where there is none in a folder."""
    from expert.author.files.dump import dump
    from expert.author.interview.check_typed import slug

    if folder.is_dir() and pack_files(folder):
        return
    name = slug(folder.resolve().name, "-")
    if asked:
        asker = _asker()
        name = asker.text(
            f"There is no pack in {folder} yet, so one is begun. Its name?",
            default=name, check=lambda text: slug(text, "-"),
        )  # fmt: skip
    over = load_rules_with_tests(None).info.name
    head: dict[str, object] = {"name": name, "version": "0.1.0", "over": over}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "pack.yaml").write_text(dump({"pack": head}), encoding="utf-8")
    except OSError as error:
        raise NotWritten(f"Cannot begin a pack in {folder}: {error.strerror}.") from None
    say(f"Begun: {folder / 'pack.yaml'}, over {over}.")


def _begun(path: Path) -> Draft:
    """The draft that was left, if the person wants it."""
    from expert.author.interview.draft import read_draft

    if not path.exists() or not path.read_text(encoding="utf-8").strip():
        return {}
    asker = _asker()
    say(f"There are answers from before in {path}.")
    if asker.choice("Go on with them?", ("go on", "begin again"), default=1) == 0:
        return read_draft(path)
    kept = path.with_suffix(".draft.old")
    path.replace(kept)
    say(f"They are kept in {kept}.")
    return {}


def _ask(draft: Draft, base: Rulebase, path: Path) -> None:
    from expert.author.files.dump import dump
    from expert.author.interview.interview import Interview

    def keep() -> None:
        part = path.with_name(f".{path.name}.part")
        part.write_text(dump(draft), encoding="utf-8")
        part.replace(path)

    Interview(_asker(), base, draft, keep).run()


def _answers(path: Path, base: Rulebase) -> Draft:
    """The answers of a file. Raises PackError for what is missing."""
    from expert.author.interview.draft import lacking, read_draft

    draft = read_draft(path)
    if missing := lacking(draft, base):
        names = ", ".join(f"'{name}'" for name in missing)
        raise PackError([Problem("missing-key", f"The answers lack {names}.", Place(str(path), 1))])
    return draft


def _write(draft: Draft, base: Rulebase, folder: Path, *, sure: bool) -> int:
    """Check, prove and write the rule; what is wrong is said, and then nothing is written."""
    from expert.author.interview.draft import prove, rulebase_text, with_draft
    from expert.knowledge.folders import usual_folder

    made, _ = with_draft(base, draft)
    rule = made.rules.get(str(draft["rule"]))
    system = usual_folder(rule, made, folder) if rule else ""
    name = f"{system}/rules-{draft['rule']}.yaml" if system else f"rules/{draft['rule']}.yaml"
    path = folder / name
    text = rulebase_text(draft, base)
    if path.exists():
        message = "There is a file of this name already; give the rule another name."
        raise PackError([Problem("file-there", message, Place(str(path)))])
    problems, outcomes = prove(text, folder, name)
    if problems:
        say(text)
        raise PackError(problems)
    failed = [outcome for outcome in outcomes if not outcome.passed]
    for outcome in failed:
        _say_failed(outcome, name)
    if failed:
        return PackError.exit_code
    if not sure:
        say()
        say(text.rstrip("\n"))
        say()
        if _asker().choice(f"Write this to {path}?", ("yes", "no"), default=1) == 1:
            raise KeyboardInterrupt
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise NotWritten(f"Cannot write {path}: {error.strerror}.") from None
    say(f"Written: {path}. Checked; {len(outcomes)} of its tests pass.")
    return 0


def _say_failed(outcome: Outcome, name: str) -> None:
    given = ", ".join(f"{each.name} {' '.join(each.texts)}" for each in outcome.test.given)
    say(f"{name}: given {given}: expected {outcome.test.expect}, but it was {outcome.got}.")


def _asker() -> Asker:
    from expert.author.interview.ask import Asker

    return Asker(_read, say)


def _read(prompt: str) -> str:
    return input(f"{prompt}> " if sys.stdin.isatty() else "")
