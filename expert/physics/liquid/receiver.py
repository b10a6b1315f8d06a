"""How much of a receiver is full at a level: geometry only.

Horizontal or vertical cylinders with flat or 2:1 elliptical heads. Circular segments and half
ellipsoids of depth D/4, textbook geometry; the pair of heads of a horizontal receiver holds
pi h^2 (3 D - 2 h) / 12.

Sources: geometry of the circular segment and the ellipsoid (textbook).
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from math import asin, pi, sin, sqrt

from expert.made_when_used import dataclass
from expert.physics.frame.bisection import rising_root
from expert.physics.frame.formula import Also, Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import Kind

SMALLEST, LARGEST = 0.01, 30.0  # m, wider than any receiver


class Position(StrEnum):
    """How the receiver lies."""

    HORIZONTAL = "horizontal"
    VERTICAL = "vertical"


class Heads(StrEnum):
    """Shape of its ends."""

    FLAT = "flat"
    ELLIPTICAL = "elliptical"  # 2:1, each a quarter of the diameter deep


@dataclass(frozen=True)
class Receiver:
    """A cylinder of inside diameter [m] and straight length without heads [m].

    Raises `OutOfRange` for a size that no receiver has.
    """

    position: Position
    heads: Heads
    diameter: float
    length: float

    def __post_init__(self) -> None:
        for what, size in (("inside diameter", self.diameter), ("straight length", self.length)):
            if not SMALLEST <= size <= LARGEST:
                raise OutOfRange(
                    f"The {what} of the receiver", size, SMALLEST, LARGEST, Kind.LENGTH
                )

    @property
    def head_depth(self) -> float:
        """Depth of one head [m]."""
        return self.diameter / 4 if self.heads is Heads.ELLIPTICAL else 0.0

    @property
    def height(self) -> float:
        """Inside height from the lowest to the highest point [m]."""
        if self.position is Position.HORIZONTAL:
            return self.diameter
        return self.length + 2 * self.head_depth

    @property
    def volume(self) -> float:
        """Whole inside volume [m3]."""
        radius = self.diameter / 2
        return pi * radius**2 * (self.length + 4 / 3 * self.head_depth)

    def volume_below(self, level: float) -> float:
        """Volume [m3] below a level [m above the lowest inside point]. Raises `OutOfRange`."""
        if not 0 <= level <= self.height:
            raise OutOfRange(
                "The liquid level",
                level,
                0.0,
                self.height,
                Kind.LENGTH,
                "it is measured from the lowest inside point",
            )
        if self.position is Position.HORIZONTAL:
            return min(self._below_horizontal(level), self.volume)
        if level > self.height / 2:
            return self.volume - self._below_vertical(self.height - level)
        return self._below_vertical(level)

    def level_of(self, volume: float) -> float:
        """Level [m above the lowest inside point] of a liquid volume [m3]. Raises `OutOfRange`."""
        if not 0 <= volume <= self.volume:
            raise OutOfRange(
                "The liquid volume",
                volume,
                0.0,
                self.volume,
                Kind.VOLUME,
                "the receiver holds no more",
            )
        return rising_root(lambda level: self.volume_below(level) - volume, 0.0, self.height)

    def volume_at(self, share: float) -> float:
        """Volume [m3] below a level given as a share of the inside height. Raises `OutOfRange`."""
        if not 0 <= share <= 1:
            raise OutOfRange("The liquid level", share, 0.0, 1.0, Kind.SHARE)
        return self.volume_below(share * self.height)

    def _below_horizontal(self, level: float) -> float:
        half_angle = 2 * asin(sqrt(level / self.diameter))
        segment = max(0.0, half_angle - sin(2 * half_angle) / 2) * self.diameter**2 / 4
        heads = pi * level**2 * (3 * self.diameter - 2 * level) / 12 if self.head_depth else 0.0
        return segment * self.length + heads

    def _below_vertical(self, level: float) -> float:
        radius, depth = self.diameter / 2, self.head_depth
        if level >= depth:
            return pi * radius**2 * (2 / 3 * depth + level - depth)
        return pi * (radius / depth) ** 2 * level**2 * (3 * depth - level) / 3


SIZES = {
    "position": Kind.CHOICE,
    "heads": Kind.CHOICE,
    "diameter": Kind.LENGTH,
    "length": Kind.LENGTH,
}
CHOICES = {
    "position": tuple(position.value for position in Position),
    "heads": tuple(heads.value for heads in Heads),
}
USUAL = {"diameter": ("in", "mm"), "length": ("in", "mm")}
SOURCE = "computed: geometry of the circular segment and the ellipsoid"
VALIDITY = "inside sizes; length is the straight shell without heads; heads flat or 2:1 elliptical"


def receiver(position: str, heads: str, diameter: float, length: float) -> Receiver:
    """A receiver from plain words. Raises `PhysicsError`, `OutOfRange`."""
    for word, known in ((position, CHOICES["position"]), (heads, CHOICES["heads"])):
        if word not in known:
            raise PhysicsError(f"'{word}' is not one of: {', '.join(known)}.")
    return Receiver(Position(position), Heads(heads), diameter, length)


def level_of_height(sizes: Mapping[str, float | str], height: float) -> float:
    """The level [share of the inside height] of liquid that stands at a height [m]."""
    words = (str(sizes["position"]), str(sizes["heads"]))
    vessel = receiver(*words, float(sizes["diameter"]), float(sizes["length"]))
    if not 0 <= height <= vessel.height:
        raise OutOfRange("The liquid level", height, 0.0, vessel.height, Kind.LENGTH)
    return height / vessel.height


AS_HEIGHT = Also(Kind.LENGTH, level_of_height)


def _volume(context: Context, position: str, heads: str, diameter: float, length: float) -> float:
    return receiver(position, heads, diameter, length).volume


def _volume_share(
    context: Context, position: str, heads: str, diameter: float, length: float, level: float
) -> float:
    vessel = receiver(position, heads, diameter, length)
    return vessel.volume_at(level) / vessel.volume


def _level_height(
    context: Context, position: str, heads: str, diameter: float, length: float, share: float
) -> float:
    vessel = receiver(position, heads, diameter, length)
    return _level(context, position, heads, diameter, length, share) * vessel.height


def _level(
    context: Context, position: str, heads: str, diameter: float, length: float, share: float
) -> float:
    vessel = receiver(position, heads, diameter, length)
    if not 0 <= share <= 1:
        raise OutOfRange("The liquid volume", share, 0.0, 1.0, Kind.SHARE)
    return vessel.level_of(share * vessel.volume) / vessel.height


FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="receiver_volume",
        title="inside volume of the receiver",
        inputs=SIZES,
        output=Kind.VOLUME,
        text="pi D^2 / 4 x (length + 4/3 x depth of one head); a 2:1 elliptical head is D/4 deep",
        source=SOURCE,
        compute=_volume,
        validity=VALIDITY,
        usual=USUAL,
        choices=CHOICES,
    ),
    Formula(
        name="receiver_volume_share",
        title="share of the receiver volume that is liquid at a level",
        inputs={**SIZES, "level": Kind.SHARE},
        usual=USUAL,
        also={"level": AS_HEIGHT},
        output=Kind.SHARE,
        text="volume below the level / whole volume; level per cent is not volume per cent",
        source=SOURCE,
        compute=_volume_share,
        validity=VALIDITY,
        choices=CHOICES,
    ),
    Formula(
        name="receiver_level",
        title="level at which a share of the receiver volume is liquid",
        inputs={**SIZES, "share": Kind.SHARE},
        output=Kind.SHARE,
        text="level / inside height at which the volume below it is the share",
        source=SOURCE,
        compute=_level,
        validity=VALIDITY,
        choices=CHOICES,
        usual=USUAL,
    ),
    Formula(
        name="receiver_level_height",
        title="height of the liquid at which a share of the receiver volume is liquid",
        inputs={**SIZES, "share": Kind.SHARE},
        output=Kind.LENGTH,
        text="inside height x level at which the volume below it is the share",
        source=SOURCE,
        compute=_level_height,
        validity=VALIDITY,
        choices=CHOICES,
        usual={**USUAL, "receiver_level_height": ("in", "mm")},
    ),
)
