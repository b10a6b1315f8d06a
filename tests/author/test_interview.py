"""A lead is asked for a rule in trade words; every answer is kept; what is written is right."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from budget import step

from expert.author.files.dump import dump
from expert.author.interview.ask import Asker, Back
from expert.author.interview.draft import Draft, lacking, prove, read_draft, rulebase_text
from expert.author.interview.interview import Interview
from expert.errors import PackError
from expert.knowledge.model import Rulebase

from .conftest import WritePack
from .person import Author

# Each line is what is typed, with the question it answers beside it.
FAN = """\
case fans            # what did you see
1                    # case fans
3                    # all stopped
discharge            # what else
1                    # discharge air
1                    # high
                     # nothing more
1                    # all of them
                     # no exception
                     # any temperature
                     # any defrost
motor                # what does it point to
1                    # case fan motor dead
                     # for it
3                    # strong
No fan moves the warm air away.
1                    # common practice
                     # the name proposed
                     # case fans: as proposed
                     # discharge air: as proposed
2                    # the air is different
-10 F
"""
NEW = """\
honeycomb            # what did you see
n                    # not there yet
dirt in the honeycomb
4                    # on a circuit
7                    # a share in %
behind the front panel
eyes
5 %                  # accuracy
3 min                # effort
1                    # stored pressure
2                    # from memory
1                    # how is it: high
less than 20 %       # its normal band: no lower edge is asked
40 %                 # very high
1                    # common practice
                     # nothing more
frost                # an exception: frost on the coil
1                    # frost on the coil
2                    # on one side
                     # no other exception
2                    # medium temperature
3                    # off cycle
n                    # a new cause
Honeycomb plugged
air                  # part of the plant
1                    # circuit
The air curtain breaks where the honeycomb is plugged.
Look at it with a light.
                     # no more
Wash it.
Dry it.
                     # no more
                     # no hazards
honeycomb            # parts
                     # no more
2                    # food
starving             # something follows from it
1                    # expansion valve starving
                     # nothing else
The honeycomb is clean.
1                    # common practice
1                    # for it
2                    # moderate
Warm air is drawn in where the curtain is broken.
3                    # a published standard
An invented handbook
An invented handbook, 2019, page 4
dirty-honeycomb      # the name
30 %
10 %                 # where it is not so
"""


@pytest.fixture
def interview(small_base: Rulebase) -> Callable[..., tuple[Draft, Author, list[Draft]]]:
    """Runs an interview to its end, or as far as the script; gives draft, person, what was kept."""

    def run(
        script: str, draft: Draft | None = None, *, finished: bool = True
    ) -> tuple[Draft, Author, list[Draft]]:
        answers: Draft = {} if draft is None else draft
        kept: list[str] = []
        person = Author(script)
        asker = Asker(person.read, person.said.append)
        talk = Interview(asker, small_base, answers, lambda: kept.append(dump(answers)))
        if finished:
            talk.run()
            assert next(person.left, None) is None, "not everything was asked"
        else:
            with pytest.raises(KeyboardInterrupt):
                talk.run()
        return answers, person, kept  # type: ignore[return-value]

    return run


Interviewing = Callable[..., tuple[Draft, Author, list[str]]]


def test_a_rule_on_what_is_known_is_asked_in_twenty_lines(
    interview: Interviewing, small_base: Rulebase
) -> None:
    draft, _, _ = interview(FAN)
    assert rulebase_text(draft, small_base) == (
        "rules:\n"
        "  - id: case-fans-fan-motor-dead\n"
        "    when: [case_fans is all stopped, case_air is high]\n"
        "    evidence_for: {fan-motor-dead: strong}\n"
        "    because: No fan moves the warm air away.\n"
        "    source: common practice\n"
        "    tests:\n"
        "      - given: {case_fans: all stopped, case_air: 3 F}\n"
        "        expect: fires\n"
        "      - given: {case_fans: all stopped, case_air: -10 F}\n"
        "        expect: silent\n"
    )


def test_what_is_not_there_yet_is_asked_for_and_all_of_it_is_right(
    interview: Interviewing, small_base: Rulebase, write_pack: WritePack
) -> None:
    draft, _, _ = interview(NEW)
    text = rulebase_text(draft, small_base)
    problems, outcomes = prove(text, write_pack(), "rules/new.yaml")
    assert problems == ()
    assert [outcome.got for outcome in outcomes] == ["fires", "silent"]
    assert all(outcome.passed for outcome in outcomes)
    for part in (
        "  - id: dirt_in_the_honeycomb\n", "    accuracy: 5 %\n", "    effort: 3\n",
        "  - id: dirt-in-the-honeycomb\n    of: dirt_in_the_honeycomb\n    normal: less than 20 %\n"
        "    very_high: 40 %\n",
        "  - id: honeycomb-plugged\n    title: Honeycomb plugged\n    system: air\n",
        "    do:\n      - Wash it.\n      - Dry it.\n", "    leads_to: [valve-starving]\n",
        "    unless: [frost_pattern is on one side]\n",
        "    applies: {application: medium temperature, defrost: off cycle}\n",
        '    source: "published: An invented handbook, 2019, page 4"\n',
        "        facts: {application: medium temperature, defrost: off cycle}\n",
    ):  # fmt: skip
        assert part in text, part


def test_every_answer_is_kept_before_the_next_question(interview: Interviewing) -> None:
    lines = NEW.split("\n")
    for number in range(1, len(lines) - 1, 3 * step(3)):
        draft, _, kept = interview("\n".join(lines[:number]), finished=False)
        if kept:
            assert kept[-1] == dump(draft)
    assert len(kept) > 25


class Remembering(Author):
    """Types a script and remembers what was typed at which question."""

    def __init__(self, script: str) -> None:
        super().__init__(script)
        self.answers: dict[str, list[str]] = {}
        self.question = ""

    def read(self, prompt: str) -> str:
        self.question = asked(self.said) or self.question
        self.said.clear()
        line = super().read(prompt)
        self.answers.setdefault(key_of(self.question, prompt), []).append(line)
        return line


def asked(said: list[str]) -> str:
    """The question and its options, without what is only told."""
    told = ("So far", "Going on", "Answer in", "Good:", "Now a case", "And a case", "There is no l")
    return "|".join(line for line in said if not line.startswith(told))


def key_of(question: str, prompt: str) -> str:
    return question if prompt.startswith("[") else f"{question}{prompt}"


class Resuming(Author):
    """Answers every question as it was answered the first time."""

    def __init__(self, draft: Draft, answers: dict[str, list[str]]) -> None:
        super().__init__("")
        self.draft = draft
        self.answers = answers
        self.question = ""
        self.times: dict[str, int] = {}

    def read(self, prompt: str) -> str:
        self.question = asked(self.said) or self.question
        self.said.clear()
        key = key_of(self.question, prompt)
        times = self.times.get(key, 0)
        if "What else" in key:
            conditions = self.draft["when"]
            assert isinstance(conditions, list)
            times = len(conditions) - 1
        self.times[key] = times + 1
        return self.answers[key][min(times, len(self.answers[key]) - 1)]


def stopped(base: Rulebase, script: str, path: Path) -> None:
    """An interview that ends with Ctrl-C after a script; its draft is kept in a file."""
    draft: Draft = {}
    person = Author(script)
    asker = Asker(person.read, person.said.append)
    with pytest.raises(KeyboardInterrupt):
        Interview(asker, base, draft, lambda: None if path.write_text(dump(draft)) else None).run()


@pytest.mark.parametrize("script", [FAN, NEW], ids=["known", "new"])
def test_an_interview_that_was_stopped_anywhere_goes_on_to_the_same_rule(
    small_base: Rulebase, tmp_path: Path, script: str
) -> None:
    first, whole = Remembering(script), Draft()
    Interview(Asker(first.read, first.said.append), small_base, whole, lambda: None).run()
    lines = script.rstrip("\n").split("\n")
    path = tmp_path / "new-rule.draft"
    for number in range(1, len(lines), step(40)):
        path.write_text("done: []\n")
        stopped(small_base, "\n".join(lines[:number]), path)
        draft = read_draft(path)
        again = Resuming(draft, first.answers)
        Interview(Asker(again.read, again.said.append), small_base, draft, lambda: None).run()
        assert rulebase_text(draft, small_base) == rulebase_text(whole, small_base), number


def test_going_back_asks_the_question_before_again(
    interview: Interviewing, small_base: Rulebase
) -> None:
    script = FAN.replace(
        "No fan moves the warm air away.\n", "A wrong reason.\nb\nNo fan moves the warm air away.\n"
    )
    draft, _, _ = interview(script)
    assert draft["because"] == "No fan moves the warm air away."


def test_going_back_while_picking_begins_the_pick_again(interview: Interviewing) -> None:
    draft, _, _ = interview("frost\n1\nb\n" + FAN)
    assert draft["when"] == ["case_fans is all stopped", "case_air is high"]


def test_going_back_from_a_new_entry_forgets_it(interview: Interviewing) -> None:
    draft, _, _ = interview("honeycomb\nn\nthe honeycomb\nb\n" + FAN)
    assert draft["quantities"] == []


def test_a_whole_condition_may_be_typed(interview: Interviewing) -> None:
    lines = FAN.split("\n")
    script = "\n".join(["case_fans is all stopped", "coil_pressure > header_pressure + 3 psi",
                        *lines[6:-3], "20 psig", "10 psig", "2", "9 psig"])  # fmt: skip
    draft, _, _ = interview(script)
    assert draft["when"] == ["case_fans is all stopped", "coil_pressure > header_pressure + 3 psi"]


def test_a_condition_that_is_wrong_is_told_with_what_was_meant(interview: Interviewing) -> None:
    _, person, _ = interview("case_fans is runing\n", finished=False)
    assert any("Did you mean 'running'" in line for line in person.said)


def test_one_of_several_may_be_enough(interview: Interviewing) -> None:
    lines = FAN.split("\n")
    lines[7] = "2"
    draft, _, _ = interview("\n".join(lines[:8]), finished=False)
    assert draft["when"] == [{"any": ["case_fans is all stopped", "case_air is high"]}]


def test_a_case_that_does_not_fire_is_asked_again(interview: Interviewing) -> None:
    lines = FAN.split("\n")
    script = "\n".join([*lines[:18], "", "-10 F", "", "3 F", *lines[20:]])
    draft, person, _ = interview(script)
    assert any("stays silent" in line for line in person.said)
    assert draft["fires"] == {"case_fans": "all stopped", "case_air": "3 F"}


def test_a_number_without_unit_is_refused_where_it_is_typed(interview: Interviewing) -> None:
    lines = FAN.split("\n")
    _, person, _ = interview("\n".join([*lines[:18], "", "12"]), finished=False)
    assert any("has no unit" in line for line in person.said)


def test_a_rule_may_point_to_a_sign_of_its_own(
    interview: Interviewing, small_base: Rulebase
) -> None:
    lines = FAN.split("\n")
    script = "\n".join([*lines[:11], "s", "no air moves", *lines[15:]])
    draft, _, _ = interview(script)
    text = rulebase_text(draft, small_base)
    assert "  - id: no_air_moves\n    says: no air moves\n" in text
    assert "    concludes: [no_air_moves]\n" in text


def test_b_is_back_at_every_kind_of_question() -> None:
    asker = Asker(lambda prompt: "b", lambda line: None)
    for ask in (
        lambda: asker.text("?"), lambda: asker.lines("?"), lambda: asker.choice("?", ["x"]),
        lambda: asker.several("?", ["x"], "none"),
    ):  # fmt: skip
        with pytest.raises(Back):
            ask()


def test_what_is_missing_in_a_draft_is_named(small_base: Rulebase) -> None:
    draft: Draft = {"when": ["case_fans is all stopped"], "points_to": "fan-motor-dead"}
    assert lacking(draft, small_base) == [
        "because", "source", "rule", "fires", "silent", "strength",
    ]  # fmt: skip
    assert "strength" not in lacking({"points_to": "air_is_warm"}, small_base)


def test_a_draft_with_an_unknown_key_is_refused_at_its_line(tmp_path: Path) -> None:
    path = tmp_path / "answers.yaml"
    path.write_text("when: [case_fans is all stopped]\npoint_to: fan-motor-dead\n")
    with pytest.raises(PackError, match=r"answers\.yaml:2:1.*\n.*\n.*\n.*'points_to'"):
        read_draft(path)


def test_what_is_wrong_in_a_proven_text_is_told_with_its_line(write_pack: WritePack) -> None:
    text = "rules:\n  - {id: r, when: [case_fans is of], evidence_for: {fan-motor-dead: weak},\n" \
           "     because: B., source: common practice}\n"  # fmt: skip
    folder = write_pack()
    problems, outcomes = prove(text, folder, "rules/r.yaml")
    assert outcomes == []
    assert str(problems[0].place) == "rules/r.yaml:2:20"
    assert "when: [case_fans is of]" in problems[0].message
    assert not (folder / "rules").exists()
