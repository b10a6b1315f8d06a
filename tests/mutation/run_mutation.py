"""Tries small wrong changes of the rulebase one at a time and lists those that no test notices.

Run from the top folder: python tests/mutation/run_mutation.py --scenarios tests/scenarios
Ends with exit code 1 where fewer are noticed than --at-least says. Every survivor is a missing
test: one of the rule it names, or a scenario. Each mutant meets only the tests and scenarios that
it can change, so that the whole base takes minutes. With --keep a run that was stopped goes on
where it was.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from functools import cache
from hashlib import sha256
from pathlib import Path
from zlib import crc32

from expert.author.coverage.shares import share_text
from expert.author.mutation.mutants import Mutant, mutants
from expert.author.mutation.trial import Trial
from expert.author.proposals.propose import changed_files, propose_all
from expert.author.scenarios.read import load_scenarios
from expert.knowledge.load_rulebase import load_rulebase
from expert.places import shipped


@cache
def trial(rulebase: str, scenarios: str) -> tuple[Trial, tuple[Mutant, ...]]:
    """The trial and all mutants; made once in each process."""
    base = load_rulebase(Path(rulebase))
    cases = load_scenarios(Path(scenarios), base) if scenarios else ()
    return Trial(base, cases), tuple(mutants(base))


def try_some(rulebase: str, scenarios: str, numbers: list[int]) -> list[tuple[int, str]]:
    """For each mutant by number, where it was noticed."""
    tried, made = trial(rulebase, scenarios)
    return [(number, tried.noticed(made[number])) for number in numbers]


def chosen(made: tuple[Mutant, ...], options: argparse.Namespace) -> list[int]:
    """Numbers of the mutants asked for."""
    numbers = [
        number
        for number, mutant in enumerate(made)
        if options.file in mutant.place.path and options.kind in mutant.kind
    ]
    if options.sample and options.sample < len(numbers):
        # By what they change and not by their number: another rule leaves the rest as it is.
        numbers.sort(key=lambda number: crc32(f"{options.seed} {name_of(made[number])}".encode()))
        numbers = sorted(numbers[: options.sample])
    return numbers


def name_of(mutant: Mutant) -> str:
    """What a mutant changes, without its place."""
    return f"{mutant.id}: {mutant.what}"


def file_of(mutant: Mutant) -> str:
    """Folder and name of the file it changes: 'oil/limits.yaml'."""
    return "/".join(Path(mutant.place.path).parts[-2:])


class KeptResults:
    """Results of a run in a file, a line each, for this very rulebase and these scenarios."""

    def __init__(self, path: Path | None, options: argparse.Namespace):
        self._path = path
        self.found: dict[int, str] = {}
        if path is None:
            return
        mark = [hash_of(options.rulebase), hash_of(options.scenarios)]
        lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
        if lines and json.loads(lines[0]) == mark:
            self.found = dict(json.loads(line) for line in lines[1:] if line.endswith("]"))
        else:
            path.write_text(json.dumps(mark) + "\n", encoding="utf-8")

    def add(self, some: list[tuple[int, str]]) -> None:
        """Keep some results."""
        self.found.update(some)
        if self._path is not None:
            with self._path.open("a", encoding="utf-8") as file:
                file.writelines(json.dumps(each) + "\n" for each in some)


def hash_of(folder: Path | None) -> str:
    """A hash of all YAML files of a folder."""
    found = sha256()
    for path in sorted(folder.rglob("*.yaml")) if folder else ():
        found.update(path.read_bytes())
    return found.hexdigest()


def run(options: argparse.Namespace) -> dict[int, str]:
    """Where each mutant was noticed ('' for a survivor), by number."""
    paths = (str(options.rulebase), str(options.scenarios or ""))
    asked = chosen(trial(*paths)[1], options)
    kept = KeptResults(options.keep, options)
    numbers = [number for number in asked if number not in kept.found]
    size = options.chunk
    chunks = [numbers[start : start + size] for start in range(0, len(numbers), size)]
    if options.jobs == 1 or len(chunks) < 2:
        for chunk in chunks:
            kept.add(try_some(*paths, chunk))
    else:
        # Where processes can be forked, each has the trial of this one at once.
        fork = "fork" in multiprocessing.get_all_start_methods()
        way = multiprocessing.get_context("fork" if fork else None)
        with ProcessPoolExecutor(options.jobs, mp_context=way) as pool:
            waiting = [pool.submit(try_some, *paths, chunk) for chunk in chunks]
            for each in as_completed(waiting):
                kept.add(each.result())
    return {number: kept.found[number] for number in asked}


def proposed_lines(options: argparse.Namespace, survivors: list[Mutant]) -> list[str]:
    """The proposals for a person to judge, each with what it would notice; or the files written."""
    tried, _ = trial(str(options.rulebase), str(options.scenarios or ""))
    found = propose_all(tried, survivors)
    if options.write:
        texts = changed_files(tried.rulebase, found)
        for path, text in texts.items():
            Path(path).write_text(text, encoding="utf-8")
        return [f"{len(found)} tests written to:", *texts]
    lines = []
    for each in found:
        lines += ["", f"# {each.rule}: {each.reason}", *each.lines()]
    return lines


def table(counts: Counter[str], survived: Counter[str]) -> list[str]:
    """One line a name: noticed of all, and the share."""
    width = max(map(len, counts), default=0)
    return [
        f"  {name:<{width}}  {counts[name] - survived[name]:>5} of {counts[name]:>5}"
        f"  {share_text(counts[name] - survived[name], counts[name])}"
        for name in sorted(counts)
    ]


def parse(words: list[str] | None = None) -> argparse.Namespace:
    """The options of the script."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rulebase", type=Path, default=shipped("rulebase"))
    parser.add_argument("--scenarios", type=Path, help="folder of scenarios")
    parser.add_argument("--file", default="", help="only mutants in files with this word")
    parser.add_argument("--kind", default="", help="only kinds of mutants with this word")
    parser.add_argument("--sample", type=int, default=0, help="so many, spread over all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=min(2, os.cpu_count() or 1))
    parser.add_argument("--chunk", type=int, default=50, help="mutants a process takes at a time")
    parser.add_argument("--keep", type=Path, metavar="FILE", help="keep results there, and go on")
    parser.add_argument("--at-least", type=float, default=0.0, metavar="PERCENT")
    parser.add_argument(
        "--suggest", action="store_true",
        help="print tests that would notice the survivors; each says what the rule does now, "
        "and whether that is right is for a person to judge",
    )  # fmt: skip
    parser.add_argument(
        "--write", action="store_true", help="put them into proof.yaml of each folder"
    )
    parser.add_argument("--quiet", action="store_true", help="figures only, no survivors")
    parser.add_argument("--json", action="store_true")
    return parser.parse_args(words)


def main(words: list[str] | None = None) -> int:
    """Print survivors by file, then the figures."""
    options = parse(words)
    started = time.perf_counter()
    found = run(options)
    made = trial(str(options.rulebase), str(options.scenarios or ""))[1]
    survivors = [made[number] for number, place in found.items() if not place]
    kinds, files, bad_kinds, bad_files = (Counter[str]() for _ in range(4))
    for number, place in found.items():
        mutant = made[number]
        kinds[mutant.kind] += 1
        files[file_of(mutant)] += 1
        bad_kinds[mutant.kind] += not place
        bad_files[file_of(mutant)] += not place
    noticed = len(found) - len(survivors)
    if options.json:
        listed = [{"place": str(m.place), "kind": m.kind, "what": m.what} for m in survivors]
        document = {"mutants": len(found), "noticed": noticed, "survivors": listed}
        sys.stdout.write(json.dumps(document, indent=2) + "\n")
    else:
        more = proposed_lines(options, survivors) if options.suggest or options.write else []
        lines = [] if options.quiet else [str(m) for m in sorted(survivors, key=lambda m: m.place)]
        lines += [*more, "", "By kind:", *table(kinds, bad_kinds)]
        lines += ["By file:", *table(files, bad_files)]
        share = share_text(noticed, len(found))
        taken = time.perf_counter() - started
        lines.append(f"{noticed} of {len(found)} noticed ({share}), in {taken:.1f} s")
        sys.stdout.write("\n".join(lines) + "\n")
    return int(noticed * 100 < options.at_least * len(found))


if __name__ == "__main__":
    sys.exit(main())
