"""What the texts of a step are about."""

from __future__ import annotations

from datetime import datetime

from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.terminal.layout import Layout


@dataclass(frozen=True)
class StepView:
    """What a text is about: a picture, the step that is asked, the time, and the screen."""

    picture: Picture
    active: Active
    now: datetime
    layout: Layout
