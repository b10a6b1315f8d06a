"""Rules run by durable_rules; the only module that imports it.

Its C module is exact for one thing: joins of constant tests on facts that are asserted once,
within tables of fixed size that it does not all check. So a program is rewritten until it is only
that. Facts become numbers, long bodies are cut, much-used facts are asserted in several copies,
and many rules are spread over several rulesets whose conclusions are passed around until nothing
new follows. Sizes are those of the C source of durable_rules 2.0.28; the file is named beside each.

    rules            iced: f1 and ... and f18 -> iced          warm: iced and f1 -> warm

    numbers, cut     step 0: 1..16 -> 20 (a helper)            step 2: 19, 1 -> 21
    at 16 facts      step 1: 20, 17, 18 -> 19

    places           each fact gets a place 1, 2, 3 ...; one that more than 255 steps test gets
                     several, and each 255 steps test another of them

    as C sees it     place 7 of at most 27, written to base 3: {"x": 0, "y": 2, "z": 1}
                     step 2: {"all": [{"a": x=.. y=.. z=.. of fact 19}, {"b": ... of fact 1}]}

    a run            assert 1..18 -> step 0 fires -> assert 20 -> step 1 -> assert 19 -> step 2
"""

from __future__ import annotations

import math
import threading
import weakref
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from enum import Enum
from typing import Protocol, cast

from expert.inference.engine import EngineError, Firing, Program, fact_set, firings_in_order

JOINED_FACTS = 16  # MAX_MESSAGE_FRAMES, state.h
USERS_OF_ONE_TEST = 255  # BETA_LIST_LENGTH less its end mark, rules.h; one more ends the process
# Below MAX_ACTIONS (4,096, rete.c) on purpose: one session's table of joins then stays under
# 32 MiB, above which the C library gives memory back and clears new pages at every run (measured:
# 2,000 rules in one ruleset take nine times as long as 1,000).
RULES_IN_A_RULESET = 1000
JOINS_IN_A_RULESET = 2500
JOINS_IN_ALL = 50_000  # about 10 kB each while a run lasts, so half a gigabyte

_SLOTS = "abcdefghijklmnop"


class _Library(Protocol):
    """The calls of the C module that are used. A session is known by its ruleset and an offset."""

    error: type[Exception]

    def create_ruleset(self, name: str, rules: str, /) -> int: ...
    def delete_ruleset(self, handle: int, /) -> None: ...
    def assert_facts(self, handle: int, facts: str, /) -> tuple[int, int]: ...
    def start_action_for_state(self, handle: int, offset: int, /) -> tuple[str, str] | None: ...
    def complete_and_start_action(self, handle: int, offset: int, /) -> str | None: ...
    def delete_state(self, handle: int, session: str | None, /) -> None: ...


@dataclass(frozen=True)
class _RuleInC:
    """One rule as C sees it. `rank` is the firing it stands for, None for part of a long body."""

    rule: str
    body: tuple[int, ...]
    head: tuple[int, ...]
    rank: int | None


class _SessionState(Enum):
    CLOSED = "closed"
    OPEN = "open"
    FRAGILE = "fragile"  # deleting it might end the process


class DurableEngine:
    """An Engine on durable_rules. One run at a time; other threads wait. Nothing of a run stays.

    Memory during a run is about 10 kB for each fact in each rule's body.
    """

    name = "durable"

    def __init__(self, rules: Program, reason: str) -> None:
        """Compiled rules. Raises EngineError where durable_rules is missing or the rules are too
        many for it.
        """
        library = load_library()
        self.reason = reason
        self._lock = threading.Lock()
        ranks, self._firings = firings_in_order(rules)
        self._numbers: dict[str, int] = {}
        steps = self._steps(rules, ranks)
        joins = sum(len(step.body) for step in steps)
        if joins > JOINS_IN_ALL:
            raise EngineError(
                f"durable_rules would join {joins} facts in {len(rules)} rules; more than "
                f"{JOINS_IN_ALL} take too much memory. The largest body is that of rule "
                f"'{max(rules, key=lambda rule: len(rule.body)).name}'."
            )
        self._always = [step for step in steps if not step.body]
        self._rulesets = [
            _Ruleset(library, part) for part in _parts([step for step in steps if step.body])
        ]

    def run(self, facts: Iterable[str]) -> tuple[Firing, ...]:
        """Every firing of the fixed point; see `Engine.run`."""
        numbers = self._numbers
        start = {numbers[fact] for fact in fact_set(facts) if fact in numbers}
        with self._lock:
            self._close()  # an interrupt during the clean-up below may have left a session
            try:
                return self._settle(start)
            finally:
                self._close()

    def describe(self) -> str:
        """One sentence for a report; see `Engine.describe`."""
        return f"durable_rules, {len(self._firings)} rules ({self.reason})."

    def _steps(self, rules: Program, ranks: dict[int, int]) -> list[_RuleInC]:
        numbers = self._numbers
        for rule in rules:
            for fact in (*rule.body, *rule.head):
                numbers.setdefault(fact, len(numbers))
        helper = len(numbers)
        steps = []
        for index, rule in enumerate(rules):
            body = tuple(dict.fromkeys(numbers[fact] for fact in rule.body))
            while len(body) > JOINED_FACTS:
                steps.append(_RuleInC(rule.name, body[:JOINED_FACTS], (helper,), None))
                body = (helper, *body[JOINED_FACTS:])
                helper += 1
            head = tuple(numbers[fact] for fact in rule.head)
            steps.append(_RuleInC(rule.name, body, head, ranks[index]))
        return steps

    def _settle(self, start: set[int]) -> tuple[Firing, ...]:
        known = start.union(*(step.head for step in self._always))
        fired = set(self._always)
        new = known
        while new:
            asserted = sorted(new)
            found = [step for ruleset in self._rulesets for step in ruleset.tell(asserted)]
            new = set()
            for step in found:
                if step in fired or not known.issuperset(step.body):
                    raise EngineError(f"durable_rules fired rule '{step.rule}' wrongly.")
                fired.add(step)
                new.update(step.head)
            new -= known
            known |= new
        ranks = sorted(step.rank for step in fired if step.rank is not None)
        return tuple(self._firings[rank] for rank in ranks)

    def _close(self) -> None:
        for ruleset in self._rulesets:
            ruleset.close()


class _Ruleset:
    """Some of the rules in one C ruleset, and its one session, opened when first needed."""

    def __init__(self, library: _Library, steps: Sequence[_RuleInC]) -> None:
        self._library = library
        self._steps = steps
        self._text, self._sentinel, self._messages = _written(steps)
        self._session = _SessionState.CLOSED
        self._offset = 0
        self._create()

    def tell(self, facts: Iterable[int]) -> list[_RuleInC]:
        """What fires now that these facts hold too. Raises EngineError if the C module fails."""
        messages = [text for fact in facts for text in self._messages.get(fact, ())]
        if not messages:
            return []
        with self._explained("while it ran"):
            if self._session is not _SessionState.OPEN:
                self._open()
            self._assert(messages)
            return [self._steps[number] for number in self._drain()]

    def close(self) -> None:
        """Ends the session if there is one. What cannot be deleted safely is given up with its
        ruleset, at the cost of its memory.
        """
        if self._session is _SessionState.OPEN:
            self._session = _SessionState.FRAGILE
            with suppress(self._library.error):
                self._library.delete_state(self._handle, None)
                self._session = _SessionState.CLOSED
        if self._session is _SessionState.FRAGILE:
            self._delete()
            with self._explained("while it started again"):
                self._create()
            self._session = _SessionState.CLOSED

    def _create(self) -> None:
        with self._explained("to compile"):
            self._handle = self._library.create_ruleset("rackwalk", self._text)
        self._delete: Callable[[], object] = _deleted_with(self, self._library, self._handle)

    def _open(self) -> None:
        # A session in which no rule has fired yet cannot be deleted: C frees an unset pointer.
        self._session = _SessionState.FRAGILE
        self._assert([self._sentinel])
        if self._drain() != [len(self._steps)]:
            raise EngineError(f"durable_rules did not start a session ({self._range()}).")
        self._session = _SessionState.OPEN

    def _assert(self, messages: list[str]) -> None:
        code, self._offset = self._library.assert_facts(self._handle, f"[{','.join(messages)}]")
        if code:
            raise EngineError(f"durable_rules refused facts with code {code} ({self._range()}).")

    def _drain(self) -> list[int]:
        library, handle, offset = self._library, self._handle, self._offset
        fired = []
        first = library.start_action_for_state(handle, offset)
        message = first[1] if first else None
        while message is not None:
            fired.append(int(message[2 : message.index('"', 2)]))
            message = library.complete_and_start_action(handle, offset)
        return fired

    def _range(self) -> str:
        return f"rules '{self._steps[0].rule}' to '{self._steps[-1].rule}'"

    @contextmanager
    def _explained(self, when: str) -> Iterator[None]:
        try:
            yield
        except EngineError:
            raise
        except Exception as error:  # whatever the C module raises, the plain chainer takes over
            raise EngineError(f"durable_rules failed {when} ({self._range()}): {error}") from error


def load_library() -> _Library:
    """The C module. Raises EngineError, with the reason, where it is missing or does not load."""
    try:
        import durable_rules_engine
    except Exception as error:  # one that is broken fails in more ways than one that is missing
        raise EngineError(f"durable_rules cannot be imported: {error}") from error
    return cast(_Library, durable_rules_engine)


def name_hash(text: str) -> int:
    """The 32-bit FNV-1a hash by which the C module knows ids, instead of by the ids themselves."""
    value = 0x811C9DC5
    for byte in text.encode():
        value = (value ^ byte) * 16777619 & 0xFFFFFFFF
    return value


def _deleted_with(owner: object, library: _Library, handle: int) -> Callable[[], object]:
    finalizer = weakref.finalize(owner, library.delete_ruleset, handle)
    finalizer.atexit = False
    return finalizer


def _parts(steps: Sequence[_RuleInC]) -> Iterator[list[_RuleInC]]:
    part: list[_RuleInC] = []
    joins = 0
    for step in steps:
        joins += len(step.body)
        if part and (joins > JOINS_IN_A_RULESET or len(part) == RULES_IN_A_RULESET):
            yield part
            part, joins = [], len(step.body)
        part.append(step)
    if part:
        yield part


def _written(steps: Sequence[_RuleInC]) -> tuple[str, str, dict[int, tuple[str, ...]]]:
    """The ruleset, its sentinel fact and the messages of every fact, as JSON.

    Tests under one node are at most 511 (NEXT_BUCKET_LENGTH, rules.h; one more never returns), so
    a place is written as three digits, each tested under the one before it.
    """
    uses = Counter(fact for step in steps for fact in step.body)
    places: dict[int, range] = {}
    count = 1
    for fact, users in uses.items():
        copies = -(-users // USERS_OF_ONE_TEST)
        places[fact] = range(count, count + copies)
        count += copies
    base = math.ceil(count ** (1 / 3))
    ids = _distinct_ids(count)

    def digits(place: int) -> tuple[int, int, int]:
        return place // base // base, place // base % base, place % base

    def test(place: int) -> str:
        x, y, z = digits(place)
        return f'{{"$and":[{{"x":{x}}},{{"y":{y}}},{{"z":{z}}}]}}'

    def message(place: int) -> str:
        x, y, z = digits(place)
        return f'{{"id":"{ids[place]}","x":{x},"y":{y},"z":{z}}}'

    rules = []
    seen: Counter[int] = Counter()
    for number, step in enumerate(steps):
        slots = []
        for slot, fact in zip(_SLOTS, step.body, strict=False):
            place = places[fact][seen[fact] // USERS_OF_ONE_TEST]
            seen[fact] += 1
            slots.append(f'{{"{slot}":{test(place)}}}')
        rules.append(f'"{number}":{{"all":[{",".join(slots)}]}}')
    rules.append(f'"{len(steps)}":{{"all":[{{"a":{test(0)}}}]}}')
    messages = {fact: tuple(map(message, spread)) for fact, spread in places.items()}
    return f"{{{','.join(rules)}}}", message(0), messages


def _distinct_ids(count: int) -> list[str]:
    taken = {name_hash("sid-0")}  # the id that C gives to a session's own fact
    ids: list[str] = []
    number = 0
    while len(ids) < count:
        if (hashed := name_hash(str(number))) not in taken:
            taken.add(hashed)
            ids.append(str(number))
        number += 1
    return ids
