"""A person is asked for a store, or for what it lacks. Each answer is on disk before the next."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Sequence
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from expert.cli.job.load_knowledge import site_of_text
from expert.cli.job.remember import remember_law, usual_law
from expert.errors import ReadingError, Stopped
from expert.sites.ask_store import Terms, store_head, what_to_add
from expert.sites.data import Data, counts, data_of, text_of
from expert.sites.questions import Ask, Asking, Questions, taken
from expert.terminal.front import Front, LeaveError, Question

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase
    from expert.knowledge.site import Site
    from expert.store.kept_sites import KeptSite

T = TypeVar("T")
BACK, STOP = "back", "stop"
_KEYS = f"'{BACK}' goes back, '{STOP}' keeps it for later; every answer is kept."


class Begun:
    """The answers of an interview on disk, until it is done."""

    def __init__(self, folder: Path, name: str) -> None:
        self.path = folder / "begun" / f"{name}.json"

    def read(self) -> dict[str, list[str]]:
        """What was begun: 'answers' and 'terms'; empty lists where nothing was."""
        try:
            found = json.loads(self.path.read_text(encoding="utf-8"))
            return {key: [str(each) for each in found[key]] for key in ("answers", "terms")}
        except (OSError, ValueError, KeyError, TypeError):
            return {"answers": [], "terms": []}

    def write(self, answers: Sequence[str], terms: Sequence[str]) -> None:
        """Keep the answers, all or as they were before."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        part = self.path.with_suffix(".part")
        with part.open("w", encoding="utf-8") as file:
            json.dump({"answers": list(answers), "terms": list(terms)}, file, ensure_ascii=False)
            file.flush()
            os.fsync(file.fileno())
        part.replace(self.path)

    def done(self) -> None:
        """Nothing is begun any more."""
        self.path.unlink(missing_ok=True)


def hold(front: Front, interview: Questions[T], keep: Callable[[Sequence[str]], None]) -> T:
    """Ask until the interview is done. Raises Stopped; what was answered is kept."""
    layout, heading = front.layout, ""
    front.show(layout.text(_KEYS))
    while (ask := interview.current) is not None:
        lines = [""]
        if ask.heading and ask.heading != heading:
            lines += [*layout.text(ask.heading), ""]
            heading = ask.heading
        front.show([*lines, *_shown(ask, front)])
        typed = _typed(front, ask)
        if typed == STOP:
            raise Stopped("Stopped; every answer is kept, and the same command goes on there.")
        if typed == BACK:
            if not interview.back():
                front.show(layout.text("This is the first question."))
        else:
            interview.answer(typed)
        keep(interview.answers)
    assert interview.result is not None
    return interview.result


def _shown(ask: Ask, front: Front) -> list[str]:
    lines = front.layout.text(ask.text)
    for number, each in enumerate(ask.choices, 1):
        lines += front.layout.listed(str(number), each, 2)
    if ask.leave:
        lines += front.layout.text(f"Enter: {ask.leave}.", 2)
    return lines


def _typed(front: Front, ask: Ask) -> str:
    def wrong(text: str) -> str:
        if text.strip().lower() in (BACK, STOP):
            return ""
        try:
            taken(ask, text)
        except ReadingError as error:
            return str(error)
        return ""

    span = f"1-{len(ask.choices)}" if ask.choices else ""
    label = " ".join(filter(None, (ask.label, span)))
    while True:
        try:
            typed = front.ask(Question(f"{label}> ", check=wrong))
        except (LeaveError, KeyboardInterrupt):
            return STOP
        if not (refused := wrong(typed)):
            return typed.strip().lower() if typed.strip().lower() in (BACK, STOP) else typed
        front.show(front.layout.text(refused))


def asked(
    front: Front, begin: Callable[[], Asking[T]], folder: Path, name: str, terms: Terms
) -> T:  # fmt: skip
    """The result of an interview; one that was begun by the same terms goes on where it was."""
    begun, by = Begun(folder, name), [terms.depth, terms.system]
    found = begun.read()
    answers = found["answers"] if found["terms"] == by else []
    interview = Questions(begin, answers)
    if interview.answers:
        front.show(front.layout.text(f"Going on with what was begun: {_said(interview.answers)}."))
    try:
        result = hold(front, interview, lambda answers: begun.write(answers, by))
    except LeaveError:  # the terminal went away while something was shown
        raise Stopped("Stopped; every answer is kept.") from None
    begun.done()
    return result


def _said(answers: Sequence[str]) -> str:
    told = [each for each in answers if each]
    return ", ".join(told[:3]) + (f" and {len(told) - 3} more answers" if len(told) > 3 else "")


def ask_few(
    front: Front, rules: Rulebase, folder: Path, system: str, kind: str, data: Data | None,
    name: str = "",
) -> Data:  # fmt: skip
    """A store with one rack or circuit (more), the few things that a checklist needs."""
    terms = Terms(rules, system, law=usual_law())

    def begin() -> Asking[Data]:
        from copy import deepcopy

        store = deepcopy(data) if data is not None else (yield from store_head(terms))
        return (yield from what_to_add(terms, store, kind, name))

    which = "store-for-job" if data is None else f"{kind}-{data['site']['name']}-{name}"
    safe = "".join(sign if sign.isalnum() else "-" for sign in which)
    return asked(front, begin, folder, safe, terms)


def keep_data(
    data: Data, rules: Rulebase, place: Path | str | None, who: str, why: str,
    after: KeptSite | None = None,
) -> tuple[KeptSite, Site]:  # fmt: skip
    """Check a store and keep it as the next version; the law of a new one is remembered.

    Raises PackError, StoreError.
    """
    from expert.store.jobs import JobStore
    from expert.store.kept_sites import keep_site
    from expert.store.paths import job_place

    name = str(data["site"]["name"])
    text = text_of(data)
    site = site_of_text(text, f"store {name}", rules)
    with closing(JobStore(job_place(place))) as store:
        kept = keep_site(
            store.database, name, text, at=datetime.now(UTC), who=who, why=why,
            after=after.version if after else 0,
        )  # fmt: skip
    if after is None:
        remember_law(data["site"]["jurisdiction"])
    return kept, site


def told_kept(kept: KeptSite, site: Site) -> str:
    """One line that says what is kept now."""
    return f"Kept: store {kept.name}, version {kept.version}: {counts(site)}."


def data_of_kept(kept: KeptSite) -> Data:
    """The store as plain data."""
    return data_of(kept.text, f"store {kept.name}")
