"""How often equipment is checked for leaks in the European Union, by tonnes of CO2 equivalent.

Regulation (EU) 2024/573; figures and their sources are in eu_rules.yaml. It knows no leak rate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cache
from importlib import resources
from typing import Any

from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.physics_errors import NotAvailable, PhysicsError
from expert.physics.leak_law.appliance import months_later
from expert.physics.leak_law.rules import Number, exact


@dataclass(frozen=True)
class EuRules:
    """The figures; steps are (from, months), masses in kilograms, equivalents in tonnes."""

    notice: str
    regulation: str
    tonnes: tuple[tuple[Fraction, int], ...]
    kilograms: tuple[tuple[Fraction, int], ...]
    numbers: Mapping[str, Fraction]
    annexes: Mapping[str, Mapping[str, Fraction]]
    sources: Mapping[str, str]


@dataclass(frozen=True)
class LeakCheck:
    """How often to check: `months` None where no check is asked for.

    `tonnes` of CO2 equivalent and the `gwp` it rests on; `detection_required` says whether a
    leakage detection system is asked for.
    """

    months: int | None
    reason: str
    gwp: Fraction
    tonnes: Fraction
    detection_required: bool
    source: str
    notice: str

    def due(self, last: date) -> date | None:
        """The last day of the next check after one on a day."""
        return None if self.months is None else months_later(last, self.months)


def eu_gwp(name: str) -> Fraction:
    """Warming potential by which the regulation counts a refrigerant, blends by mass.

    Raises `NotAvailable` where a part is not in its annexes, `UnknownRefrigerant`.
    """
    rules, one = eu_rules(), refrigerant(name)
    known = {part: gwp for annex in rules.annexes.values() for part, gwp in annex.items()}
    if missing := [part for part in one.composition if part not in known]:
        raise NotAvailable(
            f"The GWP of {one.designation} by {rules.regulation}",
            f"{', '.join(missing)} is not in the annexes held here; an ozone-depleting substance "
            "is under Regulation (EU) 2024/590",
        )
    return sum(
        (exact(share) / 100 * known[part] for part, share in one.composition.items()),
        Fraction(0),
    )


def leak_check(
    name: str, kilograms: Number, *, detection: bool = False, sealed: bool = False
) -> LeakCheck:
    """How often equipment with a charge [kg] is checked.

    `detection`: a leakage detection system watches it; `sealed`: hermetically sealed and labelled
    so. Raises `PhysicsError` for a charge that is not above zero, and as `eu_gwp`.
    """
    rules, charge = eu_rules(), exact(kilograms)
    if not charge > 0:
        raise PhysicsError("The charge must be above zero.")
    gwp = eu_gwp(name)
    tonnes = gwp * charge / 1000
    parts = set(refrigerant(name).composition)
    by_tonnes = bool(parts & set(rules.annexes["annex_i"]))
    unsaturated = bool(parts & set(rules.annexes["annex_ii"]))
    number = rules.numbers
    if not (by_tonnes or unsaturated):
        reason = f"{rules.regulation} covers fluorinated gases, and it holds none"
        return LeakCheck(None, reason, gwp, tonnes, False, rules.sources["tonnes"], rules.notice)
    # a blend with a gas of Annex I counts by tonnes, one of unsaturated gases alone by mass
    kind, amount, unit = ("tonnes", tonnes, "t of CO2 equivalent")
    if not by_tonnes:
        kind, amount, unit = ("kilograms", charge, "kg")
    required = amount >= number[f"detection_{kind}"]
    source = rules.sources[kind]
    told = f"{float(amount):.4g} {unit}"
    if sealed and amount < number[f"sealed_{kind}"]:
        reason = f"hermetically sealed with {told}, under {float(number[f'sealed_{kind}']):g}"
        return LeakCheck(None, reason, gwp, tonnes, required, source, rules.notice)
    months = _months(rules.tonnes if by_tonnes else rules.kilograms, amount)
    if months is None:
        return LeakCheck(None, f"only {told}", gwp, tonnes, required, source, rules.notice)
    times = int(number["with_detection_times"]) if detection else 1
    reason = told + (", a leakage detection system watches it" if detection else "")
    return LeakCheck(months * times, reason, gwp, tonnes, required, source, rules.notice)


def _months(steps: Sequence[tuple[Fraction, int]], amount: Fraction) -> int | None:
    reached = [months for least, months in steps if amount >= least]
    return reached[-1] if reached else None


@cache
def eu_rules() -> EuRules:
    """The rules shipped with the package."""
    import yaml

    file = resources.files("expert.physics.leak_law").joinpath("eu_rules.yaml")
    data: dict[str, Any] = yaml.load(file.read_text("utf-8"), Loader=yaml.BaseLoader)  # noqa: S506
    single = {key: exact(e["value"]) for key, e in data.items() if _is_number(e)}
    annexes = ("annex_i", "annex_ii", "annex_vi")
    return EuRules(
        notice=data["notice"].strip(),
        regulation=data["regulation"],
        tonnes=_steps(data["tonnes"]),
        kilograms=_steps(data["kilograms"]),
        numbers=single,
        annexes={
            name: {part: exact(gwp) for part, gwp in data[name]["gwp"].items()} for name in annexes
        },
        sources={key: e["source"] for key, e in data.items() if isinstance(e, dict)},
    )


def _is_number(entry: Any) -> bool:
    return isinstance(entry, dict) and str(entry.get("value", "")).isdecimal()


def _steps(entry: Any) -> tuple[tuple[Fraction, int], ...]:
    return tuple((exact(step["from"]), int(step["months"])) for step in entry["steps"])
