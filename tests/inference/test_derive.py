"""From readings and site values to derived values, and to what is missing for them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tiny_rulebase import LoadTiny

from expert.inference.derive import context_of, derive
from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Rulebase
from expert.knowledge.site import SiteValue, Subject
from expert.units.kinds import ATMOSPHERE, Kind
from expert.units.measure import Measure

PSI = 6894.757293168


def reading(tiny: Rulebase, name: str, value: float, **more: object) -> Reading:
    quantity = tiny.quantities[name]
    measure = Measure(quantity.kind, value, quantity.accuracy)
    return replace(Reading(name, measure, f"{value}"), **more)  # type: ignore[arg-type]


def pressures(tiny: Rulebase) -> list[Reading]:
    return [
        reading(tiny, "upper_pressure", 198 * PSI),
        reading(tiny, "lower_pressure", 190 * PSI),
    ]


def test_a_derived_value_carries_the_uncertainty_of_its_readings(
    tiny: Rulebase, circuit: Subject
) -> None:
    known, missing = derive(pressures(tiny), circuit, tiny.quantities)
    differential = known["differential"].value
    assert isinstance(differential, Measure)
    assert differential.value == pytest.approx(8 * PSI)
    assert differential.plus_minus == pytest.approx(2**0.5 * PSI, rel=1e-6)
    assert known["differential"].derived
    assert [r.text for r in known["differential"].readings] == [f"{198 * PSI}", f"{190 * PSI}"]
    assert missing == ()


def test_a_half_read_value_is_told_as_missing_with_what_it_lacks(
    tiny: Rulebase, circuit: Subject
) -> None:
    known, missing = derive(pressures(tiny)[:1], circuit, tiny.quantities)
    assert "differential" not in known
    assert [(each.quantity, each.why) for each in missing] == [
        ("differential", "lower pressure not known")
    ]


def test_a_value_of_which_nothing_was_read_is_not_told_as_missing(
    tiny: Rulebase, circuit: Subject
) -> None:
    assert derive([], circuit, tiny.quantities) == ({}, ())


def test_a_derived_value_that_was_read_itself_is_not_computed(
    tiny: Rulebase, circuit: Subject
) -> None:
    told = [*pressures(tiny), reading(tiny, "differential", 12 * PSI)]
    known, _ = derive(told, circuit, tiny.quantities)
    assert known["differential"].value == Measure(
        Kind.PRESSURE_DIFFERENCE, 12 * PSI, tiny.quantities["differential"].accuracy
    )
    assert not known["differential"].derived


def test_the_last_reading_of_a_quantity_is_its_value(tiny: Rulebase, circuit: Subject) -> None:
    told = [reading(tiny, "clearing_time", seconds) for seconds in (600.0, 1200.0)]
    known, _ = derive(told, circuit, tiny.quantities)
    assert known["clearing_time"].value.value == 1200.0  # type: ignore[union-attr]
    assert len(known["clearing_time"].readings) == 2


def test_first_and_highest_are_taken_from_a_series(tiny: Rulebase, circuit: Subject) -> None:
    told = [reading(tiny, "line_temperature", kelvin) for kelvin in (262.0, 290.0, 280.0)]
    known, _ = derive(told, circuit, tiny.quantities)
    assert known["rise"].value.value == pytest.approx(28.0)  # type: ignore[union-attr]


def test_what_was_taken_from_a_series_is_kept_for_the_report(
    tiny: Rulebase, circuit: Subject
) -> None:
    told = [reading(tiny, "line_temperature", kelvin) for kelvin in (262.0, 290.0, 280.0)]
    known, _ = derive(told, circuit, tiny.quantities)
    assert [(t.title, t.value.value) for t in known["rise"].inputs] == [
        ("highest line temperature", 290.0), ("first line temperature", 262.0),
    ]  # fmt: skip


def test_one_reading_of_a_series_is_no_change_of_it(tiny: Rulebase, circuit: Subject) -> None:
    told = [reading(tiny, "line_temperature", 262.0)]
    known, missing = derive(told, circuit, tiny.quantities)
    assert "rise" not in known
    assert [(each.quantity, each.why) for each in missing] == [
        ("rise", "line temperature was read once, and the change needs two readings")
    ]
    again = [*told, reading(tiny, "line_temperature", 262.0)]
    known, missing = derive(again, circuit, tiny.quantities)
    assert (known["rise"].value.value, missing) == (0.0, ())  # type: ignore[union-attr]


def test_a_reading_wins_over_the_value_of_the_site(tiny: Rulebase, circuit: Subject) -> None:
    own = replace(circuit, values={"setting": SiteValue("setting", 285.0, "53 F")})
    known, _ = derive([], own, tiny.quantities)
    assert known["setting"].readings[0].stage == "site"
    known, _ = derive([reading(tiny, "setting", 290.0)], own, tiny.quantities)
    assert known["setting"].value.value == 290.0  # type: ignore[union-attr]
    assert [r.stage for r in known["setting"].readings] == ["as found"]


def test_what_is_known_stands_in_the_order_of_ids(tiny: Rulebase, circuit: Subject) -> None:
    known, _ = derive(reversed(pressures(tiny)), circuit, tiny.quantities)
    assert list(known) == ["differential", "lower_pressure", "upper_pressure"]


def test_a_reading_of_no_quantity_is_left_out(tiny: Rulebase, circuit: Subject) -> None:
    assert derive([Reading("nonsense", "x")], circuit, tiny.quantities) == ({}, ())


SUPERHEAT = """\
derived:
  - {id: superheat, title: superheat, subject: circuit, function: superheat,
     inputs: {pressure: lower_pressure, line_temperature: line_temperature}, source: "computed: x"}
"""


@pytest.fixture
def with_superheat(load_tiny: LoadTiny) -> Rulebase:
    return load_tiny("derived:\n", SUPERHEAT)


def superheat(base: Rulebase, subject: Subject, kelvin: float) -> tuple[object, tuple[str, ...]]:
    told = [
        reading(base, "lower_pressure", 12 * PSI),
        reading(base, "line_temperature", kelvin),
    ]
    known, missing = derive(told, subject, base.quantities)
    value = known["superheat"].value if "superheat" in known else None
    return value, tuple(each.why for each in missing if each.quantity == "superheat")


def test_an_altitude_changes_what_a_gauge_pressure_means(
    with_superheat: Rulebase, circuit: Subject
) -> None:
    low, _ = superheat(with_superheat, circuit, 258.0)
    high, _ = superheat(with_superheat, replace(circuit, altitude=1609.0), 258.0)
    assert isinstance(low, Measure)
    assert isinstance(high, Measure)
    assert context_of(circuit).barometer == pytest.approx(ATMOSPHERE)
    assert high.value > low.value + 1.0


def test_without_a_refrigerant_the_reason_is_told(
    with_superheat: Rulebase, circuit: Subject
) -> None:
    bare = replace(circuit, facts={})
    assert superheat(with_superheat, bare, 258.0) == (None, ("the refrigerant is not known",))


def test_what_the_physics_refuses_is_told_and_not_computed(
    with_superheat: Rulebase, circuit: Subject
) -> None:
    # No refrigerant evaporates at 3000 psig: beyond the tables, and never extrapolated.
    told = [
        reading(with_superheat, "lower_pressure", 3000 * PSI),
        reading(with_superheat, "line_temperature", 258.0),
    ]
    known, missing = derive(told, circuit, with_superheat.quantities)
    assert "superheat" not in known
    (why,) = [each.why for each in missing if each.quantity == "superheat"]
    assert "must lie between" in why
