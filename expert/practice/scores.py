"""Scores of exercises: a line for each, a file to hand over, and a crew's side by side."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from statistics import median

from expert.errors import ReadingError

FORM = 1


@dataclass(frozen=True)
class ExerciseScore:
    """What one exercise came to. `day` is ISO; `minutes` are those of the exercise."""

    exercise: str
    level: str
    day: str
    right: bool
    cured: int
    faults: int
    stopped: bool
    minutes: int
    readings: int
    hints: int

    @property
    def line(self) -> str:
        """In a line."""
        came = (
            "stopped: dangerous"
            if self.stopped
            else ("cured" if self.cured == self.faults else f"{self.cured} of {self.faults} cured")
        )
        named = "named it" if self.right else "did not name it"
        hints = f", asked the tool {self.hints} times" if self.hints else ""
        return (
            f"{self.day} {self.exercise} ({self.level}): {came}, {named}, "
            f"{self.minutes} min, {self.readings} readings{hints}"
        )


def score_in(data: Mapping[str, object], exercise: str, level: str, day: str) -> ExerciseScore:
    """A score from the entry with which an exercise ended."""

    def count(name: str) -> int:
        value = data.get(name, 0)
        return value if isinstance(value, int) else 0

    return ExerciseScore(
        exercise, level, day, bool(data.get("right")), count("cured"), count("faults"),
        bool(data.get("stopped")), count("spent"), count("readings"), count("hints"),
    )  # fmt: skip


def handed_over(who: str, agreed: str, scores: Iterable[ExerciseScore]) -> str:
    """The file with which a person lets a lead see the scores; `agreed` is the day of it."""
    told = [asdict(each) for each in scores]
    return json.dumps({"form": FORM, "who": who, "agreed": agreed, "scores": told}, indent=2)


def taken(text: str, name: str) -> tuple[str, tuple[ExerciseScore, ...]]:
    """Who handed a file over, and the scores in it. Raises ReadingError."""
    try:
        found = json.loads(text)
        if found["form"] != FORM or not found["agreed"]:
            raise ValueError
        return str(found["who"]), tuple(ExerciseScore(**each) for each in found["scores"])
    except (ValueError, KeyError, TypeError):
        message = f"'{name}' is no file of scores. 'rackwalk practice --share FILE' writes one."
        raise ReadingError(message) from None


def crew_lines(crew: Iterable[tuple[str, tuple[ExerciseScore, ...]]]) -> Iterator[str]:
    """Each person who agreed, with what the exercises came to."""
    for who, scores in crew:
        if not scores:
            yield f"{who}: no exercise yet"
            continue
        n = len(scores)
        cured = sum(each.cured == each.faults and not each.stopped for each in scores)
        danger = sum(each.stopped for each in scores)
        minutes = median(each.minutes for each in scores)
        readings = median(each.readings for each in scores)
        yield (
            f"{who}: {n} exercises, {cured} cured, {danger} stopped as dangerous, "
            f"median {minutes:.0f} min and {readings:.0f} readings"
        )
        missed = sorted({each.exercise for each in scores if each.cured < each.faults})
        if missed:
            yield f"  not cured: {', '.join(missed)}"
