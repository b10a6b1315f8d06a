"""The causes that are still to be told apart, and what each counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from expert.inference.evaluation_model import Finding, each_finding
from expert.inference.influences import Influences
from expert.knowledge.model import Cause
from expert.knowledge.plants import may_apply
from expert.knowledge.site import Subject
from expert.made_when_used import dataclass

# How much more a cause counts beside one for which nothing speaks (own choices).
_MET = {"often": 2.0, "sometimes": 1.0, "seldom": 0.35}  # as a cause is met in the field
_EXPLAINS = 40.0  # where it explains all that is odd; of less, its share as a power
_BEHIND = 4.0  # where it could be behind a symptom that was found
_DENIED = 0.15  # for each state that must follow from it and is otherwise
_UNSEEN = 0.6  # for each state that may follow from it and is normal,
_AT_MOST = 2  # of which so many count
_NOT_KNOWN = 0.25  # where it is not known what it does to the plant
_OTHERWISE = 0.5  # of what states and symptoms say, as a power, where a likeness says it too
_SURE_TWICE = 2  # what is found counts by so many powers of what is left to doubt (own choice)
_SUREST = 0.95  # beyond this no finding counts for more
_ELSEWHERE = 0.08  # where it is of a part of the plant that the call is hardly about
_NOT_COMPLAINED_OF = 0.2  # where it would not bring what is complained of
_NONE = 0.08  # the share left for a cause that is none of them


@dataclass(frozen=True)
class CalledAbout:
    """What a call is about: the plant, kinds of subject and parts of it, all where empty.

    `states` are those of the plant that the complaint itself tells of, 1 high and -1 low.
    """

    plant: Subject | None = None
    subjects: tuple[str, ...] = ()
    systems: tuple[str, ...] = ()
    states: tuple[tuple[str, int], ...] = ()

    def may_be(self, cause: Cause) -> bool:
        """Whether it may be about a cause: one of its subjects, and one this plant can have."""
        if self.subjects and cause.subject not in self.subjects:
            return False
        return self.plant is None or may_apply(cause.applies, self.plant)


def open_causes(
    findings: tuple[Finding, ...],
    influences: Influences,
    against: Mapping[str, float],
    findable: Iterable[str],
    call: CalledAbout,
) -> dict[str, float]:
    """The causes to be told apart, with what each counts beside the others.

    Found causes, and all others that some reading could still find (`findable`) and that the call
    may be about. `against` is what rules took from causes (0 to 1).
    """
    could = set(findable)
    found = {
        each.cause.id: each.certainty for each in each_finding(findings) if not each.cause.symptom
    }
    symptoms = [each.cause for each in each_finding(findings) if each.cause.symptom]
    # a state that was read is not what the store says any more; left open, it is
    told = {name: sense for name, sense in call.states if name not in influences.seen}
    looks = influences.resemblance.times_as_likely(influences.facts)
    counted: dict[str, float] = {}
    for cause in influences.rulebase.causes.values():
        if cause.symptom or (cause.id not in could and cause.id not in found):
            continue
        if cause.id not in found and not (call.may_be(cause) and influences.can_be(cause)):
            continue
        certain = min(found.get(cause.id, 0.0), _SUREST)
        counts = _fits(cause, symptoms, influences)
        if cause.id in looks:
            counts = counts**_OTHERWISE * looks[cause.id]
        counts *= 1 - against.get(cause.id, 0.0)
        counts *= _MET[cause.met]
        if call.systems and cause.system not in call.systems and cause.id not in found:
            counts *= _ELSEWHERE
        if told and cause.id not in found and not _brings(cause, told, influences):
            counts *= _NOT_COMPLAINED_OF
        counted[cause.id] = counts / (1 - certain) ** _SURE_TWICE
    return counted


def _brings(cause: Cause, told: Mapping[str, int], influences: Influences) -> bool:
    """Whether a cause may bring one of the states that are complained of."""
    return any(
        name in way and way[name].sense in (sense, 0)
        for way in influences.ways(cause) for name, sense in told.items()
    )  # fmt: skip


def _fits(cause: Cause, symptoms: Iterable[Cause], influences: Influences) -> float:
    """What a cause counts by the states of the plant and the symptoms found."""
    behind = any(s.id in cause.leads_to or influences.brings(cause, s) for s in symptoms)
    cover = influences.cover(cause)
    counts = _NOT_KNOWN
    if cover is not None:
        odd = len(cover.explains) + len(cover.leaves) + len(cover.doubtful)
        counts = _EXPLAINS ** (cover.nearness / odd) if odd else 1.0
        counts *= _DENIED ** (len(cover.against) + 0.5 * len(cover.doubtful))
        counts *= _UNSEEN ** min(len(cover.unseen), _AT_MOST)  # what follows from one is one fact
    return max(counts, _BEHIND * counts if behind else 0.0)


def shares(counted: Mapping[str, float]) -> dict[str, float]:
    """The counts as shares of one; a share is left for none of them."""
    total = sum(counted.values())
    return {name: (1 - _NONE) * count / total for name, count in counted.items()}
