"""The pressure-temperature chart as text and as a drawing."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from budget import examples
from check_values import kelvin
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.physics.air.barometer import barometer
from expert.physics.fluids.chart import rows, svg_chart, text_chart
from expert.physics.fluids.refrigerants import names
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import FOOT, INHG, PSI

SEA = Context("R-448A", 14.696 * PSI)
SVG = "{http://www.w3.org/2000/svg}"


def line_of(chart: str, temperature: str) -> list[str]:
    return next(line.split() for line in chart.splitlines() if line.split()[:1] == [temperature])


def test_a_row_gives_dew_mid_point_and_bubble_pressure() -> None:
    fluid = saturation("R-448A")
    dew, mid, bubble = map(float, line_of(text_chart(SEA), "20")[1:])
    for shown, pressure in (
        (dew, fluid.dew_pressure(kelvin(20))),
        (mid, fluid.mid_pressure(kelvin(20))),
        (bubble, fluid.bubble_pressure(kelvin(20))),
    ):
        assert shown == pytest.approx(SEA.gauge(pressure) / PSI, abs=0.051)


def test_a_pure_refrigerant_has_one_column() -> None:
    assert len(line_of(text_chart(Context("R-22")), "20")) == 2


def test_a_pressure_below_the_barometer_is_shown_as_inches_of_vacuum() -> None:
    shown = line_of(text_chart(Context("R-134a", 14.696 * PSI)), "-40")[1]
    absolute = saturation("R-134a").dew_pressure(kelvin(-40))
    assert shown.endswith("v")
    assert float(shown[:-1]) == pytest.approx((14.696 * PSI - absolute) / INHG, abs=0.051)


def test_at_altitude_every_gauge_pressure_is_higher() -> None:
    high = Context("R-448A", barometer(5000 * FOOT))
    gain = SEA.barometer - high.barometer
    for low_row, high_row in zip(rows(SEA), rows(high), strict=True):
        assert high_row.dew is not None and low_row.dew is not None
        assert high_row.dew - low_row.dew == pytest.approx(gain)


def test_the_heading_names_refrigerant_barometer_and_basis() -> None:
    head = text_chart(Context("448a", 12.228 * PSI)).splitlines()[:2]
    assert "R-448A" in head[0]
    assert "12.2 psia" in head[0]
    assert "Dew for superheat" in head[1]


def test_the_footing_says_how_good_the_model_is() -> None:
    assert "good to 0.5 F" in text_chart(SEA)
    assert "good to 0.6 K" in text_chart(Context("R-454C"), "si")


def test_the_metric_chart_is_in_celsius_and_bar() -> None:
    shown = float(line_of(text_chart(Context("R-744"), "si"), "-10")[1])
    gauge = Context().gauge(saturation("R-744").dew_pressure(263.15))
    assert shown == pytest.approx(gauge / 1e5, abs=0.006)


def test_an_unknown_unit_system_is_refused() -> None:
    with pytest.raises(PhysicsError, match="us or si"):
        rows(SEA, "metric")


def test_a_span_of_ones_own_is_kept_to() -> None:
    found = rows(SEA, "us", (10, 12, 0.5))
    assert [row.temperature for row in found] == [10, 10.5, 11, 11.5, 12]


def test_rows_outside_the_range_are_left_out_and_one_sided_ones_show_a_dash() -> None:
    chart = text_chart(Context("R-455A", 14.696 * PSI), "us", (160, 185, 1))
    assert " -" in chart
    assert rows(Context("R-744"), "us", (-100, 100, 10))[0].temperature == -60


def test_a_chart_wholly_outside_the_range_is_refused() -> None:
    with pytest.raises(OutOfRange, match="R-744"):
        rows(Context("R-744"), "us", (100, 120, 5))


@pytest.mark.parametrize("span", [(0, 10, 0), (10, 0, 1), (0, 1e9, 1)])
def test_a_span_that_makes_no_chart_is_refused(span: tuple[float, float, float]) -> None:
    with pytest.raises(PhysicsError, match="step above 0"):
        rows(SEA, "us", span)


def test_the_drawing_holds_two_curves_for_a_blend_and_one_for_a_pure_fluid() -> None:
    for name, curves in (("R-455A", 2), ("R-290", 1)):
        root = ET.fromstring(svg_chart(Context(name)))
        assert len(root.findall(f"{SVG}polyline")) == curves


@given(st.sampled_from(names()), st.sampled_from(["us", "si"]), st.floats(0, 3000))
@settings(max_examples=examples(60), deadline=None)
def test_every_drawing_is_well_formed_and_stays_on_its_page(
    name: str, system: str, altitude: float
) -> None:
    root = ET.fromstring(svg_chart(Context(name, barometer(altitude)), system))
    points = [p for line in root.findall(f"{SVG}polyline") for p in line.attrib["points"].split()]
    for x, y in (map(float, point.split(",")) for point in points):
        assert 80 <= x <= 770
        assert 110 <= y <= 900
    assert all(text.text for text in root.findall(f"{SVG}text"))
