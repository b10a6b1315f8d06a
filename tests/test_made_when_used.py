"""Data classes made at their first use are what the standard decorator makes of the same class."""

from __future__ import annotations

import copy
import dataclasses
import pickle
import threading
from collections.abc import Callable, Mapping
from dataclasses import FrozenInstanceError, field
from typing import Any

import pytest

from expert import made_when_used

Decorator = Callable[..., Any]


def classes(dataclass: Decorator) -> tuple[type[Any], type[Any], type[Any]]:
    """A frozen class, one below it with an equality of its own, and one that can be changed."""

    @dataclass(frozen=True)
    class Above:
        """A name and more."""

        name: str
        more: Mapping[str, int] = field(default_factory=dict, compare=False)

        def __post_init__(self) -> None:
            if not self.name:
                raise ValueError("no name")

    @dataclass(frozen=True)
    class Below(Above):
        """One with a weight."""

        weight: float = field(default=2.0, repr=False)

        def __eq__(self, other: object) -> bool:
            return isinstance(other, Below) and self.weight == other.weight

        def __hash__(self) -> int:
            return hash(self.weight)

    @dataclass
    class Open:
        """One that changes."""

        count: int = 0

    return Above, Below, Open


@pytest.fixture(params=[dataclasses.dataclass, made_when_used.dataclass], ids=["std", "late"])
def made(request: pytest.FixtureRequest) -> tuple[type[Any], type[Any], type[Any]]:
    return classes(request.param)


Made = tuple[type[Any], type[Any], type[Any]]


def test_equality_hash_and_text_are_those_of_the_fields(made: Made) -> None:
    base, below, _ = made
    one, same = base("a", {"x": 1}), base("a", {"x": 2})
    assert one == same and hash(one) == hash(same) and one != base("b")
    assert repr(one).endswith("Above(name='a', more={'x': 1})")
    assert below("a") == below("b") and hash(below("a")) == hash(2.0) and below("a") != one


def test_defaults_are_made_anew_and_a_wrong_call_is_told(made: Made) -> None:
    base, below, open_ = made
    assert base("a").more is not base("a").more
    assert below("a").weight == 2.0 and below.weight == 2.0 and not hasattr(base, "more")
    with pytest.raises(TypeError, match=r"missing 1 required positional argument: 'name'"):
        base()
    with pytest.raises(ValueError, match="no name"):
        below("")
    assert open_() == open_(0)


def test_frozen_stays_so_and_what_is_not_frozen_has_no_hash(made: Made) -> None:
    base, below, open_ = made
    for one in (base("a"), below("a")):
        with pytest.raises(FrozenInstanceError, match="assign to field 'name'"):
            one.name = "b"
        with pytest.raises(FrozenInstanceError, match="delete field 'name'"):
            del one.name
    changing = open_()
    changing.count = 3
    assert changing.count == 3
    with pytest.raises(TypeError, match="unhashable"):
        hash(changing)


@pytest.mark.parametrize("first", ["fields", "replace", "match", "is", "hash"])
def test_whatever_is_used_first_makes_the_class(made: Made, first: str) -> None:
    _, below, open_ = made
    one = object.__new__(below)  # as it comes out of a file, without a call
    one.__dict__.update(name="a", more={}, weight=1.0)
    if first == "fields":
        assert [each.name for each in dataclasses.fields(below)] == ["name", "more", "weight"]
    elif first == "replace":
        assert dataclasses.replace(one, name="b").name == "b"
    elif first == "match":
        assert below.__match_args__ == ("name", "more", "weight")
    elif first == "is":
        assert dataclasses.is_dataclass(below) and dataclasses.is_dataclass(open_)
    else:
        assert hash(one) == hash(1.0)
    assert copy.deepcopy(one) == one


def test_one_that_was_read_from_a_file_is_frozen_before_anything_was_used(made: Made) -> None:
    base, *_ = made
    one = object.__new__(base)
    one.__dict__.update(name="a", more={})
    with pytest.raises(FrozenInstanceError):
        one.name = "b"


@made_when_used.dataclass(frozen=True)
class Pickled:
    """One that can be pickled."""

    name: str


def test_it_is_pickled_like_any_other() -> None:
    assert pickle.loads(pickle.dumps(Pickled("a"))) == Pickled("a")


def test_threads_that_use_a_class_first_at_once_all_get_a_whole_one() -> None:
    for _ in range(50):
        base, *_ = classes(made_when_used.dataclass)
        start = threading.Barrier(4)
        found: list[Any] = []

        def use(base: type[Any] = base, start: Any = start, found: Any = found) -> None:
            start.wait()
            found.append(base("a"))

        threads = [threading.Thread(target=use) for _ in range(4)]
        for each in threads:
            each.start()
        for each in threads:
            each.join()
        assert found == [base("a")] * 4


def test_altered_is_what_replace_gives(made: tuple[type[Any], type[Any], type[Any]]) -> None:
    above, below, _ = made
    one = below("a", {"b": 1}, 3.0)
    vars(one)["worked_out"] = "of the first"
    other = made_when_used.altered(one, name="c", weight=4.0)
    assert vars(other) == vars(dataclasses.replace(one, name="c", weight=4.0))
    assert type(other) is below and vars(one)["worked_out"] and one.name == "a"
    with pytest.raises(TypeError, match="no field 'size'"):
        made_when_used.altered(above("a"), size=1)
