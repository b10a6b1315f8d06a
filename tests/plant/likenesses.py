"""How plants of the model look that have each fault, counted, as knowledge the program reads.

`python tests/plant/likenesses.py --write` draws plants with every fault, reads each as a technician
would, and writes how many show which word into `likeness.yaml` of each system, and what plants
usually show into `usual.yaml`. Shares are rounded to a few steps, and only what differs from the
usual is kept: it is a likeness, not a table of the model. Nothing is judged by these plants.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from math import log
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

from expert.author.files.dump import dump
from expert.author.files.yaml_layout import format_text
from expert.knowledge.folders import folder_of
from expert.knowledge.likeness_model import WIDER
from expert.knowledge.load_rulebase import load_rulebase
from expert.places import shipped
from plant.judge import PlantJudge
from plant.learned import LEARNING, PlantInWords, seen

STEPS = (0.02, 0.1, 0.3, 0.6, 0.85, 0.98)  # to which shares are rounded (own choice)
TELLS = 0.275  # nats that a word must tell at least, weighed by how often it is so (own choice)
AS_USUAL = 2.0  # plants that look as usual, beside those that were counted (own choice)
LEAST = 4  # fewer plants on which a quantity was known say nothing (own choice)
NOT_JUDGED = ("too close to call", "unknown", "cannot judge")
ROUTINE = ("rack", "case", "defrost")

Counts = Mapping[str, Counter[str]]  # by quantity, of words


def words_of(plant: PlantInWords, says: Mapping[str, str]) -> dict[str, str]:
    """What a plant shows, without what could not be judged; the complaint, where there is one."""
    words = {name: WIDER.get(word, word) for name, word in says.items() if word not in NOT_JUDGED}
    words.pop("complaint", None)
    return words if plant.call in ROUTINE else words | {"complaint": plant.call}


def counted(plants: Iterable[PlantInWords]) -> tuple[Counts, Mapping[str, Counts]]:
    """The words of all plants by quantity, and the same by fault."""
    usual: defaultdict[str, Counter[str]] = defaultdict(Counter)
    by_fault: defaultdict[str, defaultdict[str, Counter[str]]] = defaultdict(
        lambda: defaultdict(Counter)
    )
    for plant in plants:
        # a computed value may say something else as long as a nearer reading is lacking
        for says in (plant.says, plant.at_first):
            for name, word in words_of(plant, says).items():
                usual[name][word] += 1
                by_fault[plant.fault][name][word] += 1
    return usual, by_fault


def shares(told: Counter[str], usual: Counter[str]) -> dict[str, float]:
    """Rounded shares of the words that are usual, with a plant that looks as usual beside."""
    total = told.total() + AS_USUAL
    return {
        word: _near((told[word] + AS_USUAL * usual[word] / usual.total()) / total)
        for word in sorted(usual)
    }


def tells(found: Mapping[str, float], usual: Mapping[str, float]) -> bool:
    """Whether some word is so much likelier or unlikelier than usual that it is worth keeping."""
    here, there = sum(found.values()), sum(usual.values())
    ratios = ((found[word] / here, usual[word] / there) for word in usual if word in found)
    return any(abs(log(one / other)) * max(one, other) > TELLS for one, other in ratios)


def _near(share: float) -> float:
    return min(STEPS, key=lambda step: abs(step - share))


def written(found: Mapping[str, float]) -> dict[str, str]:
    """Shares of one in all, as texts; what is hardly ever seen is what they leave."""
    total = sum(found.values())
    kept = {word: share / total for word, share in found.items() if share > STEPS[0]}
    return {word: f"{share:.2f}" for word, share in kept.items()}


def main(arguments: Sequence[str] | None = None) -> int:
    """Count, and print or write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plants", type=int, default=24, help="of each fault")
    parser.add_argument("--write", action="store_true", help="into the rulebase")
    options = parser.parse_args(arguments)
    rulebase = load_rulebase(shipped("rulebase"))
    usual, by_fault = counted(seen(PlantJudge(rulebase), LEARNING, options.plants))
    usually = {name: shares(told, told) for name, told in usual.items() if len(told) > 1}
    files: defaultdict[Path, list[dict[str, object]]] = defaultdict(list)
    kept: set[str] = set()
    for fault in sorted(by_fault):
        shows = {}
        for name, told in sorted(by_fault[fault].items()):
            found = shares(told, usual[name])
            if name in usually and told.total() >= LEAST and tells(found, usually[name]):
                shows[name] = written(found)
        if shows:
            kept.update(shows)
            path = shipped("rulebase") / folder_of(rulebase.causes[fault].system) / "likeness.yaml"
            source = f"computed: {options.plants} drawn plants of the model with this fault"
            files[path].append({"cause": fault, "shows": shows, "source": source})
    everywhere = shipped("rulebase") / "plant" / "usual.yaml"
    source = "computed: all drawn plants of the model, with any fault"
    for name in sorted(kept):
        shown = {"quantity": name, "shows": written(usually[name]), "source": source}
        files[everywhere].append(shown)
    for path, entries in sorted(files.items()):
        section = "usual_words" if path == everywhere else "likenesses"
        text = format_text(f"# {HEADS[section]}\n{dump({section: entries})}")
        if options.write:
            path.write_text(text, encoding="utf-8")
        else:
            sys.stdout.write(text)
    return 0


HEADS = {
    "likenesses": "How often plants with each cause show what: where to look, and no proof.",
    "usual_words": "How often a plant that was called for shows what, whatever the cause.",
}


if __name__ == "__main__":
    sys.exit(main())
