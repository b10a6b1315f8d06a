"""`rackwalk practice --scores`, `--share`, `--crew`: private, until they are handed over."""

from __future__ import annotations

import argparse
import json
from datetime import UTC, datetime
from pathlib import Path

from expert.cli.frame.common import print_json, say
from expert.cli.practice.kept import exercises, open_practice
from expert.errors import NotWritten, UsageError
from expert.practice.attempt import SCORED
from expert.practice.scores import ExerciseScore, crew_lines, handed_over, score_in, taken


def show_scores(options: argparse.Namespace) -> int:
    """One's own, from this machine; with a file they are handed over."""
    who, found = _own(options)
    if options.share is not None:
        day = datetime.now(UTC).astimezone().date().isoformat()
        try:
            options.share.write_text(handed_over(who, day, found), encoding="utf-8")
        except OSError as error:
            raise NotWritten(f"{options.share} cannot be written: {error.strerror}.") from None
        say(f"{options.share}: the scores of {who or 'nobody named'}, {len(found)} exercises.")
        say("Whoever has the file sees them. Nothing else leaves this machine.")
        return 0
    if options.json:
        print_json({"who": who, "scores": json.loads(handed_over(who, "-", found))["scores"]})
        return 0
    for each in found:
        say(each.line)
    if not found:
        say("No exercise was ended yet.")
    return 0


def show_crew(options: argparse.Namespace) -> int:
    """Those who handed their scores over, side by side."""
    for line in crew_lines(taken(_text(path), path.name) for path in options.crew):
        say(line)
    return 0


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        raise UsageError(f"{path} cannot be read.") from None


def _own(options: argparse.Namespace) -> tuple[str, tuple[ExerciseScore, ...]]:
    with open_practice(options.jobs) as store:
        over = [each for each in exercises(store) if each.finished is not None]
        names = {each.who for each in over}
        who = options.who or (next(iter(names)) if len(names) == 1 else "")
        if not who and len(names) > 1:
            raise UsageError("Several people practise here. Say who you are: --who NAME.")
        found = []
        for job in over:
            if job.who != who:
                continue
            scored = next((e for e in store.entries(job.id) if e.kind == SCORED), None)
            if scored is not None:
                told = json.loads(job.site_text)
                day = job.created.astimezone().date().isoformat()
                found.append(score_in(scored.data, told["exercise"], told["level"], day))
    return who, tuple(found)
