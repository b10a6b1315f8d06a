"""Where one stands to take a reading."""

from __future__ import annotations

MOTOR_ROOM, CASE, ROOF, DISPLAY, STORE = SPOTS = (
    "motor room", "case", "roof", "display", "store",
)  # fmt: skip
ROOMS = (MOTOR_ROOM, CASE, ROOF)  # between these one walks


def usual_spot(subject: str) -> str:
    """Where what belongs to a kind of subject is read, unless its quantity says otherwise."""
    return CASE if subject in ("circuit", "case") else MOTOR_ROOM
