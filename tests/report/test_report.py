"""What a job report says, from the recorded demo jobs."""

from __future__ import annotations

import re

import pytest
from budget import step
from report_jobs import ReportedJob, played

from expert.report.render import _escaped, _table, render_report

TROUBLES = [
    ("a4-low-differential", "A4", "Defrost differential regulator set too low"),
    ("a2-sensor-on-early-tube", "A2", "Termination sensor sits where the coil warms early"),
    ("a6-suction-stop-leaking", "A6", "Suction stop leaking in defrost"),
]


def report(name: str, subject: str, steps: int = 0) -> str:
    entries, runner = played(name, subject, steps)
    return render_report(ReportedJob(), entries, runner, backend="plain")


def section(text: str, heading: str) -> str:
    """The part of a report below a heading or a bold question."""
    found = re.search(
        rf"^(?:#+ |\*\*){re.escape(heading)}(?:\*\*)?$(.*?)^(?:#+ |\*\*)", text, re.M | re.S
    )
    assert found, heading
    return found[1]


@pytest.mark.parametrize(("name", "subject", "title"), TROUBLES[:: step(3)])
def test_the_hidden_trouble_is_ranked_first_with_its_reasons(
    name: str, subject: str, title: str
) -> None:
    text = report(name, subject)
    first = section(text, "What was wrong").strip().splitlines()[0]
    entries, runner = played(name, subject)
    from expert.procedure.picture import fold

    best = runner.evaluation(fold(entries)).findings[0]
    assert first.startswith(f"- {best.cause.title}: ")
    assert best.cause.title == title
    assert best.certainty >= 0.7
    assert len(best.because) >= 3


@pytest.mark.parametrize(("name", "subject", "title"), TROUBLES[:: step(3)])
def test_the_adjustment_is_measured_again_and_no_longer_shows(
    name: str, subject: str, title: str
) -> None:
    text = report(name, subject)
    assert f'Measured again: "{title}" no longer shows.' in section(text, "What was done")
    assert "## Before and after" in text
    assert "No finding in what was measured again." in section(text, "Findings, as left")


def test_a_healthy_job_yields_no_finding() -> None:
    text = report("healthy", "A4")
    assert "Nothing was found with what could be read." in section(text, "What was wrong")
    assert "No adjustment was made." in section(text, "What was done")
    assert "No finding." in section(text, "Findings, as found")


def test_the_four_questions_come_first() -> None:
    text = report("a4-low-differential", "A4")
    places = [
        text.index(f"**{question}**")
        for question in (
            "What was wrong",
            "What was done",
            "What still needs attention, and how soon",
            "What to watch",
        )
    ]
    assert places == sorted(places)
    assert places[-1] < text.index("## Findings, as found") < text.index("## Readings: as found")


def test_readings_show_both_unit_systems_time_limit_and_source() -> None:
    readings = section(report("a4-low-differential", "A4"), "Readings: as found")
    line = next(x for x in readings.splitlines() if x.startswith("- **Receiver level**"))
    assert re.search(r"38 % .* at \d\d:\d\d\. Where: .*Normal: .*\(site: ", line)
    line = next(x for x in readings.splitlines() if "**Discharge header pressure" in x)
    assert re.search(r"157\.0 psig .*\(10\.8\d bar", line)


def test_derived_values_show_their_formula_and_inputs() -> None:
    derived = section(report("a4-low-differential", "A4"), "Computed: as found")
    line = next(x for x in derived.splitlines() if x.startswith("- **Defrost differential**"))
    assert "Upper pressure - lower pressure; from hot-gas header pressure" in line
    assert "store legend" in line


def test_the_rulebase_version_and_hash_are_named() -> None:
    entries, runner = played("healthy", "A4")
    text = render_report(ReportedJob(rulebase_hash="f" * 64), entries, runner, backend="plain")
    assert runner.rulebase.info.hash in text
    assert "The job was started with another rulebase, content hash ffff" in text
    assert "Engine: plain;" in text


def test_an_unfinished_job_says_where_it_stopped() -> None:
    text = report("a4-low-differential", "A4", 12)
    assert "- **Not finished**: stopped at " in text
    assert "signed by" not in text


def test_a_persons_text_cannot_break_the_layout() -> None:
    assert _escaped("a | b\n# not a *heading* <b>") == r"a \| b # not a \*heading\* \<b\>"
    assert r"Technician: A. \*Sample\*" in report("healthy", "A4")


def test_table_columns_line_up_and_empty_ones_are_left_out() -> None:
    text = _table([["a", "", "long one"], ["b", "", "x"]], ["one", "two", "three"])
    lines = text.splitlines()
    assert len({len(line) for line in lines}) == 1
    assert "two" not in text
