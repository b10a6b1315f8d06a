"""What a call is about, and what nobody reads on it now."""

from __future__ import annotations

from collections.abc import Mapping

from expert.inference.evaluation_model import Known
from expert.inference.open_causes import CalledAbout
from expert.inference.truth import Facts
from expert.knowledge.conditions import Is, quantities_in
from expert.knowledge.influence_model import COMPLAINT, MODE, NOBODY
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject

# Where nobody complained a subject is looked at with what belongs to it.
WITH = {"rack": ("rack", "compressor", "site"), "circuit": ("circuit", "case")}


def what_it_is_about(rulebase: Rulebase, subject: Subject, facts: Facts) -> CalledAbout:
    """What the call is about: by its complaint, else by what is looked at."""
    complaints = rulebase.complaints.values()
    said = facts.known.get(COMPLAINT)
    about = next((each for each in complaints if said and each.says == said.value), None)
    if about is None or not about.subjects:
        looked_at = (
            each for each in complaints
            if each.or_when and all(facts.holds(one) is True for one in each.or_when)
        )  # fmt: skip
        about = next(looked_at, about)
    subjects = about.subjects if about else ()
    return CalledAbout(
        subject,
        subjects or WITH.get(subject.kind, ()),
        about.systems if about else (),
        _states_of(str(said.value), rulebase) if said else (),
    )


def _states_of(said: str, rulebase: Rulebase) -> tuple[tuple[str, int], ...]:
    """The states that a complaint alone would tell of."""
    told = Is(COMPLAINT, said)
    return tuple(
        (state.id, sense)
        for state in rulebase.plant_states.values()
        for way in state.seen_in
        for conditions, sense in ((way.high, 1), (way.low, -1))
        if any(isinstance(each, Is) and str(each) == str(told) for each in conditions)
    )


def not_now(rulebase: Rulebase, subject: Subject, known: Mapping[str, Known]) -> frozenset[str]:
    """The readings that cannot be taken in what the circuit does now, or that nobody goes for.

    Nobody starts a defrost to read something unless the call is about one, or walks to the cases of
    a rack of which nobody complained.
    """
    said = str(known[COMPLAINT].value) if COMPLAINT in known else ""
    mode = str(known[MODE].value) if MODE in known else ""
    other = {"cooling": "defrost", "in defrost": "cooling"}.get(mode, "")
    if not mode and not _about_defrost(rulebase, said):
        other = "defrost"
    elsewhere = ("circuit", "case") if subject.kind == "rack" and said == NOBODY else ()
    return frozenset(
        each.id for each in rulebase.quantities.values()
        if (other and each.during == other) or each.subject in elsewhere
    )  # fmt: skip


def _about_defrost(rulebase: Rulebase, said: str) -> bool:
    """Whether a complaint is one that a circuit in defrost is looked at for, too."""
    return any(
        each.says == said and any(MODE in quantities_in(condition) for condition in each.or_when)
        for each in rulebase.complaints.values()
    )
