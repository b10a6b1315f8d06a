"""Words of a step or a remedy that give away which hazard it has, as the rulebase knows them.

The tests hold them against what is declared, so that a step that was written without thinking of
its hazard is found. They are wide on purpose; what they hit wrongly says so under `harmless`.
"""

from __future__ import annotations

from expert.knowledge.model import Rulebase
from expert.knowledge.telltales import found


def cautions_in(text: str, rulebase: Rulebase) -> set[str]:
    """The cautions that the words of a text call for."""
    return {word.telltale.caution for word in found(text, "", rulebase)}
