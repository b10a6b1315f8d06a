"""`rackwalk rules try`: set readings line by line and see what they lead to."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_rulebase, add_units, backend, say
from expert.cli.job.load_knowledge import load_rules
from expert.errors import RackwalkError, ReadingError, UsageError, nearest

if TYPE_CHECKING:
    from expert.author.what_if import WhatIf, WhatIfStanding

HELP = """\
NAME VALUE         set a reading or a fact: return_air 12 F; hot_gas_valve open; defrost electric
                   a series is [10 F at 2 min, 20 F at 6 min]; another circuit is A2.return_air 5 F;
                   a reading before a change is found.return_air 5 F
unset NAME         take it away
show               all that is known, and what it leads to
why CAUSE          the rules for and against a cause, and what would change it
next               what to measure next
find WORD          names of quantities and causes with a word in them
save FILE          keep it as a file of readings
quit               leave"""
DESCRIPTION = f"""\
Starts from a file of readings (as for 'rackwalk diagnose'), or from nothing: a low-temperature
hot-gas circuit on R-449A at sea level. After each line it says what changed. Lines may be piped in;
then exit code 4 says that one was refused.

{HELP}"""
EXAMPLES = """\
  rackwalk rules try readings.yaml
  rackwalk rules try --set defrost_differential="8 psi" --set hot_gas_valve=open
  printf 'return_air 12 F\\nwhy evaporator-fan-failed\\n' | rackwalk rules try --rulebase my-pack"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("file", nargs="?", type=Path, metavar="FILE", help="readings to begin with")
    parser.add_argument(
        "--set", action="append", default=[], metavar="NAME=VALUE", help="a reading to begin with"
    )
    add_units(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 4 when a line that was piped in was refused."""
    from expert.author.what_if import WhatIf

    base = load_rules(options.rulebase)
    if options.file is None:
        trial = WhatIf(base, options.units, backend(options))
        say("A low-temperature hot-gas circuit on R-449A at sea level.")
    else:
        trial = WhatIf.of_file(options.file, base, options.units, backend(options))
    for pair in options.set:
        name, equals, value = pair.partition("=")
        if not equals:
            raise UsageError(f"'{pair}': write NAME=VALUE.")
        trial.set(name.strip(), value.strip())
    talk = _Talk(trial)
    talk.show("")
    refused = 0
    for line in _lines(sys.stdin.isatty()):
        if line in ("quit", "q", "exit"):
            break
        try:
            talk.take(line)
        except RackwalkError as error:
            say(str(error))
            refused += 1
    return 4 if refused and not sys.stdin.isatty() else 0


def _lines(prompted: bool) -> Iterator[str]:
    while True:
        try:
            line = input("try> ") if prompted else input()
        except EOFError:
            return
        if line.strip() and not line.lstrip().startswith("#"):
            yield line.strip()


class _Talk:
    """Takes one line after another and says what it changed."""

    def __init__(self, trial: WhatIf) -> None:
        self.trial = trial
        self.now: WhatIfStanding = trial.standing()
        self.commands: dict[str, Callable[[str], None]] = {
            "set": self.set, "unset": self.unset, "show": self.show, "why": self.why,
            "next": self.next, "find": self.find, "save": self.save, "help": self.help,
            "?": self.help,
        }  # fmt: skip

    def take(self, line: str) -> None:
        """Do what a line says. Raises RackwalkError for what cannot be done."""
        word, _, rest = line.partition(" ")
        if word in self.commands:
            self.commands[word](rest.strip())
        else:
            self.set(line)

    def set(self, text: str) -> None:
        """Set a reading or a fact."""
        match = re.match(r"^([\w.-]+)\s*(?:=|:|\s)\s*(\S.*)$", text)
        if match is None:
            hint = nearest(text, self.commands) or "'help' shows what there is."
            raise ReadingError(f"Cannot read '{text}'. Write NAME VALUE. {hint}")
        self.trial.set(match[1], match[2].strip())
        self._say_changes()

    def unset(self, name: str) -> None:
        """Take a reading away."""
        self.trial.unset(name)
        self._say_changes()

    def _say_changes(self) -> None:
        from expert.author.what_if import change_lines

        before, self.now = self.now, self.trial.standing()
        lines = list(change_lines(before, self.now))
        for line in lines or ["Nothing else changes."]:
            say(f"  {line}")

    def show(self, rest: str) -> None:
        """All that is known, and what it leads to."""
        from expert.author.what_if import known_lines
        from expert.inference.show import evaluation_lines

        for line in known_lines(self.now):
            say(f"  {line}")
        if not self.now.evaluation.known:
            say("  Nothing is known yet. Write NAME VALUE, or 'help'.")
            return
        for line in evaluation_lines(self.now.evaluation, self.trial.rulebase):
            say(f"  {line}")

    def why(self, cause: str) -> None:
        """Why a cause is found or not."""
        from expert.inference.explain import explain, explanation_lines
        from expert.knowledge.hints import hint_by_words

        causes = self.now.evaluator.rulebase.causes
        if cause not in causes:
            found = ", ".join(self.now.findings) or "none"
            near = hint_by_words(cause, causes.values(), by_id=True)
            hint = near or f"Found now: {found}. 'find WORD' looks for causes."
            raise ReadingError(f"There is no cause '{cause}'. {hint}")
        given = self.now.given
        explanation = explain(self.now.evaluator, given.readings, cause, given.found)
        for line in explanation_lines(explanation, self.now.evaluator):
            say(f"  {line}")

    def next(self, rest: str) -> None:
        """What to measure next."""
        for reading in self.now.evaluation.measure_next:
            say(f"  {reading.quantity.id}: {reading.quantity.title}. {reading.why}")
        if not self.now.evaluation.measure_next:
            say("  Nothing would tell more.")

    def find(self, word: str) -> None:
        """Names with a word in them."""
        from expert.author.interview.find_by_words import names_with

        found = names_with(word, self.trial.rulebase)
        for kind, name, title in found:
            say(f"  {kind} {name}: {title}")
        if not found:
            say(f"  Nothing is called '{word}'.")

    def save(self, name: str) -> None:
        """Keep it as a file of readings."""
        if not name:
            raise ReadingError("Save where? Write: save FILE.")
        try:
            self.trial.save(Path(name))
        except OSError as error:
            raise ReadingError(f"Cannot write {name}: {error.strerror}.") from None
        say(f"  Saved: {name}")

    def help(self, rest: str) -> None:
        """What can be written."""
        say(HELP)
