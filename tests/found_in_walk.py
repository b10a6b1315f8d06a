"""What a walk comes to, for tests that walk it in more ways than one."""

from __future__ import annotations

from expert.procedure.session import Session


def found(session: Session) -> object:
    """Findings of each stage and member, with their words and reasons."""
    runner, picture = session.runner, session.picture
    stages = ("as found", "as left") if picture.adjustments else ("as found",)
    return [
        [(each.cause.id, each.words, each.because) for each in session.evaluation(stage).findings]
        + [
            (member.id, each.cause.id, each.words)
            for member, findings in runner.found_on_members(picture, stage)
            for each in findings
        ]
        for stage in stages
    ]
