"""Which known numbers could not be held against a limit, and why."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from expert.inference.evaluation_model import Known, Missing, State
from expert.inference.sentences import Speaker
from expert.knowledge.model import Quantity, Rulebase
from expert.knowledge.site import Subject


def not_judged(
    states: Mapping[str, State], known: Mapping[str, Known], speaker: Speaker, subject: Subject
) -> tuple[Missing, ...]:
    """Known numbers that could not be held against a limit, and why."""
    rulebase = speaker.rulebase
    limited = {limit.quantity for limit in rulebase.limits}
    found = []
    for name, state in states.items():
        title = rulebase.quantities[name].title
        if state.word == "too close to call":
            why = f"{speaker.plain(name)} lies within its own uncertainty of a limit"
            found.append(Missing(title, why, name))
        elif state.word == "cannot judge":
            limit = state.limit
            assert limit is not None
            reasons = [c for c in limit.cannot_judge_when if str(c) == state.why]
            found.append(Missing(title, speaker.condition(reasons[0]), name))
        elif state.word == "unknown" and name in limited and not known[name].quantity.is_choice:
            found.append(Missing(title, _which_facts(name, speaker.rulebase, subject), name))
    return tuple(found)


def lacking_here(
    missing: tuple[Missing, ...], known: Collection[str], foreign: Collection[str],
    quantities: Mapping[str, Quantity],
) -> tuple[Missing, ...]:  # fmt: skip
    """What could not be computed, without that which hangs on something the plant does not have.

    `foreign` are the quantities that it does not have; one that was read all the same counts.
    """

    def never(name: str) -> bool:
        if name in known:
            return False
        derivation = quantities[name].derivation
        inputs = derivation.inputs.values() if derivation else ()
        return name in foreign or any(
            never(each.quantity) and (not each.nearer or never(each.nearer)) for each in inputs
        )

    return tuple(each for each in missing if not never(each.quantity))


def _which_facts(name: str, rulebase: Rulebase, subject: Subject) -> str:
    wanted = [limit.applies for limit in rulebase.limits if limit.quantity == name]
    lacking = sorted({key for applies in wanted for key in applies} - set(subject.facts))
    if lacking:
        return f"its limit depends on: {', '.join(lacking)}; not given"
    return "no limit for this application"
