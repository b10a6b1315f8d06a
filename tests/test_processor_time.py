"""What the tests cost is told with the files that cost much."""

from __future__ import annotations

from collections import Counter

from processor_time import MUCH, lines


def test_only_what_costs_much_is_named_and_the_dearest_first() -> None:
    by_file = Counter({"small.py": MUCH - 0.1, "dear.py": MUCH + 1, "dearest.py": MUCH + 2})
    total, _, *named = lines(by_file)
    assert f"{3 * MUCH + 2.9:.0f} s" in total
    assert [line.split()[-1] for line in named] == ["dearest.py", "dear.py"]


def test_where_nothing_costs_much_only_the_sum_is_told() -> None:
    assert len(lines(Counter({"small.py": 1.0}))) == 1
