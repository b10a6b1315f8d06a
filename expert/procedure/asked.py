"""What was asked, in a form that an entry holds: an answer belongs to it, not to the step's id.

A revised checklist may put another caution or quantity at the same id; it does not inherit the
answer that was given to the one before.
"""

from __future__ import annotations

import hashlib

from expert.knowledge.hazard_model import Caution
from expert.knowledge.judge import in_words
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import MEASURING, Step
from expert.procedure.entries import Entry
from expert.units.kinds import Kind

# The entries that can close a step of a type; of any other type, also 'done' and 'skip'.
_KINDS = {
    "caution": ("acknowledge",),
    "clock": ("clock", "skip"),
    "adjust": ("adjust", "skip"),
    "sign": ("sign",),
    "restore": ("done", "skip"),
    "stop": ("leave",),
    "members": ("choose", "skip"),
    "open": ("open",),
    "close": ("close",),
    "member": ("skip",),
    "watch": ("answer", "skip"),
    **dict.fromkeys(MEASURING, ("answer", "skip")),
}
_OTHER = ("done", "skip")


def words_hash(*texts: str) -> str:
    """Twelve hexadecimal digits that change with the words, not with their spacing."""
    joined = "\n".join(" ".join(text.split()) for text in texts)
    return hashlib.sha256(joined.encode()).hexdigest()[:12]


def asked(step: Step, quantity: str, rulebase: Rulebase) -> str:
    """What a step asks: a caution with its words, a quantity, words that protect, or its type."""
    if quantity:
        return f"quantity {quantity}"
    if step.type == "caution":
        return _caution(rulebase.cautions[step.text])
    if step.type == "restore":
        return f"restore {step.text}"
    if step.type == "stop" or step.protects:
        return f"{step.type} {words_hash(step.text)}"
    return step.type


def _caution(caution: Caution) -> str:
    return f"caution {caution.id} {words_hash(caution.title, *caution.say, caution.ask)}"


def has_value(entry: Entry, name: str, rulebase: Rulebase) -> bool:
    """Whether an answer holds a value of a quantity, of the kind that it is now."""
    quantity = rulebase.quantities.get(name)
    if quantity is None or entry.text("quantity") != name:
        return False
    value = entry.data["value"]
    if quantity.is_choice or quantity.kind is Kind.TEXT:
        return isinstance(value, str)
    if isinstance(value, str):
        return bool(in_words(value))
    return entry.text("kind") == quantity.kind.value


def answers(entry: Entry, step: Step, quantity: str, rulebase: Rulebase, *, same: bool) -> bool:
    """Whether an entry is an answer to what a step asks now.

    `same` says that checklist and rulebase are those the job was begun with. It decides for a
    caution in an entry from before entries held what was asked, for its words are not known.
    """
    if entry.kind not in _KINDS.get(step.type, _OTHER):
        return False
    if entry.kind == "answer" and not has_value(entry, quantity, rulebase):
        return False
    if entry.text("asked"):
        return entry.text("asked") == asked(step, quantity, rulebase)
    if step.type == "caution":
        return same and entry.text("caution") == step.text
    if quantity and entry.kind == "answer":
        return entry.text("quantity") == quantity
    if step.type == "restore" and entry.kind == "done":
        return entry.text("restored") == step.text
    return True
