"""What earlier jobs left, as lines: last readings, drift, open items, set points."""

from __future__ import annotations

from expert.inference.evaluation_model import Reading
from expert.inference.sentences import first_up, value_text
from expert.procedure.active import Active
from expert.procedure.history import Earlier, OpenItem, SetPoint, drift
from expert.procedure.open_items import EXPECTED
from expert.procedure.runner import Runner
from expert.terminal.layout import Layout
from expert.units.measure import Measure, difference_kind, format_measure


class Past:
    """Tells the history of a runner in its unit system."""

    def __init__(self, runner: Runner) -> None:
        self._runner = runner
        self._history = runner.history

    def opening(self, layout: Layout) -> list[str]:
        """What is in force beside the site file, and how much earlier jobs left open."""
        lines: list[str] = []
        for point in self._history.set_points:
            title = self._runner.rulebase.quantities[point.quantity].title
            file = f"the site file says {point.file}" if point.file else "the site file has none"
            lines += layout.named(
                "Set point",
                f"{title} of {point.subject} is {point.text}, set {_day(point)} by "
                f"{point.who or 'somebody'} in job {point.job} ({point.why}); {file}.",
            )
        for said in self._history.outcomes:
            told = f"{said.says} ({said.who or 'somebody'}, job {said.job})"
            lines += layout.named(f"Turned out {said.at.astimezone():%Y-%m-%d}", told)
        if count := len(self._history.open):
            message = "1 thing comes" if count == 1 else f"{count} things come"
            lines += layout.named("Left open", f"{message} first that earlier jobs left here.")
        if elsewhere := self._history.elsewhere:
            message = f"{elsewhere} more on other equipment; 'rackwalk jobs open' lists them."
            lines += layout.named("Elsewhere on this site", message)
        return lines

    def last(self, active: Active, layout: Layout) -> list[str]:
        """The last few readings of what a step asks, the newest first."""
        lines: list[str] = []
        for earlier in self._earlier(active):
            beside = "".join(
                f", {title} {format_measure(value, self._runner.system, plus_minus=False)}"
                for title, value in earlier.beside
            )
            value = value_text(earlier.value, self._runner.system, plus_minus=False)
            stage = f" {earlier.stage}" if earlier.stage else ""
            who = f", {earlier.who}" if earlier.who else ""
            lines += layout.named("Last" if not lines else "Before", (
                f"{_day(earlier)} {value}{self._by(earlier)}{stage}{who}{beside}"
            ), 0)  # fmt: skip
        return lines

    def drifted(self, active: Active, reading: Reading, layout: Layout) -> list[str]:
        """How far what should stay has drifted from the last time, and on what basis."""
        found = self._earlier(active)
        quantity = self._runner.rulebase.quantities.get(active.quantity)
        if not found or quantity is None or not quantity.stays:
            return []
        last, new = found[0], reading.value
        if isinstance(last.value, str):
            if last.value == new or not isinstance(new, str):
                return []
            return layout.named("Changed", f"it was '{last.value}' on {_day(last)}")
        far = drift(reading, last)
        if far is None:
            return []
        kind = difference_kind(last.value.kind)
        by, within = (
            format_measure(Measure(kind, abs(each)), self._runner.system)
            for each in (far.by, far.within)
        )
        message = (
            f"{by} {'more' if far.by > 0 else 'less'} than on {_day(last)}{self._by(last)}; the "
            f"accuracy of both instruments together explains {within}"
        )
        return layout.named("Drifted", message)

    def _by(self, earlier: Earlier) -> str:
        """How an earlier reading was taken, where that was said."""
        way = self._runner.rulebase.ways.get(earlier.way)
        return f" by {way.title if way else earlier.way}" if earlier.way else ""

    def _earlier(self, active: Active) -> tuple[Earlier, ...]:
        if active.sample or not active.quantity:
            return ()
        own = self._runner.rulebase.quantities.get(active.quantity)
        member = self._runner.members.get(active.subject)
        of_member = own is not None and member is not None and own.subject == member.kind
        key = active.subject if of_member else ""
        return self._history.readings.get((active.quantity, key), ())


def item_lines(item: OpenItem, layout: Layout) -> list[str]:
    """An open item as a question."""
    lines = layout.named(item.subject, first_up(item.text))
    if item.since is not None:
        who = f", {item.who}" if item.who else ""
        lines += layout.named("Open since", f"{item.since.astimezone():%Y-%m-%d}{who}")
        lines += layout.named("Last in job", item.job)
    return lines + layout.typed(EXPECTED)


def _day(of: Earlier | SetPoint) -> str:
    return f"{of.at.astimezone():%Y-%m-%d}"
