"""What is asked of a plant that has no site file."""

from __future__ import annotations

import argparse

from terminal.terminal_help import TypedFront

from expert.cli.readings.ask_plant import ask_plant
from expert.cli.readings.diagnose import add_arguments
from expert.places import shipped


def test_enter_alone_leaves_a_device_not_known_and_no_is_no() -> None:
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    words = ("--on", "rack", "--refrigerant", "R448A", "--application", "low temperature",
             "--defrost", "hot gas", "--altitude", "0 ft",
             "--jurisdiction", "United States")  # fmt: skip
    options = parser.parse_args(words)
    options.units, options.rulebase = "us", shipped("rulebase")

    devices: dict[str, tuple[str, ...]] = {}
    for first in ("", "no", "yes"):
        front = TypedFront((first, "", "no", "yes"))
        devices[first] = tuple(ask_plant(options, front, asking=True).subjects["R"].has)
        assert [each for each in front.shown if "Enter alone: not known" in each]
        assert len(front.asked) == 4
    assert len(devices[""]) == len(devices["no"]) == 1  # the last, which is fitted
    assert len(devices["yes"]) == 2
