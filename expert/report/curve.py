"""The picture of a watched series: timed phases above, then a panel for each kind of reading."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from expert.inference.sentences import first_up, value_text
from expert.report.series import SHOWN, Span, Track, Watched
from expert.report.stages import BOTH
from expert.report.svg import BAND, DASHES, GREY, MARKS, Drawing, Figure, ticks, wide
from expert.units.kinds import Kind, unit_for
from expert.units.measure import Measure, number_text

_LEFT, _RIGHT = 34.0, 322.0
_PANEL, _ROW, _LEGEND = 130.0, 26.0, 15.0


def curve(one: Watched, title: str, system: str, key: str) -> Figure:
    """A watch as a figure, with its samples and single readings as the table beside it."""
    drawing = _CurvePicture(one, system).drawn()
    text = _told(one, system)
    return Figure(
        title, text, drawing.svg(key, title, text), *_table(one, system), _remarks(one, system)
    )


def _remarks(one: Watched, system: str) -> tuple[str, ...]:
    minutes = "Minutes count from the start of the clock of this watch."
    named = "; ".join(
        f"{track.quantity.title} {_value(track, value, system)} at minute {number_text(minute, 0)}"
        for track in one.tracks
        if track.single
        for minute, value in track.points
    )
    if not named:
        return (minutes,)
    return (f"{minutes} Marks without a line are single readings, at the time of entry: {named}.",)


def _told(one: Watched, system: str) -> str:
    """The picture in words: the phases, then each line with its first, highest and last value."""
    parts = [
        f"{span.title}: {number_text(span.length, 1)} min, from minute {number_text(span.start, 0)}"
        for span in one.spans
    ]
    for track in one.tracks:
        values = [value for _, value in track.points]
        name = first_up(track.quantity.title)
        if len(values) == 1:
            parts.append(f"{name}: {_value(track, values[0], system)}")
        else:
            first, low, high, last = (
                _value(track, each, system)
                for each in (values[0], min(values), max(values), values[-1])
            )
            parts.append(f"{name}: from {first} to {last}, lowest {low}, highest {high}")
    parts += [f"Seen at minute {number_text(turn.minute, 0)}: {turn.word}" for turn in one.turns]
    return ". ".join(parts) + "."


def _value(track: Track, value: float, system: str) -> str:
    return value_text(Measure(track.quantity.kind, value), system)


def _table(one: Watched, system: str) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    tracks = [track for track in one.tracks if not track.single]
    minutes = {minute for track in tracks for minute, _ in track.points}
    minutes |= {turn.minute for turn in one.turns}
    seen = {turn.minute: turn.word for turn in one.turns}
    rows = []
    for minute in sorted(minutes):
        cells = [dict(track.points).get(minute) for track in tracks]
        texts = [
            "" if cell is None else _value(track, cell, system)
            for track, cell in zip(tracks, cells, strict=True)
        ]
        rows.append((number_text(minute, 1), *texts, seen.get(minute, "")))
    heads = ("Minute", *(first_up(track.quantity.title) for track in tracks), "Seen")
    used = [i for i in range(len(heads)) if any(row[i] for row in rows)]
    return tuple(heads[i] for i in used), tuple(tuple(row[i] for i in used) for row in rows)


@dataclass
class _CurvePicture:
    """Lays out the picture from top to bottom."""

    watched: Watched
    system: str

    def drawn(self) -> Drawing:
        """The whole picture."""
        one = self.watched
        panels = [
            (kind, tracks)
            for kind in SHOWN
            if (tracks := [track for track in one.tracks if track.quantity.kind is kind])
        ]
        height = len(one.spans) * _ROW + 8
        height += sum(len(tracks) * _LEGEND + _PANEL + 26 for _, tracks in panels) + 22
        drawing = Drawing(height + (_LEGEND if one.turns else 0))
        self.low, self.high = self._ends()
        y = self._phases(drawing, one.spans, 4.0)
        for kind, tracks in panels:
            y = self._panel(drawing, kind, tracks, y)
        for minute in ticks(self.low, self.high, 7):
            drawing.words(self._x(minute), y + 2, f"{minute:g}", "middle", size=10)
        drawing.words((_LEFT + _RIGHT) / 2, y + 16, "minutes", "middle", size=10)
        if one.turns:
            named = "; ".join(f"V at {turn.minute:.0f} min: {turn.word}" for turn in one.turns)
            drawing.words(4, y + 16 + _LEGEND, named, size=10)
        return drawing

    def _ends(self) -> tuple[float, float]:
        ends = [minute for track in self.watched.tracks for minute, _ in track.points]
        ends += [end for s in self.watched.spans for end in (s.start, s.start + s.length)]
        return min(ends), max(max(ends), min(ends) + 1.0)

    def _x(self, minute: float) -> float:
        return _LEFT + (minute - self.low) / (self.high - self.low) * (_RIGHT - _LEFT)

    def _phases(self, drawing: Drawing, spans: Iterable[Span], y: float) -> float:
        for span in spans:
            text = f"{span.title}, {number_text(span.length, 1).removesuffix('.0')} min"
            start, end = self._x(span.start), self._x(span.start + span.length)
            x = min(start, 356 - wide(text, 10))
            drawing.words(max(x, 4.0), y + 9, text, size=10)
            drawing.box(start, y + 12, max(end - start, 1.5), 9, fill=BAND, stroke=GREY)
            y += _ROW
        return y + 8

    def _panel(self, drawing: Drawing, kind: Kind, tracks: list[Track], y: float) -> float:
        looks = [
            (MARKS[n % len(MARKS)], DASHES[n % len(DASHES)], track)
            for n, track in enumerate(tracks)
        ]
        for shape, dash, track in looks:
            if not track.single:
                drawing.line(4, y + 6, 30, y + 6, **_line(dash))
            drawing.mark(shape, 17, y + 6, hollow=track.single)
            drawing.words(36, y + 10, first_up(track.quantity.title))
            y += _LEGEND
        top, bottom = y + 18, y + 18 + _PANEL - 18
        values = [value for track in tracks for _, value in track.points]
        room = (max(values) - min(values)) * 0.06 or 1.0
        low, high = min(values) - room, max(values) + room

        def at(value: float) -> float:
            return bottom - (value - low) / (high - low) * (bottom - top)

        drawing.box(_LEFT, top, _RIGHT - _LEFT, bottom - top, stroke=GREY)
        self._scale(drawing, kind, low, high, top, bottom)
        for turn in self.watched.turns:
            x = self._x(turn.minute)
            drawing.line(x, top, x, bottom, stroke=GREY, stroke_dasharray="2 2")
            drawing.words(x, top - 3, "V", "middle", size=9)
        for shape, dash, track in looks:
            points = [(self._x(minute), at(value)) for minute, value in track.points]
            if not track.single:
                drawing.curve(points, **_line(dash))
            for x, height in points:
                drawing.mark(shape, x, height, hollow=track.single, r=3.0)
        return bottom + 14

    def _scale(
        self, drawing: Drawing, kind: Kind, low: float, high: float, top: float, bottom: float
    ) -> None:
        """Numbers left in the first unit system, right in the other where both are wanted."""
        systems = ("us", "si") if self.system == BOTH else (self.system,)
        for side, system in enumerate(systems):
            unit = unit_for(kind, system)
            x, anchor = ((_LEFT - 4, "end"), (_RIGHT + 4, "start"))[side]
            for tick in ticks(unit.from_si(low), unit.from_si(high), 5):
                y = bottom - (unit.to_si(tick) - low) / (high - low) * (bottom - top)
                if not side:
                    drawing.line(_LEFT, y, _RIGHT, y, stroke="#ccc")
                drawing.words(x, y + 3.5, f"{tick:g}", anchor, size=10)
            place = (2.0, "start") if not side else (358.0, "end")
            drawing.words(place[0], top - 6, unit.name, place[1], size=10, bold=True)


def _line(dash: str) -> dict[str, str]:
    more = {"stroke_dasharray": dash} if dash else {}
    return {"stroke_width": "1.6", **more}
