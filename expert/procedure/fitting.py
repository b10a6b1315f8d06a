"""Whether a checklist is for a subject, in words."""

from __future__ import annotations

from expert.knowledge.plants import applies_to
from expert.knowledge.site import Subject
from expert.procedure.checklist import ANY, Checklist


def why_not(checklist: Checklist, subject: Subject) -> str:
    """Why a checklist is not for a subject, without a full stop; nothing where it is."""
    kinds = ("rack", "circuit") if checklist.subject == ANY else (checklist.subject,)
    if subject.kind not in kinds:
        return f"it is for a {checklist.subject}, and {subject.id} is a {subject.kind}"
    reasons = []
    for key, words in checklist.applies.items():
        if applies_to({key: words}, subject):
            continue
        have = subject.fact(key)
        what = key.replace("_", " ")
        says = f"{subject.id} is {have}" if have else f"the site file has none for {subject.id}"
        reasons.append(f"{what} must be {' or '.join(words)}, and {says}")
    for key, words in checklist.not_for.items():
        if applies_to({key: words}, subject):
            what, have = key.replace("_", " "), subject.fact(key) or ", ".join(words)
            reasons.append(f"it is not for {what} {have}")
    if reasons and checklist.made_for:
        reasons.append(f"it is for {checklist.made_for.removesuffix('.')}")
    return "; ".join(reasons)
