"""Codes, sessions and limits by themselves, on clocks that a test sets."""

from __future__ import annotations

import json
import stat
from pathlib import Path

from expert.web.limits import RateLimit
from expert.web.pairing import GOOD_FOR, WINDOW, WRONG_ALL, WRONG_EACH, Pairing
from expert.web.roles import LEAD, TECHNICIAN, Person, name_of
from expert.web.signed_in import IDLE, LONGEST, SignedIn, form_token


class SecondsClock:
    def __init__(self) -> None:
        self.at = 1_000_000.0

    def __call__(self) -> float:
        return self.at


def test_a_code_ends_and_is_used_up() -> None:
    clock = SecondsClock()
    pairing = Pairing(clock)
    code = pairing.new(TECHNICIAN)
    assert pairing.use(f" {code.shown} ", "a") == code
    assert pairing.use(code.text, "a") is None
    late = pairing.new(LEAD)
    clock.at += GOOD_FOR
    assert pairing.use(late.text, "a") is None


def test_codes_are_not_the_same_and_no_part_of_one_is_one() -> None:
    pairing = Pairing(SecondsClock())
    codes = {pairing.new(LEAD).text for _ in range(50)}
    assert len(codes) == 50
    assert all(len(each) == 8 and each.isdecimal() for each in codes)
    code = pairing.new(LEAD)
    for wrong in ("", code.text[:7], f"{code.text}0", code.text.replace("0", "\u0660") or "x"):
        if wrong != code.text:
            assert pairing.use(wrong, "b") is None


def test_one_address_and_all_together_are_held_up_for_a_while() -> None:
    clock = SecondsClock()
    pairing = Pairing(clock)
    for _ in range(WRONG_EACH):
        assert not pairing.wait("a")
        pairing.use("1", "a")
    assert pairing.wait("a") and not pairing.wait("b")
    for number in range(WRONG_ALL - WRONG_EACH):
        pairing.use("1", f"other {number}")
    assert pairing.wait("b")
    clock.at += WINDOW + 1
    assert not pairing.wait("a")


def test_a_session_ends_by_age_and_by_rest(tmp_path: Path) -> None:
    clock = SecondsClock()
    visits = SignedIn(tmp_path / "in.json", clock)
    idle, busy = visits.begin(Person("A", LEAD)), visits.begin(Person("B", LEAD))
    spent = 0.0
    while spent < LONGEST - IDLE:
        clock.at += IDLE / 2
        spent += IDLE / 2
        assert visits.of(busy) is not None
    assert visits.of(idle) is None
    clock.at += IDLE / 2
    assert visits.of(busy) is not None
    clock.at += IDLE / 2
    assert visits.of(busy) is None


def test_sessions_are_kept_over_a_restart_and_the_file_lets_nobody_in(tmp_path: Path) -> None:
    path, clock = tmp_path / "in.json", SecondsClock()
    token = SignedIn(path, clock).begin(Person("A", TECHNICIAN, "north"))
    again = SignedIn(path, clock)
    visit = again.of(token)
    assert visit is not None and visit.person == Person("A", TECHNICIAN, "north")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    text = path.read_text("utf-8")
    assert token not in text and form_token(token) not in text
    assert again.of(json.loads(text)[0]["id"]) is None
    again.end(visit)
    assert SignedIn(path, clock).of(token) is None


def test_a_file_of_sessions_that_was_written_by_hand_is_no_way_in(tmp_path: Path) -> None:
    path = tmp_path / "in.json"
    for text in ("", "[", "{}", '[{"id": "x"}]', '[{"person": {"name": "A", "role": "god"}}]'):
        path.write_text(text, "utf-8")
        assert SignedIn(path, SecondsClock()).of("x") is None


def test_a_name_that_could_steer_something_is_none() -> None:
    assert name_of("  A.   Sample ") == "A. Sample"
    for wrong in ("", "   ", "a\x1b[2J", "a" * 81, "a\u202eb"):
        assert name_of(wrong) == ""


def test_a_limit_fills_again() -> None:
    clock = SecondsClock()
    limit = RateLimit(3, 1, clock)
    assert [limit.allows("a") for _ in range(4)] == [True, True, True, False]
    assert limit.allows("b")
    clock.at += 2
    assert [limit.allows("a") for _ in range(3)] == [True, True, False]
