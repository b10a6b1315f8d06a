"""What is told of others at the same job."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress

from expert.inference.sentences import first_up
from expert.knowledge.hazard_model import Caution
from expert.knowledge.where import ROOMS
from expert.procedure.corrections import answer_of
from expert.procedure.entries import CLOSING, PASSED, Entry
from expert.procedure.people import AT
from expert.procedure.session import Session
from expert.terminal.asking import LEAVE, Asking
from expert.terminal.front import LeaveError, Question
from expert.terminal.layout import WIDEST, Layout
from expert.terminal.listing import title_of

_YES, _NO = ("y", "yes"), ("n", "no", *LEAVE)
WAITS = "waits for others"  # stands for a step, where nothing is asked


class Others:
    """Takes in what others enter, between two questions of one person."""

    def __init__(self, session: Session, asking: Asking) -> None:
        self._session = session
        self._asking = asking

    def last_line(self) -> str:
        """The last of what others have entered since, for the line below a question."""
        lines = entered_lines(self._session, self._session.coming()[-1:], Layout(WIDEST))
        return " ".join(each.strip() for each in lines)

    def take_over(self) -> bool:
        """Shows what others entered since; whether there was anything to tell."""
        added = self._session.catch_up()
        lines = entered_lines(self._session, added, self._asking.front.layout)
        if added:
            self._session.settle()
        if lines:
            self._asking.front.show(lines)
        return bool(lines)

    def wait(self, by_name: Callable[[str], bool], *, again: bool) -> None:
        """While the rest of the own rooms waits for what is done elsewhere."""
        if not again:
            self._asking.front.show(["", *waiting_lines(self._session, self._asking.front.layout)])
        typed = self._asking.ask(Question("Enter> "))
        if typed.lower() in LEAVE:
            raise LeaveError
        if typed.lower() == "here":
            self._session.divided = False
        elif typed and not by_name(typed):
            self._asking.say("Enter looks again, 'here' asks everything here, q leaves.")

    def join(self) -> bool:
        """The cautions that others answered, asked of somebody who comes; whether all hold."""
        found = answered_cautions(self._session)
        if not found:
            return True
        lines: list[str] = []
        for caution in found:
            titled = f"{caution.title}. {caution.ask}"
            lines += self._asking.front.layout.listed("-", titled, 1)
        self._asking.say("These cautions were answered before you came. Is each so for you?")
        self._asking.front.show(lines)
        typed = ""
        with self._asking.interrupts, suppress(LeaveError):
            while (typed := self._asking.ask(Question("y/n> ")).lower()) not in (*_YES, *_NO):
                self._asking.say("Type y when all are so, n when one is not.")
        if typed not in _YES:
            self._asking.say("Not begun. See to it first, then come again.")
            return False
        note_joined(self._session, found)
        return True


def entered_lines(session: Session, added: Sequence[Entry], layout: Layout) -> list[str]:
    """What others entered meanwhile, a line each."""
    lines: list[str] = []
    for who, text in _told(session, added):
        lines += layout.listed("+", f"{who or 'Somebody else'}: {text}", 1)
    return lines


def _told(session: Session, added: Sequence[Entry]) -> Iterator[tuple[str, str]]:
    plan = {each.key: each for each in session.runner.plan(session.picture)}
    for entry in added:
        active = plan.get(entry.step)
        title = title_of(active, session.runner.rulebase).removesuffix(".") if active else ""
        if entry.kind == "resume":
            rooms = entry.data.get(AT)
            where = f" at the {_and(map(str, rooms))}" if isinstance(rooms, list) else ""
            yield entry.who, f"is at this job now{where}"
        elif entry.kind == "stop":
            yield entry.who, "has left the job"
        elif entry.kind == "note":
            yield entry.who, f"note: {entry.text('text')}"
        elif entry.kind == "reopen" and title:
            yield entry.who, f"asks again: {title}"
        elif entry.kind in CLOSING and title and not entry.data.get(PASSED):
            yield entry.who, f"{title}: {answer_of(entry)}"


def waiting_lines(session: Session, layout: Layout) -> list[str]:
    """What the rest of the own rooms waits for."""
    first = session.runner.current(session.picture)
    assert first is not None
    here = _and(room for room in ROOMS if room in session.rooms)
    others = _and(f"{name or 'somebody'}, {room}" for room, name in session.others_at.items())
    title = title_of(first, session.runner.rulebase).removesuffix(".")
    lines = layout.text(f"Nothing to be done here now ({here}).")
    lines += layout.named("Waits for", f"step {first.number}, {first_up(title)}")
    if others:
        lines += layout.named("There", others)
    return lines + layout.typed(
        "Enter looks again; 'here' asks everything here from now on. Readings are taken by name."
    )


def answered_cautions(session: Session) -> list[Caution]:
    """The cautions of a job that were answered with yes, each once."""
    known = session.runner.rulebase.cautions
    names = dict.fromkeys(entry.text("caution") for entry in session.picture.acknowledged)
    return [known[name] for name in names if name in known]


def note_joined(session: Session, found: Sequence[Caution]) -> None:
    """Keep that cautions hold for somebody who came too."""
    titles = ", ".join(each.title for each in found)
    session.note(f"Answered with yes by who came too: {titles}")


def _and(parts: Iterable[str]) -> str:
    return " and ".join(parts)
