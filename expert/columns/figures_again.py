"""What jobs were told beside what a rulebase says of them now, and what it says where it is known
how that turned out: counts alone, added up job by job."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from expert.columns.known_values import Became, ToldThen
from expert.columns.stage_verdict import JudgedCause, StageVerdict, on_member
from expert.procedure.world import AS_FOUND, AS_LEFT

Worded = tuple[str, str]  # a cause and the word of its certainty


def worded(found: Iterable[JudgedCause]) -> set[Worded]:
    """What a report tells of what was found: not what stands under another cause."""
    return {(each.cause, each.words) for each in found if not each.under}


@dataclass
class CauseAgain:
    """Of how many outcomes it was this cause, in how many of these it had been told, is found now,
    is the first now; in how many something was measured again, and it is not found then. And how
    many say that it was told and was not so, and in how many of these it is still found."""

    it_was: int = 0
    told_then: int = 0
    found_now: int = 0
    first_now: int = 0
    measured: int = 0
    gone: int = 0
    not_so: int = 0
    still_found: int = 0


@dataclass
class FiguresAgain:
    """The counts of some jobs; `told` and `now` only of jobs that hold what they were told."""

    jobs: int = 0
    told: Counter[Worded] = field(default_factory=Counter)
    now: Counter[Worded] = field(default_factory=Counter)
    causes: dict[str, CauseAgain] = field(default_factory=lambda: defaultdict(CauseAgain))

    def outcome(
        self, became: Became, found: Sequence[str], left: Sequence[str] | None, count: int = 1
    ) -> None:
        """Count an outcome. `found` are the causes that are found now as found, in their order;
        `left` those as left, None where nothing was measured again."""
        if became.actual:
            cause = self.causes[became.actual]
            cause.it_was += count
            cause.told_then += count * (became.told == became.actual)
            cause.found_now += count * (became.actual in found)
            cause.first_now += count * (became.actual in found[:1])
            if left is not None:
                cause.measured += count
                cause.gone += count * (became.actual not in left)
        if became.told and became.told != became.actual:
            cause = self.causes[became.told]
            cause.not_so += count
            cause.still_found += count * (became.told in found)

    def job(
        self, subject: str, verdicts: Iterable[StageVerdict], told: Iterable[ToldThen] | None,
        became: Iterable[Became], answered: Iterable[str],
    ) -> None:  # fmt: skip
        """Count a job that was judged from its entries; of outcomes those of some answers."""
        by_stage: Mapping[str, StageVerdict] = {each.stage: each for each in verdicts}
        self.jobs += 1
        if told is not None:
            self.told.update({(each.cause, each.words) for each in told})
            as_found = (each for stage, each in by_stage.items() if stage.startswith(AS_FOUND))
            self.now.update(set[Worded]().union(*(worded(each.found) for each in as_found)))
        for each in became:
            if each.answer in set(answered):
                stages = (AS_FOUND, AS_LEFT)
                if each.subject != subject:
                    stages = (on_member(AS_FOUND, each.subject), on_member(AS_LEFT, each.subject))
                found, left = map(by_stage.get, stages)
                self.outcome(
                    each, [f.cause for f in found.found] if found else (),
                    [f.cause for f in left.found] if left else None,
                )  # fmt: skip
