"""Which known numbers could not be held against a limit, and why."""

from __future__ import annotations

from collections.abc import Mapping

from expert.inference.evaluation_model import Known, Missing, State
from expert.inference.sentences import Speaker
from expert.knowledge.model import Rulebase
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


def _which_facts(name: str, rulebase: Rulebase, subject: Subject) -> str:
    wanted = [limit.applies for limit in rulebase.limits if limit.quantity == name]
    lacking = sorted({key for applies in wanted for key in applies} - set(subject.facts))
    if lacking:
        return f"its limit depends on: {', '.join(lacking)}; not given"
    return "no limit for this application"
