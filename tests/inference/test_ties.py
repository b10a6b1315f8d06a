"""Two causes that nothing tells apart are named together, with what would tell."""

from __future__ import annotations

from dataclasses import replace

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Hidden
from expert.inference.subject_file import accept
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.units.kinds import ATMOSPHERE


def hidden(tiny: Rulebase, circuit: Subject, *rules: str, **told: str) -> tuple[Hidden, ...]:
    """What stays hidden where one rule speaks for two causes alike, beside some other rules."""
    both = replace(
        tiny.rules["low-and-slow"], evidence_for={"set-low": "strong", "left-iced": "strong"}
    )
    kept = {name: tiny.rules[name] for name in ("slow-by-the-clock", *rules)}
    causes = {name: replace(cause, leads_to=()) for name, cause in tiny.causes.items()}
    base = replace(tiny, rules={**kept, both.id: both}, causes=causes)
    readings = [accept(base.quantities[name], text, ATMOSPHERE) for name, text in told.items()]
    return Evaluator(base, circuit, backend="plain").evaluate(readings).hidden


def test_what_nothing_tells_apart_is_said_with_what_would_tell(
    tiny: Rulebase, circuit: Subject
) -> None:
    (told,) = hidden(tiny, circuit, differential="8 psi", clearing_time="24 min")
    assert set(told.between) == {"set-low", "left-iced"}
    assert told.text.startswith("Whether it is '")
    assert told.text.endswith("What would: Look.")


def test_a_reading_that_can_still_be_had_tells_them_apart(tiny: Rulebase, circuit: Subject) -> None:
    told = {"differential": "8 psi", "clearing_time": "24 min"}
    assert hidden(tiny, circuit, "cold-line", **told) == ()


def test_one_that_is_surer_by_more_is_no_tie(tiny: Rulebase, circuit: Subject) -> None:
    told = {"differential": "8 psi", "clearing_time": "24 min", "rise": "0 F"}
    assert hidden(tiny, circuit, "cold-line", **told) == ()
