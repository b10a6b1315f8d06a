"""`rackwalk practice --list`: the exercises there are, without what is wrong in them."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import print_json, say
from expert.cli.job.load_knowledge import load_rules
from expert.practice.read_setting import load_practice
from expert.practice.setting_model import LEVELS


def list_exercises(options: argparse.Namespace) -> int:
    """Exit code 0, also where there are none."""
    setting = load_practice(options.rulebase, load_rules(options.rulebase))
    found = sorted(setting.exercises.values(), key=lambda each: LEVELS.index(each.level))
    if options.json:
        print_json([{"id": each.id, "title": each.title, "level": each.level} for each in found])
        return 0
    for level in LEVELS:
        own = [each for each in found if each.level == level]
        if own:
            say(f"{level}:")
        for each in own:
            say(f"  {each.id}: {each.title}")
    if not found:
        say("There are no exercises. 'rackwalk practice --seed 1' draws a plant.")
    return 0
