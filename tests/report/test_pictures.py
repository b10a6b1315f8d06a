"""The pictures of a report: what is drawn, where it stands, and what is left out."""

from __future__ import annotations

import re

import pytest
from report_jobs import DEMO, job, knowledge

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Limit, Quantity
from expert.knowledge.source import Source
from expert.physics.air.barometer import barometer
from expert.physics.fluids import single_phase
from expert.physics.fluids.dome import dome
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.physics_errors import PhysicsError
from expert.procedure.picture import fold
from expert.report.curve import curve
from expert.report.cycle_figure import cycle_figure
from expert.report.parts import Part
from expert.report.plain_words import plain
from expert.report.report_roles import PLACES, report_roles
from expert.report.series import watched
from expert.report.stages import StageWriter
from expert.report.strips import Stand, strip
from expert.report.svg import Drawing, Figure, ticks
from expert.units.kinds import Kind
from expert.units.measure import Measure
from expert.units.parse import parse_measure

SUCTION = {"suction_header_pressure_at_rest": "8 psig", "suction_header_temperature": "10 F"}
DISCHARGE = {"discharge_header_pressure_at_rest": "200 psig", "discharge_line_temperature": "170 F"}
LIQUID = {"liquid_header_pressure_at_rest": "195 psig", "liquid_line_temperature": "80 F"}


def words(svg: str) -> list[str]:
    return re.findall(r"<text[^>]*>(.*?)</text>", svg)


def numbered(svg: str) -> set[str]:
    """The numbers beside the points of a diagram."""
    return set(re.findall(r'font-weight="bold"[^>]*>(\d)</text>', svg))


def cycle(read: dict[str, str], refrigerant: str = "R-449A") -> Figure | None:
    """The diagram of a machine on the demo rack, at its altitude; numbers invented."""
    rulebase, checklists, _ = knowledge()
    text = (DEMO / "site.yaml").read_text(encoding="utf-8")
    text = text.replace("refrigerant: R-449A", f"refrigerant: {refrigerant}")
    site = parse_site(text, "site.yaml", rulebase)
    rack = site.subjects["A"]
    evaluator = Evaluator(rulebase, rack, members=site.members(rack), backend="plain")
    readings = tuple(
        Reading(
            name,
            parse_measure(typed, rulebase.quantities[name].kind),
            subject="AC1" if rulebase.quantities[name].subject == "compressor" else "",
        )
        for name, typed in read.items()
    )
    own = evaluator.member("AC1")
    checklist = checklists["preventive-maintenance-walk"]
    writer = StageWriter(checklist, rulebase, own.limits, "AC1")
    stage = writer.stage("as found", 0, readings, own.evaluate(readings))
    part = Part(site.subjects["AC1"], True, (stage,), rulebase, own.limits)
    return cycle_figure(part, stage, report_roles(), "both", "c")


def test_a_whole_cycle_is_drawn_with_the_enthalpy_of_its_places() -> None:
    figure = cycle(SUCTION | DISCHARGE | LIQUID)
    assert figure
    assert [row[0] for row in figure.rows] == ["1 suction gas", "2 discharge gas", "3 liquid"]
    air = barometer(5280 * 0.3048)
    suction = single_phase.gas("R-448A", air + 8 * 6894.757, (10 + 459.67) * 5 / 9)
    assert figure.rows[0][1] == "8.0 psig (0.55 bar)"
    assert f"({suction.enthalpy / 1000:.2f} kJ/kg)" in figure.rows[0][3]
    assert numbered(figure.svg) == {"1", "2", "3", "4"}
    assert {"psia", "bara"} <= set(words(figure.svg))
    assert not any("not drawn" in remark for remark in figure.remarks)


def test_a_place_that_was_not_read_is_named_and_not_drawn() -> None:
    figure = cycle(SUCTION | {"discharge_line_temperature": "170 F"} | LIQUID)
    assert figure
    assert numbered(figure.svg) == {"1", "3", "4"}
    assert any("not read: discharge pressure" in r for r in figure.remarks)
    without_liquid = cycle(SUCTION | DISCHARGE)
    assert without_liquid
    assert numbered(without_liquid.svg) == {"1", "2"}


def test_a_reading_that_cannot_be_all_gas_is_not_drawn_as_gas() -> None:
    figure = cycle(SUCTION | {"suction_header_temperature": "-50 F"} | DISCHARGE)
    assert figure
    assert any(r.startswith("Suction gas: not drawn.") and "dew" in r for r in figure.remarks)


def test_with_nothing_of_the_cycle_there_is_a_sentence_or_no_figure() -> None:
    alone = cycle({"discharge_line_temperature": "170 F"})
    assert alone
    assert alone.svg == ""
    assert "No diagram is drawn, since no point of it was read." in alone.remarks
    assert cycle(SUCTION) is None  # nothing of it was read on this machine


def test_the_dome_lies_on_the_saturation_lines() -> None:
    found, fluid = dome("R-449A", 2e5), saturation("R-449A")
    assert found.bubble[0][1] == pytest.approx(2e5)
    assert found.dew[-1][1] <= fluid.dew_pressure_range.high
    for (left, low), (right, high) in zip(found.bubble, found.dew, strict=True):
        assert low == high
        assert left < right
    enthalpy, pressure = found.dew[5]
    dew = single_phase.gas("R-449A", pressure, fluid.dew_temperature(pressure))
    assert dew.enthalpy == pytest.approx(enthalpy)
    with pytest.raises(PhysicsError):
        dome("R-449A", 1e9)


def place_of(svg: str, tag: str) -> float:
    """Where the first mark of a drawing stands across."""
    found = re.search(tag, svg)
    assert found, svg
    return float(found[1])


@pytest.mark.parametrize(("value", "word"), [(7.0, "low"), (16.0, "normal"), (24.0, "high")])
def test_a_mark_stands_in_the_band_that_its_word_names(value: float, word: str) -> None:
    quantity = Quantity("q", "drop", "rack", Kind.DURATION, Source("from memory"))
    limit = Limit("l", "q", Source("from memory"), low=14 * 60, high=18 * 60)
    stand = Stand("", Measure(Kind.DURATION, value * 60, 30), word)
    figure = strip(quantity, limit, (stand,), "both", "k")
    boxes = [
        (float(x), float(x) + float(width))
        for x, width in re.findall(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', figure.svg)
    ]
    x = place_of(figure.svg, r'<polygon points="([\d.]+),')  # the top of the diamond
    assert len(boxes) == 3
    low, high = boxes[["low", "normal", "high"].index(word)]
    assert low < x < high
    assert "normal" in words(figure.svg)
    assert f"{value:.1f} min" in figure.text
    assert "14.0 to 18.0 min" in figure.text


def test_a_limit_with_one_edge_has_two_bands() -> None:
    quantity = Quantity("q", "drop", "rack", Kind.DURATION, Source("from memory"))
    stand = (Stand("", Measure(Kind.DURATION, 600), "normal"),)
    least = Limit("l", "q", Source("from memory"), low=300)
    most = Limit("l", "q", Source("from memory"), high=900)
    assert words(strip(quantity, least, stand, "us", "k").svg)[:2] == ["low", "normal"]
    assert words(strip(quantity, most, stand, "us", "k").svg)[:2] == ["normal", "high"]


def test_a_watch_is_drawn_with_its_phases_and_its_table() -> None:
    entries, runner = job("low")
    found, left = watched(runner, fold(entries), report_roles().beside_a_series)
    titles = [span.title for span in found.spans]
    assert titles[0] == "Pump-down time"
    assert titles[-1] == "Recovery time"
    assert found.spans[0].length == 3
    assert found.spans[0].start < 0  # before the gas came on
    assert [turn.word for turn in left.turns] == ["clear"]
    figure = curve(found, "Title", "both", "k")
    assert [len(row) for row in figure.rows] == [len(figure.heads)] * 14
    assert figure.rows[0][1] == "96.0 psig (6.62 bar)"
    assert "Recovery time, 36 min" in words(figure.svg)
    assert {"psig", "bar", "F", "C"} <= set(words(figure.svg))
    assert "lowest" in figure.text
    assert {"bar", "C"} & set(words(curve(found, "Title", "us", "k").svg)) == set()


def test_text_in_a_drawing_is_escaped() -> None:
    drawing = Drawing(10)
    drawing.words(1, 1, "<b> & x")
    text = drawing.svg("k", "<title>", '"&')
    assert "<b>" not in text
    assert "<title>" not in text.replace('<title id="k-t">', "")
    assert "&lt;b&gt; &amp; x" in text


def test_ticks_are_round_and_inside() -> None:
    assert ticks(0.3, 9.9, 5) == [2, 4, 6, 8]
    assert ticks(-8, 47, 5) == [0, 20, 40]
    assert ticks(3, 3, 5) == [3]


def test_the_names_in_the_files_of_the_reports_are_known_to_the_rulebase() -> None:
    rulebase, _, _ = knowledge()
    known = report_roles()
    named = {*known.beside_a_series, *known.food, *known.refrigerant_moved}
    named |= {*known.refrigerant_figures}
    named |= {
        n for p in known.cycle.values() for each in p for n in (each.pressure, each.temperature)
    }
    assert named <= set(rulebase.quantities)
    assert set(known.cycle) == set(PLACES)
    assert set(plain().causes) <= set(rulebase.causes)


def test_every_cause_has_plain_words_and_others_would_fall_back() -> None:
    rulebase, _, _ = knowledge()
    words_of = plain()
    assert set(words_of.causes) == set(rulebase.causes)
    for cause in rulebase.causes.values():
        assert words_of.says(cause)
        assert words_of.watch(cause), f"{cause.system} has no words in reports/plain.yaml"


JARGON = (
    "solenoid", "superheat", "subcool", "header", "differential", "psi", "evaporator", "txv",
    "suction", "discharge", "saturat", "receiver", "condenser", "transducer", "termination",
)  # fmt: skip


def test_plain_words_are_free_of_the_trades_terms() -> None:
    words_of = plain()
    for text in (
        *words_of.causes.values(),
        *(t for pair in words_of.systems.values() for t in pair),
    ):
        found = [term for term in JARGON if term in text.lower()]
        assert not found, f"{found}: {text}"
        assert len(text) <= 130, text
