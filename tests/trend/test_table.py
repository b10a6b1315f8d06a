"""Logs as loggers write them: zones, dialects, words, disorder."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from shipped_knowledge import shipped_rules

from expert.errors import ReadingError
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.trend.stamps import StampReader
from expert.trend.table import LogTable, read_table

SITE = """\
site: {name: Test, altitude: 0 ft}
racks:
  - id: A
    refrigerant: R-449A
    application: low temperature
    defrost: hot gas
    circuits: [{id: A1}, {id: A2}]
log:
  time: {column: Time, zone: America/Denver%(time)s}
  file: {%(file)s}
  no_value: [offline]
  columns:
    - of: A1
      read:
        logged_coil_temperature: {column: "{id} coil", unit: %(unit)s}
        logged_defrost_state: {column: "{id} mode", words: {cooling: [Cool, 0], defrost: [Gas, 1]}}
"""


@pytest.fixture(scope="module")
def rules() -> Rulebase:
    return shipped_rules()


def read(
    tmp_path: Path, rules: Rulebase, text: str | bytes, *, unit: str = "F", time: str = "",
    file: str = "",
) -> LogTable:  # fmt: skip
    path = tmp_path / "log.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    site = parse_site(SITE % {"unit": unit, "time": time, "file": file}, "site.yaml", rules)
    assert site.log is not None
    return read_table(path, site.log, rules.quantities)


def utc(*parts: int) -> float:
    return datetime(*parts, tzinfo=UTC).timestamp()  # type: ignore[misc,arg-type]


def coil(table: LogTable) -> list[float | None]:
    got = table.columns["A1", "logged_coil_temperature"]
    return [None if np.isnan(x) else round(float(x) - 273.15, 1) for x in got]


PLAIN = "Time,A1 coil,A1 mode\n2026-03-01 00:00:00,14,Cool\n2026-03-01 00:01:00,32,gas\n"


def test_units_and_words_become_si_and_choices(tmp_path: Path, rules: Rulebase) -> None:
    table = read(tmp_path, rules, PLAIN)
    assert coil(table) == [-10.0, 0.0]
    assert table.columns["A1", "logged_defrost_state"].tolist() == [0, 2]
    assert table.seconds[0] == utc(2026, 3, 1, 7)


def test_semicolons_decimal_commas_and_a_byte_order_mark(tmp_path: Path, rules: Rulebase) -> None:
    text = "\ufeffTime;A1 coil;A1 mode\n2026-03-01 00:00;-10,5;0\n2026-03-01 00:01;0,0;1\n"
    assert coil(read(tmp_path, rules, text, unit="C")) == [-10.5, 0.0]
    assert coil(read(tmp_path, rules, text[1:].encode("utf-16"), unit="C")) == [-10.5, 0.0]


def test_windows_text_and_lines_above_the_header(tmp_path: Path, rules: Rulebase) -> None:
    text = "Logger \u00b0F\nStore 7\n" + PLAIN
    assert coil(read(tmp_path, rules, text.encode("cp1252"))) == [-10.0, 0.0]


def test_missing_words_blanks_and_impossible_values_are_unknown(
    tmp_path: Path, rules: Rulebase
) -> None:
    rows = ("14,Cool", ",", "offline,Cool", "--,Cool", "-999,Cool", "32")
    text = "Time,A1 coil,A1 mode\n" + "".join(
        f"2026-03-01 00:{n:02}:00,{row}\n" for n, row in enumerate(rows)
    )
    table = read(tmp_path, rules, text)
    assert coil(table) == [-10.0, None, None, None, None, 0.0]
    assert any("-999" in note for note in table.notes)
    assert any("end early" in note for note in table.notes)


def test_disorder_is_put_in_order_and_the_first_of_a_stamp_counts(
    tmp_path: Path, rules: Rulebase
) -> None:
    rows = ("02,32", "01,14", "02,50", "03,50")
    text = "Time,A1 coil,A1 mode\n" + "".join(f"2026-03-01 00:{row},Cool\n" for row in rows)
    table = read(tmp_path, rules, text)
    assert coil(table) == [-10.0, 0.0, 10.0]
    assert len(table.notes) == 2


def test_the_hour_that_comes_twice_and_the_one_that_is_skipped() -> None:
    clock = StampReader("America/Denver", "iso")
    stamps = ("00:59", "01:30", "01:59", "01:00", "01:30", "01:59", "02:00")
    got = [clock.seconds(f"2026-11-01 {each}") for each in stamps]
    assert (np.diff(got) > 0).all()
    assert got[-1] - got[0] == 2 * 3600 + 60
    clock.seconds("2027-03-14 02:30")
    assert clock.skipped == 1


def test_an_offset_wins_over_the_zone_and_forms_can_be_told() -> None:
    assert StampReader("America/Denver", "iso").seconds("2026-03-01T00:00:00+02:00") == utc(
        2026, 2, 28, 22
    )
    assert StampReader("UTC", "%d.%m.%Y %H:%M").seconds("01.03.2026 06:30") == utc(
        2026, 3, 1, 6, 30
    )
    assert StampReader("UTC", "epoch seconds").seconds("1700000000") == 1.7e9


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("Zeit,A1 coil,A1 mode\n", "no column 'Time'"),
        (PLAIN.replace("A1 coil", "A1 coils"), "Did you mean 'A1 coils'?"),
        (PLAIN.replace("A1 mode", "A1 coil"), "is there 2 times"),
        (PLAIN.replace(",32,", ",warm,"), "log.csv:3: column 'A1 coil': 'warm' cannot be read"),
        (PLAIN.replace("gas", "ga"), "Did you mean 'gas'?"),
        (PLAIN.replace("2026-03-01 00:01:00", "yesterday"), "'yesterday' is no time stamp"),
        ("Time,A1 coil,A1 mode\n", "no rows"),
        ("", "empty"),
    ],
)
def test_what_cannot_be_read_is_told_with_its_place(
    tmp_path: Path, rules: Rulebase, text: str, says: str
) -> None:
    with pytest.raises(ReadingError) as told:
        read(tmp_path, rules, text)
    assert says in str(told.value)
    assert "log.csv" in str(told.value)
