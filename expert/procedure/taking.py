"""Taking readings that were typed by name, wherever the checklist stands.

Each is entered at the step that asks for it, as if that step had been asked. What does not fit
now is asked or kept as a note; nothing that was typed is lost.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from expert.errors import ReadingError
from expert.knowledge.hints import hint_by_words
from expert.knowledge.synonyms import names_of, plain_name
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.by_name import NamedReading, names_one, resolve
from expert.procedure.corrections import answer_of
from expert.procedure.entries import BY_NAME, EARLY, Draft, Entry
from expert.procedure.open_now import Offer, offers
from expert.procedure.picture import Picture
from expert.procedure.reading_time import when_read, without_time
from expert.procedure.runner import Runner
from expert.procedure.search import TYPE as SEARCH
from expert.procedure.search import reading_key
from expert.procedure.searching import named_beside
from expert.procedure.wait_guard import not_yet


@dataclass(frozen=True)
class Took:
    """What becomes of one reading that was typed by name.

    `drafts` are to be appended. `question` asks whether it is meant so; then nothing is to be
    appended yet, and the same text is taken with `sure`. `message` says what else is to be known:
    why it waits, that it was kept as a note. `active` is its step, None where there is none.
    """

    text: str
    title: str
    active: Active | None = None
    drafts: tuple[Draft, ...] = ()
    question: str = ""
    message: str = ""


def offers_of(runner: Runner, picture: Picture) -> tuple[Offer, ...]:
    """Every reading of the checklist as it stands now."""
    return offers(runner.whole_plan(picture), runner)


def named_in(runner: Runner, picture: Picture, text: str) -> NamedReading | None:
    """The reading that a text names, None where it names none. Raises ReadingError."""
    members = {name: member.kind for name, member in runner.members.items()}
    members[runner.subject.id] = runner.subject.kind
    return resolve(
        text, offers_of(runner, picture), runner.rulebase, runner.takes, members,
        runner.subject.id,
    )  # fmt: skip


def waits(runner: Runner, picture: Picture, text: str) -> bool:
    """Whether a text names a reading that may not be taken yet."""
    try:
        found = named_in(runner, picture, text)
    except ReadingError:
        return False
    offer = found.offer if found is not None else None
    return offer is not None and bool(offer.why_not) and not offer.closed


def nearest_reading(runner: Runner, picture: Picture, text: str) -> str:
    """'Did you mean x?' for a name that was typed wrong; nothing where none is near."""
    if not names_one(text):
        return ""
    ids = dict.fromkeys(each.active.quantity for each in offers_of(runner, picture))
    asked = [runner.rulebase.quantities[name] for name in ids]
    real = {w for each in asked for name in names_of(each) for w in plain_name(name).split()}
    words = without_time(text)[0].split()
    for end in range(len(words) - 1, 0, -1):
        name, value = " ".join(words[:end]), " ".join(words[end:])
        taking = [each for each in asked if runner.takes(each, value, "")]
        if hint := hint_by_words(name, taking, real):
            return hint
    return ""


def take(
    runner: Runner, picture: Picture, text: str, now: datetime, *, sure: bool = False
) -> Took | None:
    """What becomes of a text that names a reading; None where it names none.

    Raises ReadingError where several could be meant or the value is refused.
    """
    found = named_in(runner, picture, text)
    if found is None:
        return None
    here = runner.current(picture)
    if found.offer is None:
        return _beside(runner, picture, found, here, now, sure)
    offer = found.offer
    if offer.why_not and not offer.closed:
        runner.answered(picture, offer.active, found.value, now, True)  # what is refused waits not
        return _waits(runner, picture, found, offer, here)
    return _enter(runner, picture, found, offer, now, sure)


def _beside(
    runner: Runner, picture: Picture, found: NamedReading, here: Active | None, now: datetime,
    sure: bool,
) -> Took:  # fmt: skip
    """A reading that the checklist does not ask: kept beside the step asked now, else as a note."""
    title = found.quantity.title
    outcome = None
    if here is not None and not found.time:
        text = f"{found.quantity.id} {found.value}"
        outcome = named_beside(runner, picture, here, text, now, sure)
    if isinstance(outcome, NeedsConfirmation):
        return Took(found.text, title, question=outcome.question)
    if outcome is not None:
        message = outcome.message or f"The reading '{title}' is kept too: {found.value}."
        return Took(found.text, title, None, outcome.drafts, message=message)
    search = next((each for each in runner.plan(picture) if each.step.type == SEARCH), None)
    if search is not None and not search.closed:
        held = _held(found, reading_key(search.key, found.quantity.id))
        message = f"The reading '{title}' waits until the search begins. Then Enter takes it."
        return Took(found.text, title, None, (held,), message=message)
    message = f"The reading '{title}' is not asked in this checklist; kept as a note."
    return Took(found.text, title, None, _note(here, found.text), message=message)


def _held(found: NamedReading, key: str) -> Draft:
    """A value that is offered where it is asked, with its time."""
    value = f"{found.value} at {found.time}" if found.time else found.value
    return Draft("reopen", key, {"typed": value})


def take_at(
    runner: Runner, picture: Picture, key: str, text: str, now: datetime, *, sure: bool = False,
    taken: datetime | None = None,
) -> Took:  # fmt: skip
    """What becomes of a value for the reading of a key, with its time behind it where it has one.

    `taken` is when it was read, where that is known otherwise. Raises ReadingError for a value that
    is refused, and KeyError for a key that has no reading.
    """
    offer = next((each for each in offers_of(runner, picture) if each.active.key == key), None)
    if offer is None:
        raise KeyError(key)
    value, time = without_time(text)
    quantity = runner.rulebase.quantities[offer.active.quantity]
    found = NamedReading(text, quantity, value, time, offer)
    if offer.why_not and not offer.closed:
        return _waits(runner, picture, found, offer, runner.current(picture))
    return _enter(runner, picture, found, offer, now, sure, taken)


def _enter(
    runner: Runner, picture: Picture, found: NamedReading, offer: Offer, now: datetime,
    sure: bool, taken: datetime | None = None,
) -> Took:  # fmt: skip
    active = _next_sample(runner, picture, offer, timed=bool(found.time or taken))
    title = _title(runner, active)
    if found.time:
        taken = when_read(found.time, now, runner.counted_from(picture, active, found.time, now))
    stands = picture.closed.get(active.key)
    open_again = () if stands is None else (Draft("reopen", active.key, {"why": "read again"}),)
    outcome = runner.answered(picture, active, found.value, now, sure, taken=taken)
    if isinstance(outcome, NeedsConfirmation):
        return Took(found.text, title, active, question=outcome.question)
    early = _early(runner, picture, active, taken or now)
    if early and not sure:
        question = f"{early} Enter '{title}' {found.value} all the same?"
        return Took(found.text, title, active, question=question)
    if stands is not None and not (found.time or taken) and _says_the_same(stands, outcome.drafts):
        return Took(
            found.text, title, message=f"The reading '{title}' is {answer_of(stands)} already."
        )
    if stands is not None and not sure:
        question = (
            f"The reading '{title}' is {answer_of(stands)} already. Replace it with {found.value}?"
        )
        return Took(found.text, title, active, question=question)
    drafts = outcome.drafts
    if early:
        note = Draft("note", active.key, {"text": f"Before its time: {early}"})
        drafts = (note, *(replace(each, data={**each.data, EARLY: early}) for each in drafts))
    if not offer.asked or active.sample:
        drafts = tuple(_by_name(each) for each in drafts)
    return Took(found.text, title, active, (*open_again, *drafts), message=outcome.message)


def _says_the_same(stands: Entry, drafts: tuple[Draft, ...]) -> bool:
    """Whether an answer is the one that stands, read in the same way."""
    new = next((each.data for each in drafts if each.kind == "answer"), None)
    keys = ("value", "plus_minus")
    return new is not None and all(new.get(key) == stands.data.get(key) for key in keys)


def _early(runner: Runner, picture: Picture, active: Active, at: datetime) -> str:
    """Why a reading of a moment is too early for its step; nothing where it is not."""
    clock = runner.elapsed(picture, active, at) if active.step.after else None
    return not_yet(active, clock, at) if clock else ""


def _waits(
    runner: Runner, picture: Picture, found: NamedReading, offer: Offer, here: Active | None
) -> Took:
    """A reading that may not be taken yet: offered once its caution is answered, else a note."""
    title = _title(runner, offer.active)
    if offer.asked and offer.why_not.startswith("first the caution"):
        held = _held(found, offer.active.key)
        message = f"The reading '{title}' waits: {offer.why_not}. Then Enter takes it."
        return Took(found.text, title, offer.active, (held,), message=message)
    message = (
        f"The reading '{title}' cannot be taken yet: {offer.why_not.rstrip('.')}. Kept as a note."
    )
    return Took(found.text, title, offer.active, _note(here, found.text), message=message)


def _next_sample(runner: Runner, picture: Picture, offer: Offer, *, timed: bool) -> Active:
    """The sample of a watch to which a reading with its time belongs: the first that is free."""
    active = offer.active
    while timed and active.sample and picture.closed.get(active.key) is not None:
        if active.sample >= active.step.at_most:
            raise ReadingError(f"No more than {active.step.at_most} samples are kept.")
        sample = active.sample + 1
        key = f"{active.step_key}#{sample}.{active.quantity}"
        active = replace(active, key=key, sample=sample, entry=None)
    return active


def _title(runner: Runner, active: Active) -> str:
    title = runner.rulebase.quantities[active.quantity].title
    sample = f", sample {active.sample}" if active.sample else ""
    return f"{title}{sample}{f' of {active.subject}' if active.subject else ''}"


def _by_name(draft: Draft) -> Draft:
    return replace(draft, data={**draft.data, BY_NAME: True}) if draft.kind == "answer" else draft


def _note(here: Active | None, text: str) -> tuple[Draft, ...]:
    return (Draft("note", here.key if here else "", {"text": f"Typed: {text.strip()}"}),)
