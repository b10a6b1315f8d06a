"""Where a watched defrost stands: before it, gas on, its end, and after; and what to wait for."""

from __future__ import annotations

from math import ceil

from expert.errors import ReadingError
from expert.plant.live import LivePlant
from expert.plant.read_defrost import AFTER, END, REST, RUNNING
from expert.practice.setting_model import COOLING, GAS_OFF, GAS_ON

READ_WITHIN = 20.0  # minutes after its end in which that is still read (own choice)
COIL = "coil_state"  # looked at all the time while gas is on, and at its end
TIMED = ("pump_down_time", "defrost_clearing_time")
RECOVERY = 15.0  # minutes after the fans start when recovery is read (own choice)


class DefrostClock:
    """Minutes of the exercise at which the defrost of the plant begins and goes on.

    A second one has to be asked for.
    """

    def __init__(self, plant: LivePlant) -> None:
        self._plant = plant
        self._moments = plant.moments()
        self.began: float | None = None

    @property
    def gas_on(self) -> float:
        """When gas came on [min of the exercise]."""
        assert self.began is not None
        return self.began + self._plant.times()[0] / 60

    @property
    def ends(self) -> float:
        """When gas goes off."""
        return self.gas_on + self._plant.length() / 60

    @property
    def over(self) -> float:
        """When the circuit cools again and recovery is read."""
        _, drip, delay = self._plant.times()
        return self.ends + (drip + delay) / 60 + RECOVERY

    def begin(self, now: float) -> None:
        """A defrost begins with its pump-down."""
        self.began = now

    def stop(self) -> None:
        """Something was changed; what is read next is of another defrost."""
        self.began = None

    def runs(self, now: float) -> bool:
        """Whether a defrost was begun and its recovery is not over."""
        return self.began is not None and now < self.over

    def gas_seconds(self, now: float) -> float:
        """Seconds since gas came on; within the defrost."""
        return min(max((now - self.gas_on) * 60, 0.0), self._plant.length())

    def waits(self, quantity: str) -> bool:
        """Whether a reading needs a defrost that was begun, and none was."""
        return self.began is None and self._moments.get(quantity, REST) != REST

    def at_rest(self, quantity: str) -> bool:
        """Whether a reading is one of the circuit at rest, before its defrost."""
        return self._moments.get(quantity) == REST

    def wait_for(self, quantity: str, now: float) -> float:
        """Minutes until a reading can be taken of the defrost that was begun.

        Raises ReadingError where its moment is over.
        """
        moment = self._moments.get(quantity)
        if moment is None:
            return 0.0
        if moment == REST:
            if self.began is None or now >= self.over:
                return 0.0
            left = ceil(self.over - now)
            raise ReadingError(
                f"That is read before the defrost. The circuit is at rest again in {left} min: "
                f"'wait {left} min'."
            )
        if quantity in TIMED:
            return max(self._at(quantity, self.ends) - now, 0.0)
        if quantity == COIL:
            return max(self.gas_on - now, 0.0)
        if moment == RUNNING:
            if now > self.ends:
                raise ReadingError(f"Gas is off. That is read while it is on; {_ANOTHER}")
            return max(self.gas_on - now, 0.0)
        if moment == END:
            if now > self.ends + READ_WITHIN:
                raise ReadingError(f"That is read when the defrost ends; {_ANOTHER}")
            return max(self.ends - now, 0.0)
        assert moment == AFTER
        return max(self._at(quantity, self.over) - now, 0.0)

    def until(self, moment: str, now: float) -> float:
        """Minutes until a moment of the defrost that was begun."""
        _, drip, _ = self._plant.times()
        at = {GAS_ON: self.gas_on, GAS_OFF: self.ends, COOLING: self.ends + drip / 60}
        return max(at.get(moment, now) - now, 0.0)

    def _at(self, quantity: str, else_at: float) -> float:
        """Minute of the exercise at which something can be read."""
        seconds = self._plant.instants().get(quantity)
        return else_at if seconds is None else self.gas_on + seconds / 60


_ANOTHER = "'defrost' begins another."
