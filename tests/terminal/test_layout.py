"""Wrapping by display width."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from expert.terminal.layout import Layout, cut, to_ascii, width_of


def test_a_wide_sign_takes_two_columns_and_a_combining_one_none() -> None:
    assert width_of("温") == 2
    assert width_of("e\u0301") == 1


@given(st.text(max_size=300), st.integers(min_value=20, max_value=100))
def test_no_line_is_wider_than_the_screen(text: str, columns: int) -> None:
    layout = Layout(columns)
    for lines in (layout.text(text), layout.named("Where", text), layout.listed("12", text, 4)):
        assert all(width_of(line) <= columns for line in lines)


@given(st.text(alphabet="abc déü温 ", max_size=200), st.integers(min_value=20, max_value=90))
def test_wrapping_loses_no_sign(text: str, columns: int) -> None:
    kept = "".join("".join(Layout(columns).text(text)).split())
    assert kept == "".join(text.split())


def test_the_next_lines_of_a_named_value_are_set_in() -> None:
    lines = Layout(20).named("Where", "upper header in the motor room")
    assert lines[0].startswith("Where: ")
    assert all(line.startswith("  ") for line in lines[1:])


def test_a_mark_stands_alone_in_its_column() -> None:
    assert Layout(20).listed("1", "still frosted on the lowest row") == [
        "1 still frosted on", "  the lowest row",
    ]  # fmt: skip


def test_a_line_that_must_not_wrap_is_cut_at_its_display_width() -> None:
    assert cut("温度 low", 3) == "温"


@pytest.mark.parametrize(
    ("text", "plain"),
    [("200 °F", "200  deg F"), ("1 ± 2", "1 +/- 2"), ("é", "e"), ("温", "?"), ("psi", "psi")],
)
def test_ascii_spells_signs_out(text: str, plain: str) -> None:
    assert to_ascii(text) == plain


def test_a_layout_without_unicode_gives_only_ascii() -> None:
    assert all(line.isascii() for line in Layout(40, ascii_only=True).text("−8 °F ± 1 – 温"))


def test_control_signs_cannot_steer_the_terminal() -> None:
    assert Layout(40).text("a\x1b[2Jb\rc") == ["a[2Jb c"]
