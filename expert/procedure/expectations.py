"""What is accepted at a step, in a sentence."""

from __future__ import annotations

from expert.procedure.active import Active
from expert.procedure.answering import Answering
from expert.procedure.closing import EXPECTED as HOW_IT_ENDS
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.open_items import EXPECTED as ON_OPEN_ITEM
from expert.procedure.open_items import TYPE as OPEN_ITEM
from expert.procedure.search import AT_END, ENOUGH
from expert.procedure.search import TYPE as SEARCH
from expert.procedure.stops import expected as at_stop

_ALWAYS = {OPEN_ITEM: ON_OPEN_ITEM, CLOSE: HOW_IT_ENDS, SEARCH: AT_END}


def expected(active: Active, answering: Answering) -> str:
    """A sentence that says what is accepted at a step."""
    if active.refused is not None:
        caution = answering.rulebase.cautions[active.refused.text("caution")]
        return (
            f"Not to be done: no was said to '{caution.title}'. Go back and answer it with yes "
            "when it is so; or s and what keeps people safe instead."
        )
    if active.step.type in _ALWAYS:
        return _ALWAYS[active.step.type]
    if active.step.type == "stop":
        return at_stop(active)
    found = answering.expected(active)
    if active.searched:
        return f"{found} Or name another reading; '{ENOUGH}' ends the search."
    return found
