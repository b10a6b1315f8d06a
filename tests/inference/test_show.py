"""An evaluation as lines and as the JSON that other programs read."""

from __future__ import annotations

import json

import pytest

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation
from expert.inference.show import evaluation_json, evaluation_lines
from expert.inference.subject_file import accept
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.units.kinds import ATMOSPHERE


def evaluation(base: Rulebase, subject: Subject, **told: str) -> Evaluation:
    readings = [accept(base.quantities[n], text, ATMOSPHERE) for n, text in told.items()]
    return Evaluator(base, subject, backend="plain").evaluate(readings)


def slow(base: Rulebase, subject: Subject) -> Evaluation:
    return evaluation(
        base, subject, upper_pressure="198 psig", lower_pressure="190 psig", clearing_time="24 min",
        rise="2 F",
    )  # fmt: skip


def test_nothing_found_is_said(tiny: Rulebase, circuit: Subject) -> None:
    lines = list(evaluation_lines(evaluation(tiny, circuit), tiny))
    assert lines[0] == "No finding."
    assert lines[-1] == "Engine: plain."


def test_cautions_stand_before_what_to_do(tiny: Rulebase, circuit: Subject) -> None:
    lines = list(evaluation_lines(slow(tiny, circuit), tiny))
    caution = next(n for n, line in enumerate(lines) if "Caution, hot surfaces: It is hot." in line)
    what_to_do = next(n for n, line in enumerate(lines) if "Do: Turn it." in line)
    assert caution < what_to_do


def test_what_speaks_against_and_what_is_open_is_said(tiny: Rulebase, circuit: Subject) -> None:
    text = "\n".join(evaluation_lines(slow(tiny, circuit), tiny))
    assert "1. Regulator set too low: likely (0.64)" in text
    assert "- against it: " in text
    assert "- not ruled out: valve is half open" in text
    assert "Explains: Coil left iced: likely (0.50)" in text


def test_an_unusual_reading_is_shown_to_be_looked_at_again(
    tiny: Rulebase, circuit: Subject
) -> None:
    told = evaluation(tiny, circuit, upper_pressure="20 psig")
    why = "20.0 psig is below 80.0 psig; usual is 80.0 psig to 350.0 psig. Is 20.0 psig right?"
    assert f"- upper pressure: {why}" in list(evaluation_lines(told, tiny))
    assert evaluation_json(told, tiny, "us")["doubtful"] == [
        {"quantity": "upper_pressure", "why": why}
    ]


def test_usual_readings_raise_no_doubt(tiny: Rulebase, circuit: Subject) -> None:
    assert evaluation_json(slow(tiny, circuit), tiny, "us")["doubtful"] == []


def test_json_has_the_documented_names(tiny: Rulebase, circuit: Subject) -> None:
    document = evaluation_json(slow(tiny, circuit), tiny, "us")
    assert {"findings", "measure_next", "cannot_judge"} <= set(document)
    (finding,) = document["findings"]  # type: ignore[misc]
    assert {"cause", "title", "certainty", "because"} <= set(finding)
    assert json.loads(json.dumps(document)) == document


def test_json_gives_derived_values_as_number_objects(tiny: Rulebase, circuit: Subject) -> None:
    derived = evaluation_json(slow(tiny, circuit), tiny, "us")["derived"]
    plus_minus = pytest.approx(2**0.5)
    assert derived["differential"] == {"value": 8.0, "unit": "psi", "plus_minus": plus_minus}  # type: ignore[index]


def test_json_names_the_quantity_that_cannot_be_judged(tiny: Rulebase, circuit: Subject) -> None:
    document = evaluation_json(evaluation(tiny, circuit, differential="14.5 psi"), tiny, "us")
    (entry,) = document["cannot_judge"]  # type: ignore[misc]
    assert entry["what"] == "differential"
    assert "uncertainty" in entry["why"]
