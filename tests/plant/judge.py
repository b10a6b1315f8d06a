"""The program judged by the plant: its own inference over readings it has never seen written.

Whether the right cause comes first, how soon it does when only what it asks for is read, and what
it says of plants in order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property

import yaml
from scenarios.advice_oracle import advised, dangers, values_of

from expert.author.scenarios.from_plants import altitude_of, facts_of, readings_of
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Reading
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.places import shipped
from expert.plant.cases import Case
from expert.plant.reading_difference import Told
from expert.procedure.load_checklists import load_checklist

LIKELY = 0.5
MOST_EXTRA = 6  # more are not counted
BANDS = (("just visible", 0.0, 1 / 3), ("middle", 1 / 3, 2 / 3), ("gross", 2 / 3, 1.01))
# What one of them is read by, where it is worked out: a clamp three times, and the maker's table.
READ_BY: Mapping[str, tuple[str, ...]] = {
    "current_from_expected": (
        "motor_current_a", "motor_current_b", "motor_current_c", "expected_current",
    ),
}  # fmt: skip
# What is read first on a call (common practice), the papers and the kind of plant being known: by
# what is complained of, in the words of the quantity `complaint`. Without a complaint it is a
# routine visit, and read is what the preventive walk reads first of a case, or the weather and the
# first of its rack numbers; what a plant does not have, as doors, leaves its place empty. One
# quantity is one reading.
FIRST_TEN: Mapping[str, tuple[str, ...]] = {
    "case warm": (
        "circuit_mode", "discharge_air_before", "stock_line", "return_grille", "air_seal",
        "fans_in_cooling", "frost_before", "coil_outlet_temperature", "circuit_pressure_before",
        "sight_glass",
    ),
    "case too cold": (
        "circuit_mode", "discharge_air_before", "case_air_displayed", "case_setting",
        "frost_before", "coil_outlet_temperature", "circuit_pressure_before",
        "suction_header_pressure_at_rest", "displayed_suction_pressure", "fans_in_cooling",
    ),
    "ice on the coil": (
        "circuit_mode", "frost_before", "ice_left", "drain_and_pan", "air_seal", "door_closing",
        "fans_in_cooling", "defrost_ended_by", "defrost_durations", "discharge_air_before",
    ),
    "defrost does not clear": (
        "circuit_mode", "ice_left", "ice_left_where", "defrost_ended_by", "defrost_time",
        "hot_gas_line_in_defrost", "discharge_header_pressure", "hot_gas_header_pressure",
        "liquid_header_pressure", "circuit_pressure",
    ),
    "all cases warm": (
        "compressors_running", "suction_header_pressure_at_rest", "displayed_suction_pressure",
        "discharge_header_pressure_at_rest", "outdoor_temperature", "sight_glass",
        "receiver_level", "starving_where", "store_air_temperature", "condenser_mode",
    ),
    "head high": (
        "outdoor_temperature", "discharge_header_pressure_at_rest",
        "displayed_discharge_pressure", "condenser_fans", "condenser_face", "condenser_mode",
        "heat_reclaim", "drop_leg_temperature", "receiver_level", "sight_glass",
    ),
    "head low": (
        "outdoor_temperature", "displayed_outdoor_temperature",
        "discharge_header_pressure_at_rest", "displayed_discharge_pressure", "condenser_fans",
        "condenser_mode", "condenser_command", "receiver_pressure", "receiver_level",
        "sight_glass",
    ),
    "suction low": (
        "compressors_running", "suction_header_pressure_at_rest", "displayed_suction_pressure",
        "discharge_header_pressure_at_rest", "outdoor_temperature", "sight_glass",
        "receiver_level", "starving_where", "starved_coils", "liquid_line_cold_spot",
    ),
    "suction high": (
        "compressors_running", "suction_header_pressure_at_rest", "displayed_suction_pressure",
        "discharge_header_pressure_at_rest", "outdoor_temperature", "store_air_temperature",
        "return_gas_temperature", "discharge_line_temperature", "current_from_expected",
        "compressor_state",
    ),
    "bubbles in the liquid": (
        "sight_glass", "receiver_level", "receiver_level_on_sheet", "outdoor_temperature",
        "discharge_header_pressure_at_rest", "drop_leg_temperature", "receiver_pressure",
        "condenser_mode", "liquid_line_cold_spot", "top_ups",
    ),
    "compressor noisy or hot": (
        "compressor_state", "compressor_trip", "compressor_sound", "compressor_body",
        "suction_header_pressure_at_rest", "discharge_header_pressure_at_rest",
        "return_gas_temperature", "discharge_line_temperature", "oil_levels",
        "current_from_expected",
    ),
    "rack": (
        "outdoor_temperature", "suction_header_pressure_at_rest", "suction_header_temperature",
        "discharge_header_pressure_at_rest", "receiver_pressure", "receiver_level",
        "drop_leg_temperature", "liquid_line_temperature", "liquid_header_pressure_at_rest",
        "sight_glass",
    ),
    "case": (
        "circuit_mode", "case_alarm", "fans_in_cooling", "discharge_grille", "return_grille",
        "stock_line", "door_closing", "frost_before", "discharge_air_before",
        "warmest_product_before",
    ),
    "defrost": (
        "circuit_mode", "pump_down_time", "hot_gas_header_pressure", "liquid_header_pressure",
        "circuit_pressure", "defrost_ended_by", "defrost_time", "ice_left", "drip_time",
        "fan_delay_time",
    ),
}  # fmt: skip
# Asked before the search begins and not known on these calls.
NOT_KNOWN = ("what_changed",)
WALK = "preventive-maintenance-walk"
READ = ("ask", "observe", "watch")  # steps that read something
ACCEPTED = shipped("rulebase") / "practice" / "setting.yaml"


def accepted_for(faults: Iterable[str]) -> set[str]:
    """The causes that count as right."""
    named = _also_right()
    return {cause for name in faults for cause in named.get(name, [name])}


@cache
def _also_right() -> dict[str, list[str]]:
    """By fault, what is accepted in place of it."""
    told = yaml.safe_load(ACCEPTED.read_text(encoding="utf-8"))["also_right"]
    return {each["fault"]: each["causes"] for each in told}


@dataclass
class CaseVerdict:
    """What became of one case."""

    case: Case
    first: bool
    in_three: bool
    found: bool
    leading: str
    wrong_likely: bool
    numbers_first: bool
    danger: list[str] = field(default_factory=list)
    tied: bool = False  # another leads, and is said not to be told from the right one
    extra: int | None = None  # readings beyond the first ten until the right cause was likeliest
    by_rules: int | None = None  # the same until it was found, and first of what rules find
    after_walk: int | None = None  # on a routine visit, beyond all that the preventive walk reads


class PlantJudge:
    """Asks the inference as `diagnose` does. Evaluators are kept for plants of one kind."""

    def __init__(self, rulebase: Rulebase, backend: str = "plain") -> None:
        self.rulebase = rulebase
        self.backend = backend
        self._made: dict[object, Evaluator] = {}

    def evaluator(self, case: Case) -> Evaluator:
        facts = facts_of(case)
        kind = "rack" if case.complaint == "rack" else "circuit"
        key = (tuple(facts.items()), case.has, altitude_of(case), kind)
        if key not in self._made:
            subject = Subject("call", "a call", kind, "", facts, altitude_of(case), has=case.has)
            self._made[key] = Evaluator(self.rulebase, subject, backend=self.backend)  # type: ignore[arg-type]
        return self._made[key]

    def readings(self, told: Told, altitude: float) -> dict[str, tuple[Reading, ...]]:
        """Readings as they are typed; what the program refuses to take is not there."""
        return readings_of(told, round(altitude, -2), self.rulebase.quantities)

    def judge(self, case: Case, *, guided: bool = True) -> CaseVerdict:
        """Everything about one case."""
        evaluator = self.evaluator(case)
        made = self.readings(case.readings, case.altitude)
        right = accepted_for(case.faults)
        evaluation = evaluator.evaluate(flat(made.values()))
        order = [finding.cause.id for finding in evaluation.findings]
        everywhere = {f.cause.id for f in _each(evaluation)}
        wrong = bool(order) and order[0] not in right
        told = values_of(evaluation, flat(made.values()))
        danger = [
            f"{action} for {cause}: {'; '.join(why)}"
            for action, cause in sorted(set(advised(evaluation)))
            if (why := dangers(action, told, case.has))
        ]
        numbers = [
            readings
            for name, readings in made.items()
            if not isinstance(case.readings[name], str)
            or case.usual.get(name) == case.readings[name]
        ]
        plain = evaluator.evaluate(flat(numbers)).findings if case.faults else ()
        verdict = CaseVerdict(
            case,
            first=order[:1] != [] and order[0] in right,
            in_three=bool(right & set(order[:3])),
            found=bool(right & everywhere),
            leading=order[0] if order else "",
            wrong_likely=wrong and evaluation.findings[0].certainty >= LIKELY,
            numbers_first=bool(plain) and plain[0].cause.id in right,
            danger=danger,
            tied=wrong and any(
                order[0] in each.between and right & set(each.between)
                for each in evaluation.hidden
            ),
        )  # fmt: skip
        if guided and case.faults:
            first_ten = self.first_ten(case, made)
            verdict.extra, verdict.by_rules = self.guided(case, made, right, first_ten)
            if not case.says:
                walked = {name: made[name] for name in self.walk if name in made}
                verdict.after_walk, _ = self.guided(case, made, right, first_ten | walked)
        return verdict

    @cached_property
    def walk(self) -> tuple[str, ...]:
        """All that the preventive walk reads as found of a rack and a case."""
        walk = load_checklist(shipped("checklists") / f"{WALK}.yaml", self.rulebase)
        steps = [s for phase in walk.phases if phase.stage == "as found" for s in phase.steps]
        return tuple(dict.fromkeys(name for s in steps if s.type in READ for name in s.quantities))

    def guided(
        self,
        case: Case,
        made: Mapping[str, tuple[Reading, ...]],
        right: set[str],
        known: Mapping[str, tuple[Reading, ...]],
    ) -> tuple[int | None, int | None]:
        """Readings beyond what is known until the right cause is what the search calls likeliest,
        and until it is the first of what rules find; asked as the program asks.

        What it asks for and this plant does not have counts as asked too.
        """
        evaluator = self.evaluator(case)
        have = dict(known)
        papers = {each.id for each in self.rulebase.quantities.values() if each.given}
        asked = {*NOT_KNOWN, "complaint", *papers}  # what the papers do not say is not to be had
        likeliest = by_rules = None
        for extra in range(MOST_EXTRA + 1):
            evaluation = evaluator.evaluate(flat(have.values()))
            if by_rules is None and _first_found(evaluation) in right:
                by_rules = extra
            if likeliest is None and _likeliest(evaluation, asked) in right:
                likeliest = extra
            if None not in (likeliest, by_rules):
                break
            wanted = [each.quantity.id for each in evaluation.next_readings(asked)]
            fresh = [name for name in wanted if name not in have]
            if not fresh:
                break
            asked.add(fresh[0])
            if fresh[0] in made:
                have[fresh[0]] = made[fresh[0]]
        return likeliest, by_rules

    def first_ten(
        self, case: Case, made: Mapping[str, tuple[Reading, ...]]
    ) -> dict[str, tuple[Reading, ...]]:
        """What is known before anything is asked: papers, the complaint, what is read first."""
        ten = FIRST_TEN[case.says or case.complaint]
        first = {each for name in ten for each in READ_BY.get(name, (name,))}
        have = {
            name: reading for name, reading in made.items()
            if name in first or self.rulebase.quantities[name].given
        }  # fmt: skip
        return have | {"complaint": (Reading("complaint", case.says or "nothing"),)}


def _first_found(evaluation: Evaluation) -> str:
    return next((each.cause.id for each in evaluation.findings), "")


def _likeliest(evaluation: Evaluation, asked: Iterable[str]) -> str:
    """The cause that the search shows as the likeliest: by rules and looks together."""
    return next((each.cause.id for each in evaluation.suspects(asked)), "")


def _each(evaluation: Evaluation) -> Iterable[object]:
    from expert.inference.evaluation_model import each_finding

    return each_finding(evaluation.findings)


def flat(readings: Iterable[tuple[Reading, ...]]) -> tuple[Reading, ...]:
    """All readings, series included."""
    return tuple(each for several in readings for each in several)


def wilson(hits: int, of: int, z: float = 1.96) -> tuple[float, float]:
    """95 % interval of a share. Source: Wilson 1927, Journal of the American Statistical
    Association 22, 209 to 212."""
    if of == 0:
        return 0.0, 1.0
    share = hits / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of)) / (1 + z * z / of)
    return max(middle - half, 0.0), min(middle + half, 1.0)


def band_of(severities: Sequence[float]) -> str:
    """The band of the least severe of a case's faults."""
    least = min(severities)
    return next(name for name, low, high in BANDS if low <= least < high)
