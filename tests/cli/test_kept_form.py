"""What is kept says the same when it is read again, its late part too."""

from __future__ import annotations

import copy
import pickle
from pathlib import Path
from threading import Barrier, Thread

import pytest

from expert.cli.job.kept_form import read, written
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase

from .small_job import SMALL


@pytest.fixture(scope="module")
def base() -> Rulebase:
    return load_rulebase(SMALL / "rules")


def again(base: Rulebase) -> Rulebase:
    found = read(written(base))
    assert isinstance(found, Rulebase)
    return found


def test_rules_come_later_and_are_the_same(base: Rulebase) -> None:
    found = again(base)
    assert not {*found.LATER} & {*vars(found)} and found.quantities == base.quantities
    assert found.rules == base.rules
    assert found == base and {*found.LATER} <= {*vars(found)}
    with pytest.raises(AttributeError, match="no attribute 'rule'"):
        getattr(found, "rule")  # noqa: B009


def test_a_copy_of_one_that_was_not_read_yet_is_whole(base: Rulebase) -> None:
    assert copy.copy(again(base)) == base
    assert pickle.loads(pickle.dumps(again(base))) == base
    assert read(written(again(base))) == base


def test_threads_that_ask_at_once_get_the_same_rules(base: Rulebase) -> None:
    for _ in range(20):
        found, start, seen = again(base), Barrier(4), []

        def ask(found: Rulebase = found, start: Barrier = start, seen: list[object] = seen) -> None:
            start.wait()
            seen.append(found.rules)

        threads = [Thread(target=ask) for _ in range(4)]
        for each in threads:
            each.start()
        for each in threads:
            each.join()
        assert len(seen) == 4 and all(each is seen[0] for each in seen)


def test_a_file_that_is_damaged_in_its_late_part_is_refused_at_once(base: Rulebase) -> None:
    data = bytearray(written(base))
    data[-100] ^= 1
    with pytest.raises(ValueError, match="as it was written"):
        read(bytes(data))


def test_paths_lie_where_it_is_read(base: Rulebase) -> None:
    root = str(Path(next(iter(base.rules.values())).place.path).parent)
    data = written(base, root)
    assert root.encode() not in data
    found = read(data, "/elsewhere")
    assert isinstance(found, Rulebase)
    assert all(each.place.path.startswith("/elsewhere/") for each in found.rules.values())
    assert read(data, root) == base


def test_what_was_worked_out_is_not_kept(base: Rulebase) -> None:
    asked = again(base)
    assert asked.certainty.words_of_tests and "words_of_tests" in vars(asked.certainty)
    assert "words_of_tests" not in vars(again(asked).certainty)
