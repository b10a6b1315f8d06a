"""A guided search: which reading comes next, when enough is known, which reading was named."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from expert.errors import ReadingError
from expert.inference.evaluation_model import (
    Evaluation,
    Finding,
    NextReading,
    Suspect,
    each_finding,
)
from expert.knowledge.judge import in_words
from expert.knowledge.model import Cause, Quantity, Rulebase
from expert.knowledge.site import Subject
from expert.knowledge.synonyms import called, names_of
from expert.made_when_used import dataclass
from expert.procedure.checklist import Checklist, Step
from expert.procedure.fitting import why_not
from expert.procedure.picture import Picture

TYPE = "search"
ENOUGH, MORE = "enough", "more"  # what ends a search, and what goes on with one that ended
BY_HAND = "by hand"  # how a search ended in which a person had enough
AT_END = f"Press Enter to end the search, type '{MORE}', or name a reading."
MOST = 60  # readings that are asked; then only what a person wants (own choice)
_CLEARLY = 0.7  # 'very likely' of the shipped scale; what is less is not handed over (own choice)
_AGAINST = -0.5  # what speaks so much against a cause makes it unlikely (own choice)
_LISTED = 5
_WORD = re.compile(r"(?:[^\s_-]|[_-](?![A-Za-z])|(?<![A-Za-z])[_-])+")  # 'hot-gas' is two, '-8' one


def reading_key(search: str, quantity: str) -> str:
    """The key of one reading of a search."""
    return f"{search}!{quantity}"


def named_key(step: str, quantity: str) -> str:
    """The key of a reading that was named at a step that asks for something else."""
    return f"{step}+{quantity}"


def reading_step(search: Step, quantity: Quantity, why: str) -> Step:
    """The step that asks a reading; its id is that of the search."""
    asks = "observe" if quantity.is_choice else "ask"
    return Step(
        search.id, asks, quantity.id, (quantity.id,), why=why or "You wanted it.",
        short_names=search.short_names, place=search.place,
    )  # fmt: skip


def asked_before(picture: Picture, begun: str) -> tuple[str, ...]:
    """The quantities that a search has asked or that a person named, in their order; `begun` is
    what their keys begin with."""
    return picture.asked_after.get(begun, ())


def given_up(picture: Picture, search: str) -> tuple[str, ...]:
    """The quantities that were wanted by name and never read when a person had enough.

    One that was read and is being corrected is none of them, nor one that was wanted later.
    """
    end = picture.closed.get(search)
    if end is None or end.text("ended") != BY_HAND:
        return ()
    begun = reading_key(search, "")
    wanted = {
        each.step: each.seq
        for each in picture.entries
        if each.kind == "reopen" and each.step.startswith(begun)
    }
    return tuple(
        key.removeprefix(begun)
        for key, seq in wanted.items()
        if seq < end.seq and picture.before(key) is None
    )


def typed_before(picture: Picture, key: str) -> str:
    """The value that was typed with the name of a reading, before its caution was answered."""
    last = next((each for each in reversed(picture.entries) if each.step == key), None)
    return last.text("typed") if last is not None and last.kind == "reopen" else ""


def suggested(evaluation: Evaluation, skip: Collection[str]) -> NextReading | None:
    """The reading that tells the most for its effort, of those that can be had."""
    return next(iter(evaluation.next_readings(skip)), None)


def leading(evaluation: Evaluation, rulebase: Rulebase) -> Finding | None:
    """The cause that leads clearly: very likely or more, and in words ahead of the next.

    A mere effect leads to nothing: what is behind it is not known yet.
    """
    first, second = (*evaluation.findings, None, None)[:2]
    if first is None or first.cause.symptom or first.certainty < _CLEARLY:
        return None
    say = rulebase.certainty.say
    behind = second is None or second.cause.symptom or say(second.certainty) != first.words
    return first if behind else None


def unlikely(evaluation: Evaluation, rulebase: Rulebase) -> tuple[Cause, ...]:
    """The causes against which so much speaks that they are no longer found, worst first."""
    found = {finding.cause.id for finding in each_finding(evaluation.findings)}
    from expert.inference.findings import weighed  # a first question needs none of it

    sums = weighed((rulebase.rules[name] for name in evaluation.fired), rulebase)
    against = [name for name, sum_ in sums.items() if sum_ <= _AGAINST and name not in found]
    return tuple(rulebase.causes[each] for each in sorted(against, key=lambda c: (sums[c], c)))


@dataclass(frozen=True)
class SoFar:
    """How a search stands: what follows now, what the last reading made unlikely."""

    evaluation: Evaluation
    ruled_out: tuple[Cause, ...]
    before: int  # causes that were unlikely before the last reading
    suspects: tuple[Suspect, ...] = ()


def so_far(
    now: Evaluation, before: Evaluation | None, rulebase: Rulebase, skip: Collection[str] = ()
) -> SoFar:
    """How a search stands after an evaluation, `before` being that without the last reading.

    What is in `skip` cannot be had.
    """
    known = {each.id for each in unlikely(before, rulebase)} if before else set()
    all_of = unlikely(now, rulebase)
    fresh = tuple(each for each in all_of if each.id not in known)
    return SoFar(now, fresh, len(all_of) - len(fresh), now.suspects(skip))


def handed_to(step: Step, cause: Cause, subject: Subject) -> tuple[tuple[Checklist, str], ...]:
    """The checklists that prove and repair a cause, each with the id of what it is run on.

    One for a circuit or compressor that is found from its rack has no id: the person says which.
    """
    found = []
    for checklist in step.hands_over.get(cause.id) or step.hands_over.get(cause.system, ()):
        if not why_not(checklist, subject):
            found.append((checklist, subject.id))
        elif checklist.subject == "rack" and subject.rack:
            rack = replace(subject, id=subject.rack, kind="rack")
            found += [(checklist, rack.id)] if not why_not(checklist, rack) else []
        elif checklist.subject in ("circuit", "compressor") and checklist.subject != subject.kind:
            found.append((checklist, ""))
    return tuple(found)


def find_reading(
    text: str,
    quantities: Mapping[str, Quantity],
    first: Iterable[str] = (),
    short_names: Mapping[str, str] | None = None,
) -> tuple[Quantity, str] | None:
    """The reading that a text names by a short name, its id or words of its title, and the value.

    The longest beginning that names one counts. None where nothing is named. Raises ReadingError
    where several could be meant, those in `first` told first.
    """
    parts = [*_WORD.finditer(text)]
    words = [part.group().lower() for part in parts]
    if not any(len(word) > 2 and word.isalpha() for word in words[:1]):
        return None

    def behind(end: int) -> str:
        return " ".join(text[parts[end].start() :].split()) if end < len(parts) else ""

    meant: list[Quantity] = []
    for end in range(len(words), 0, -1):
        short = (short_names or {}).get(" ".join(words[:end]), "")
        if short in quantities:
            return quantities[short], behind(end)
        computed = bool(in_words(" ".join(words[end:])))  # said of a value that is not read
        fitting = _fitting(named(words[:end], quantities, computed=computed), words[end:])
        if len(fitting) == 1:
            return fitting[0], behind(end)
        meant = meant or fitting
    if not meant:
        return None
    order = {name: n for n, name in enumerate(first)}
    meant.sort(key=lambda each: (order.get(each.id, len(order)), len(each.title), each.id))
    more = f", and {len(meant) - _LISTED} more" if len(meant) > _LISTED else ""
    listed = "; ".join(each.title for each in meant[:_LISTED])
    raise ReadingError(f"'{text.strip()}' could be: {listed}{more}. Type more of its name.")


def is_number(text: str) -> bool:
    """Whether a text begins like a number."""
    return text.lstrip("-+.")[:1].isdigit()


def _fitting(named: list[Quantity], value: list[str]) -> list[Quantity]:
    """Those that a value could belong to: a number to no choice; all where there is none."""
    if not value or not is_number(value[0]):
        return named
    return [each for each in named if not each.is_choice]


def named(
    words: list[str], quantities: Mapping[str, Quantity], *, computed: bool = False
) -> list[Quantity]:
    """The readings that some words name: all of the name, else each word begins one of it.

    With `computed` also values that are computed, which a person may know as high or low.
    """
    name = " ".join(words)
    can_be_read = [each for each in quantities.values() if computed or each.derivation is None]
    if exact := called(name, can_be_read):
        return exact
    whole = [q for q in can_be_read if set(words) <= _words(q)]
    if whole or any(is_number(word) for word in words):  # 2 is a value, and does not begin 20 min
        return whole
    return [
        q for q in can_be_read if all(any(w.startswith(word) for w in _words(q)) for word in words)
    ]


def _words(quantity: Quantity) -> set[str]:
    return {word for name in names_of(quantity) for word in name.split()}
