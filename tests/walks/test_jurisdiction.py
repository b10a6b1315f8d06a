"""By whose law a store is kept: limits, recovery, leak rates and clocks follow it."""

from __future__ import annotations

import pytest
from walked_job import DEMO

from expert.errors import PackError
from expert.inference.truth import limit_for
from expert.knowledge.load_site import load_site, parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.procedure.checklist import Checklist
from expert.procedure.hazards import fits
from expert.records.record_roles import record_roles
from expert.records.systems import systems_of

UNION, STATES = "European Union", "United States"
OPENED = (
    "leak-inspection-and-repair", "liquid-drier-check-and-change", "oil-system", "warm-case-triage",
)  # fmt: skip
RATES = {"annualized_leak_rate", "rolling_leak_rate", "calendar_year_share"}


@pytest.fixture(scope="module")
def sites(shipped_rulebase: Rulebase) -> dict[str, Site]:
    text = (DEMO / "site.yaml").read_text(encoding="utf-8")
    moved = text.replace("  altitude:", f"  jurisdiction: {UNION}\n  altitude:", 1)
    union = parse_site(moved, "site.yaml", shipped_rulebase)
    return {STATES: load_site(DEMO / "site.yaml", shipped_rulebase), UNION: union}


@pytest.mark.parametrize(
    ("subject", "where", "limit"),
    [
        ("A4", STATES, "product-frozen"),
        ("A4", UNION, "product-frozen-european-union"),
        ("A1", STATES, "product-ice-cream"),
        ("A1", UNION, "product-ice-cream-european-union"),
        ("B1", STATES, "product-medium-temperature"),
        ("B1", UNION, "product-medium-temperature-european-union"),
    ],
)
def test_food_is_held_against_the_law_of_the_store(
    subject: str, where: str, limit: str, sites: dict[str, Site], shipped_rulebase: Rulebase
) -> None:
    on = sites[where].subjects[subject]
    assert on.fact("jurisdiction") == where
    held = limit_for("warmest_product_before", shipped_rulebase.limits, on)
    assert held is not None and held.id == limit


@pytest.mark.parametrize("name", OPENED)
def test_the_depth_of_a_recovery_is_that_of_the_place(
    name: str, sites: dict[str, Site], checklists: dict[str, Checklist]
) -> None:
    steps = [step for phase in checklists[name].phases for step in phase.steps]
    for where, site in sites.items():
        on = site.subjects["A4" if checklists[name].subject == "circuit" else "A"]
        asked = [step for step in steps if fits(step, on)]
        numbers = any("lawful_recovery_level" in step.quantities for step in asked)
        said = any("Regulation (EU) 2024/573" in step.text for step in asked)
        assert (numbers, said) == ((True, False) if where == STATES else (False, True))
        assert any("recover-refrigerant" in step.does for step in asked)


def test_leak_rates_and_their_clocks_are_asked_only_where_the_law_knows_them(
    sites: dict[str, Site], checklists: dict[str, Checklist]
) -> None:
    checklist = checklists["leak-inspection-and-repair"]
    steps = [step for phase in checklist.phases for step in phase.steps]
    told = {
        where: [step for step in steps if fits(step, site.subjects["A"])]
        for where, site in sites.items()
    }
    shown = {where: {q for step in told[where] for q in step.quantities} for where in told}
    assert shown[STATES] >= RATES and not RATES & shown[UNION]
    assert "days_since_initial_verification" in shown[STATES] - shown[UNION]
    (again,) = (step for step in told[UNION] if "follow_up_verification" in step.quantities)
    assert "within a month" in again.say and "ten days" not in again.say


def test_the_refrigerant_log_counts_by_it_too(sites: dict[str, Site]) -> None:
    laws = {where: systems_of(site, record_roles())["A"].law for where, site in sites.items()}
    assert laws == {STATES: "us", UNION: "eu"}


def test_a_law_that_nobody_knows_is_refused_with_those_there_are(
    shipped_rulebase: Rulebase,
) -> None:
    text = (DEMO / "site.yaml").read_text(encoding="utf-8")
    wrong = text.replace("  altitude:", "  jurisdiction: Europe\n  altitude:", 1)
    with pytest.raises(PackError, match="European Union"):
        parse_site(wrong, "site.yaml", shipped_rulebase)
