"""A C module that fails, a user who interrupts, leaks, and crashes that would end the process."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from budget import at_night

import expert
from expert.inference import durable as durable_module
from expert.inference.engine import Engine, EngineError, Firing, HornRule, Program
from expert.inference.make_engine import FallingBack, make_engine

Compile = Callable[[Program], Engine]
RULES = [HornRule(f"r{n}", (f"fact {n}", "shared"), (f"fact {n + 1}",)) for n in range(8)]
FACTS = ["fact 0", "shared"]
CALLS = (
    "create_ruleset",
    "assert_facts",
    "start_action_for_state",
    "complete_and_start_action",
    "delete_state",
)


class Faulty:
    """The C module, but the call of one name fails at its n-th time, before or after its work."""

    def __init__(self, name: str, turn: int, fault: BaseException | None, after: bool) -> None:
        self._library: Any = durable_module.load_library()
        self.error = self._library.error
        self._plan = name, fault, after
        self.turn = turn

    def __getattr__(self, name: str) -> Any:
        call = getattr(self._library, name)
        planned, fault, after = self._plan
        if name != planned:
            return call

        def failing(*arguments: object) -> object:
            self.turn -= 1
            answer = call(*arguments) if self.turn or after else None
            if not self.turn:
                raise fault or self.error("Could not do it, error code: 101")
            return answer

        return failing


@pytest.fixture
def faulty(durable: Compile, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Faulty]:
    """Puts a C module that fails in place of the real one."""

    def put(
        name: str, turn: int, fault: BaseException | None = None, after: bool = False
    ) -> Faulty:
        library = Faulty(name, turn, fault, after)
        monkeypatch.setattr(durable_module, "load_library", lambda: library)
        return library

    return put


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("turn", [1, 2, 5])
@pytest.mark.parametrize("name", CALLS[1:4])
def test_a_failing_call_is_an_engine_error_and_the_next_run_is_right(
    durable: Compile, faulty: Callable[..., Faulty], name: str, turn: int, after: bool
) -> None:
    faulty(name, turn, after=after)
    engine = durable(RULES)
    with pytest.raises(EngineError, match="while it ran .*'r0' to 'r7'.*error code: 101"):
        engine.run(FACTS)
    for _ in range(3):
        assert engine.run(FACTS) == make_engine(RULES, "plain").run(FACTS)
        assert engine.run(["shared"]) == ()


@pytest.mark.parametrize("kind", [OSError, TypeError, KeyError, RuntimeError, UnicodeError])
def test_whatever_a_call_raises_is_an_engine_error(
    durable: Compile, faulty: Callable[..., Faulty], kind: type[Exception]
) -> None:
    faulty(CALLS[1], 1, kind("as nobody thought of"))
    with pytest.raises(EngineError, match="while it ran .*as nobody thought of"):
        durable(RULES).run(FACTS)


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("name", CALLS[1:])
def test_an_interrupt_is_passed_on_and_the_next_run_is_right(
    durable: Compile, faulty: Callable[..., Faulty], name: str, after: bool
) -> None:
    faulty(name, 1, KeyboardInterrupt(), after)
    engine = durable(RULES)
    with pytest.raises(KeyboardInterrupt):
        engine.run(FACTS)
    for _ in range(3):
        assert engine.run(FACTS) == make_engine(RULES, "plain").run(FACTS)
        assert engine.run(["shared"]) == ()


def test_a_session_that_cannot_be_deleted_does_not_spoil_the_answer(
    durable: Compile, faulty: Callable[..., Faulty]
) -> None:
    faulty("delete_state", 1)
    engine = durable(RULES)
    for _ in range(3):
        assert engine.run(FACTS) == make_engine(RULES, "plain").run(FACTS)
        assert engine.run(["shared"]) == ()


def test_rules_that_do_not_compile_are_an_engine_error_with_their_names(
    durable: Compile, faulty: Callable[..., Faulty]
) -> None:
    faulty("create_ruleset", 1)
    with pytest.raises(EngineError, match="to compile .*'r0' to 'r7'"):
        durable(RULES)


def test_auto_takes_the_plain_chainer_when_rules_do_not_compile(
    faulty: Callable[..., Faulty], none_small: None
) -> None:
    faulty("create_ruleset", 1)
    engine = make_engine(RULES)
    assert engine.name == "plain"
    assert "failed to compile" in engine.describe()


def test_a_fault_in_one_ruleset_of_many_leaves_none_with_old_facts(
    durable: Compile, faulty: Callable[..., Faulty], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(durable_module, "RULES_IN_A_RULESET", 2)
    faulty("complete_and_start_action", 6)
    engine = durable(RULES)
    with pytest.raises(EngineError):
        engine.run(FACTS)
    assert engine.run(["shared"]) == ()
    assert engine.run(FACTS) == make_engine(RULES, "plain").run(FACTS)


class Lying(Faulty):
    """The C module, but facts are answered with a code, or a firing is reported falsely."""

    def __init__(self, code: int, firing: str | None) -> None:
        super().__init__("", 0, None, False)
        self._code, self._firing = code, firing

    def assert_facts(self, handle: int, facts: str) -> tuple[int, int]:
        code, offset = self._library.assert_facts(handle, facts)
        return (self._code or code, offset)

    def complete_and_start_action(self, handle: int, offset: int) -> str | None:
        if self._firing:
            self._library.complete_and_start_action(handle, offset)
            answer, self._firing = self._firing, None
            return answer
        return None


@pytest.mark.parametrize(
    ("code", "firing", "words"),
    [
        (2, None, "refused facts with code 2"),
        (1, None, "refused facts with code 1"),
        (0, '{"3":{}}', "did not start a session"),
        (0, "nonsense", "substring not found"),
    ],
)
def test_a_false_answer_of_the_c_module_is_an_engine_error(
    durable: Compile, monkeypatch: pytest.MonkeyPatch, code: int, firing: str | None, words: str
) -> None:
    library = Lying(code, firing)
    monkeypatch.setattr(durable_module, "load_library", lambda: library)
    with pytest.raises(EngineError, match=words):
        durable(RULES).run(FACTS)


@pytest.mark.parametrize("number", [0, 5])
def test_a_rule_reported_twice_or_without_its_facts_is_an_engine_error(
    durable: Compile, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def drained(ruleset: Any) -> list[int]:
        fired = real(ruleset)
        return fired if fired == [len(RULES)] else [*fired, number]

    real = durable_module._Ruleset._drain
    monkeypatch.setattr(durable_module._Ruleset, "_drain", drained)
    with pytest.raises(EngineError, match=f"rule 'r{number}' wrongly"):
        durable(RULES).run(FACTS)


CRASHERS = """
import sys
from expert.inference.engine import HornRule
from expert.inference.make_engine import make_engine
def tried(rules, *cases):
    engine, judge = make_engine(rules, "durable"), make_engine(rules, "plain")
    for facts in cases:
        assert engine.run(facts) == judge.run(facts)
some = [HornRule(f"r{n}", (f"f{n}", "shared"), (f"f{n+1}",)) for n in range(600)]
tried(some, [], ["f9"], ["shared"], ["unknown"], ["shared", "f0"], ["shared", "f599"], [])
tried([HornRule("long", tuple(map(str, range(99))), ())], [], list(map(str, range(99))), ["7"])
tried([], [], ["x"])
engines = [make_engine(some[:50]) for _ in range(40)]
for engine in engines:
    engine.run(["shared", "f0"])
held = make_engine(some)
held.run(["shared", "f0"])
"""

MEMORY = """
import sys
from expert.inference.engine import HornRule
from expert.inference.make_engine import make_engine
runs, compiles = map(int, sys.argv[1:])
rules = [HornRule(f"r{n}", (f"f{n}", f"f{n+1}", "shared"), (f"c{n}",)) for n in range(200)]
cases = [[f"f{n}" for n in range(k, 200, 2 + k)] + ["shared"] * (k % 2) for k in range(5)]
cases.append([f"f{n}" for n in range(200)] + ["shared"])
engine = make_engine(rules, "durable")
def kilobytes():
    with open("/proc/self/statm") as pages:
        return int(pages.read().split()[1]) * 4
def gained(count, call):
    before = kilobytes()
    for n in range(count):
        call(cases[n % len(cases)])
    return kilobytes() - before
def compile_and_run(case):
    make_engine(rules, "durable").run(case)
gained(300, engine.run)
print(*(gained(runs, engine.run) for _ in range(3)))
gained(20, compile_and_run)
print(*(gained(compiles, compile_and_run) for _ in range(3)))
"""


def run_apart(code: str, *arguments: str) -> str:
    """What the code prints in a process of its own, which must end well."""
    done = subprocess.run(
        [sys.executable, "-X", "faulthandler", "-c", code, *arguments],
        cwd=Path(expert.__file__).parents[1],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, f"ended with {done.returncode}: {done.stderr[-2000:]}"
    return done.stdout


def test_programs_that_the_c_module_crashes_on_end_well_in_a_process_of_their_own(
    durable: Compile,
) -> None:
    run_apart(CRASHERS)


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
@at_night
def test_memory_stays_flat_over_many_runs_and_many_compiles(
    durable: Compile, nightly: bool
) -> None:
    # A leak grows in each of three windows; the C library's rounding up shows in one at most.
    runs, compiles = ("33334", "700") if nightly else ("1000", "40")
    for gained in run_apart(MEMORY, runs, compiles).splitlines():
        assert min(map(int, gained.split())) < 100, f"kilobytes gained, window by window: {gained}"


def test_an_engine_that_fails_in_a_run_is_replaced_and_says_so() -> None:
    rules = (HornRule("a", ("x",), ("y",)), HornRule("b", ("y",), ("z",)))

    class Broken:
        name = "durable"
        reason = "the default"

        def run(self, facts: object) -> tuple[Firing, ...]:
            raise EngineError("error 311")

        def describe(self) -> str:
            return self.name

    engine = FallingBack(Broken(), rules)
    assert [firing.rule for firing in engine.run(["x"])] == ["a", "b"]
    assert engine.name == "plain"
    assert "durable failed: error 311" in engine.reason
