"""What a store is told: the findings in plain words, its food, its refrigerant."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from expert.inference.evaluation_model import Finding
from expert.inference.findings import URGENCY
from expert.inference.sentences import band_text, first_up, value_text
from expert.procedure.world import AS_FOUND, AS_LEFT
from expert.report.context import ReportContext
from expert.report.parts import Part
from expert.report.plain_words import Plain, plain
from expert.report.refrigerant_accounts import RefrigerantLine, refrigerant_moved
from expert.report.report_roles import report_roles
from expert.report.stages import word_of

NORMAL = "normal"
_ALWAYS_TOLD = ("safety", "leak")
_OVER = ("high", "very high")
_MOST = 4  # lines of a kind on a page that must stay one page


@dataclass(frozen=True)
class PlainFinding:
    """A finding in plain words. `standing` is that of an Attention, '' where it is put right."""

    says: str
    finding: Finding
    where: str
    standing: str = ""
    noticed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Food:
    """A food temperature as it was read; `word` is its state, '' where nothing judges it."""

    what: str
    value: str
    word: str
    normal: str
    where: str
    when: str = ""


class CustomerPage:
    """Everything the customer's template asks for beside the report itself."""

    def __init__(self, report: ReportContext) -> None:
        self.report = report
        self._plain: Plain = plain(report.heading.pack)
        told = [(part, finding) for part, finding in report.wrong if not _rival(part, finding)]
        self.wrong = self._in_plain_words((part, f, "") for part, f in told)
        self.put_right = self._in_plain_words(
            (part, f, "") for part, f in report.put_right if (part, f) in told
        )
        self.attention = self._in_plain_words(
            (part, item.finding, item.standing)
            for part, item in report.attention
            if not _rival(part, item.finding)
        )
        self.moved: tuple[RefrigerantLine, ...] = refrigerant_moved(report.parts, report_roles())
        food = tuple(_food(report.parts))
        self.food_off = tuple(each for each in food if each.word != NORMAL)
        self.food_over = tuple(each for each in food if each.word in _OVER)
        self.food_unsure = tuple(each for each in self.food_off if each.word not in _OVER)
        self.food_normal = tuple(each for each in food if each.word == NORMAL)
        self.most = _MOST

    @property
    def noticed(self) -> tuple[str, ...]:
        """What follows from what was wrong, each thing once."""
        lines = (line for worded in self.wrong[:_MOST] for line in worded.noticed)
        return tuple(dict.fromkeys(lines))[:_MOST]

    @property
    def leak(self) -> bool:
        """Whether anything that was found speaks of lost refrigerant."""
        return any(
            worded.finding.cause.urgency == "leak" for worded in (*self.wrong, *self.attention)
        )

    @property
    def watch(self) -> dict[str, tuple[str, ...]]:
        """What the store can watch and where ('' for the job's own subject), open things first."""
        lines: dict[str, dict[str, None]] = {}
        for worded in (*self.attention, *self.put_right):
            if line := self._plain.watch(worded.finding.cause):
                lines.setdefault(line, {})[worded.where] = None
        return {line: tuple(places) for line, places in lines.items()}

    def _in_plain_words(
        self, found: Iterable[tuple[Part, Finding, str]]
    ) -> tuple[PlainFinding, ...]:
        made = [
            PlainFinding(
                self._plain.says(finding.cause),
                finding,
                f"{part.subject.id}, {part.subject.title}" if part.member else "",
                standing,
                tuple(self._plain.says(effect.cause) for effect in finding.effects),
            )
            for part, finding, standing in found
        ]
        return tuple(sorted(made, key=lambda worded: URGENCY.index(worded.finding.cause.urgency)))


def _rival(part: Part, finding: Finding) -> bool:
    """Whether it is only thought of beside something surer: of the least word, while another
    finding on the same part has a stronger one. A store is not told that it has it; of what may
    hurt or leak it is told all the same."""
    scale = part.rulebase.certainty
    least = scale.say(scale.threshold)
    if finding.words != least or finding.cause.urgency in _ALWAYS_TOLD:
        return False
    stages = (stage for stage in (part.found, part.left) if stage is not None)
    beside = [each for stage in stages for each in stage.findings if finding in stage.findings]
    return any(each.words != least for each in beside)


def _food(parts: Iterable[Part]) -> Iterator[Food]:
    for part in parts:
        for name in report_roles().food:
            for stage in part.stages:
                if name not in {reading.quantity for reading in stage.measured}:
                    continue
                known, limit = stage.evaluation.known[name], part.limits.get(name)
                yield Food(
                    first_up(known.quantity.title),
                    value_text(known.value, part.system, plus_minus=False),
                    word_of(stage.evaluation.states[name]) if limit else "",
                    band_text(limit, known.quantity, part.system) if limit else "",
                    part.subject.id if part.member else "",
                    f"{AS_LEFT if stage.left else AS_FOUND}" if part.left else "",
                )
