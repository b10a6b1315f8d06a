"""The audit of a handful of made-up summaries, counted by hand."""

from __future__ import annotations

import random

from records_made import done, found

from expert.records.audit import Done, audit
from expert.records.job_summary import PUT_RIGHT
from expert.records.record_roles import SourcedCount
from expert.records.tables import PrintedTable, lines

WITHIN, ENOUGH = SourcedCount(90, "common practice"), SourcedCount(10, "common practice")


def tables(*jobs: Done) -> dict[str, PrintedTable]:
    return {table.id: table for table in audit(jobs, WITHIN, ENOUGH)}


def rows(table: PrintedTable) -> list[dict[str, object]]:
    return [dict(zip(table.heads, row, strict=True)) for row in table.rows]


def test_completeness_is_counted_and_what_was_not_judged_is_no_good_mark() -> None:
    made = tables(
        done(1, changes=2, remeasured=1),
        done(2, finished=False, signed="", still_open=("probe fitted",), cautions=(2, 1)),
        done(3, as_found=(4, 3), skips=(("probe", "no ladder"),)),
        done(4, judged=False),
    )
    (row,) = rows(made["procedures"])
    assert row == {
        "procedure": "checkout", "jobs": 4, "finished": 3, "as found complete": 2, "changes": 2,
        "measured again": 1, "opened": 4, "left open": 1, "cautions": 8, "acknowledged": 7,
        "signed": 3, "skips": 1, "not judged": 1,
    }  # fmt: skip
    assert made["skips"].rows == (("checkout", "probe", "no ladder", 1),)
    assert rows(made["crews"])[0]["crew"] == "A. Sample"


def test_a_finding_that_came_back_in_time_and_one_that_came_too_late() -> None:
    again = tables(done(1, found("x")), done(2, found("x"), after=90))
    assert [(row["what"], row["times"], row["shortest gap"]) for row in rows(again["repeats"])] == [
        ("X", 2, 90)
    ]
    assert tables(done(1, found("x")), done(2, found("x"), after=91))["repeats"].rows == ()
    assert tables(done(1, found("x")), done(2, found("x")))["repeats"].rows == ()
    assert "common practice" in again["repeats"].says


def test_a_part_that_different_findings_name_came_back() -> None:
    made = tables(
        done(1, found("x", parts=("valve",))), done(2, found("y", parts=("valve",)), after=5)
    )
    assert [(row["kind"], row["what"]) for row in rows(made["repeats"])] == [("part", "valve")]


def test_a_first_finding_that_a_later_job_contradicts() -> None:
    made = tables(done(1, found("x")), done(2, found("y"), after=5))
    (row,) = rows(made["overturned"])
    assert (row["job"], row["first finding"], row["later job"], row["found instead"]) == (
        "job-1", "X", "job-2", "Y",
    )  # fmt: skip


def test_what_contradicts_nothing() -> None:
    def count(*jobs: Done) -> int:
        return len(tables(*jobs)["overturned"].rows)

    first, later = done(1, found("x")), done(3, found("y"), after=5)
    assert count(first, later) == 1
    assert count(first, done(3, found("y"), found("x"), after=5)) == 0  # still found
    assert count(first, done(3, found("y"), after=91)) == 0  # too late
    assert count(first, done(3, after=5)) == 0  # nothing found
    assert count(first, done(3, found("y", system="charge"), after=5)) == 0  # something else
    assert count(done(1, found("x", PUT_RIGHT), changes=1), later) == 0  # it was put right
    assert count(first, done(2, found("x"), after=2, changes=1), later) == 0  # changed between
    assert count(first, done(3, found("y"), after=5, judged=False)) == 0


def test_three_jobs_are_too_few_to_compare_and_say_nothing_of_a_person() -> None:
    made = tables(*(done(n, who="A") for n in range(3)), *(done(n, who="B") for n in range(3, 33)))
    by_crew = {row["crew"]: row for row in rows(made["compared"])}
    assert by_crew["A"]["beside the others"] == "too few to compare"
    assert by_crew["A"]["median time"] is None
    assert by_crew["B"]["beside the others"] == "too few others to compare"


def test_a_difference_is_called_one_only_where_the_intervals_are_apart() -> None:
    slow = [done(n, who="A", seconds=(("step", 900 + n),)) for n in range(12)]
    quick = [done(n, who="B", seconds=(("step", 300 + n),)) for n in range(12, 24)]
    same = [done(n, who="C", seconds=(("step", 300 + n - 12),)) for n in range(24, 36)]
    by_crew = {row["crew"]: row for row in rows(tables(*slow, *quick)["compared"])}
    assert by_crew["A"]["beside the others"] == by_crew["B"]["beside the others"]
    assert by_crew["A"]["beside the others"] == "different in time"
    by_crew = {row["crew"]: row for row in rows(tables(*quick, *same)["compared"])}
    assert {row["beside the others"] for row in by_crew.values()} == {"no difference shown"}


def test_time_at_a_step_is_of_finished_jobs() -> None:
    jobs = [done(n, seconds=(("step", n * 10),)) for n in range(1, 11)]
    jobs.append(done(11, finished=False, seconds=(("step", 9999),)))
    (row,) = rows(tables(*jobs)["times"])
    assert (row["jobs"], row["median"], row["90 %"]) == (10, 55, 90)


def test_the_order_of_jobs_does_not_matter() -> None:
    jobs = [
        done(n, found("xyz"[n % 3], parts=("valve",)), after=n * 7, who="AB"[n % 2],
             seconds=(("step", n),), skips=(("probe", f"reason {n % 2}"),) if n % 4 else ())
        for n in range(30)
    ]  # fmt: skip
    mixed = list(jobs)
    random.Random(3).shuffle(mixed)
    assert audit(mixed, WITHIN, ENOUGH) == audit(jobs, WITHIN, ENOUGH)


def test_a_table_in_columns_where_it_fits_and_line_by_line_where_not() -> None:
    table = PrintedTable("t", "T", ("who", "time"), (("A. Sample", 5), ("B", None)), "", ("", "s"))
    assert lines(table, 40) == ["who        time", "A. Sample  5 s", "B          -"]
    assert lines(table, 10) == ["A. Sample; time 5 s", "B; time -"]
    assert table.documents()[0] == {"who": "A. Sample", "time": {"value": 5, "unit": "s"}}
