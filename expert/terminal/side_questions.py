"""What may be asked beside a step: a reason, a note, photos, the list, how a job ends."""

from __future__ import annotations

from expert.errors import ReadingError
from expert.procedure.active import Active
from expert.procedure.closing import STATES
from expert.procedure.photo_file import photo_files
from expert.procedure.session import Session
from expert.store.store_errors import StoreError
from expert.terminal.asking import BACK, HELP, INSIDE, LEAVE, Asking, refusal
from expert.terminal.endings import endings
from expert.terminal.front import LeaveError, Question
from expert.terminal.listing import list_lines, pick
from expert.terminal.texts import Texts

WHY_NOT = "Reason, Enter goes back> "  # the label of the question for the reason of a skip


class SideQuestions:
    """The questions of a session that are no steps."""

    def __init__(self, session: Session, texts: Texts, asking: Asking) -> None:
        self._session = session
        self._texts = texts
        self._asking = asking

    def adjust(self, active: Active, what: str) -> None:
        """The positions that belong to what was changed; `b` gives it up."""
        earlier = self._session.picture.before(active.key)
        kept = earlier if earlier is not None and earlier.kind == "adjust" else None
        parts = [what]
        for label, name in (("Position before", "from"), ("Position after", "to")):
            default = kept.text(name) if kept else ""
            typed = self._position(f"{label}{f' [{default}]' if default else ''}> ", default)
            if typed.lower() in BACK:
                return
            parts.append(typed)
        try:
            self._session.adjust(*parts)
        except (ReadingError, StoreError) as error:
            self._asking.say(str(error))

    def _position(self, label: str, default: str) -> str:
        while True:
            typed = self._asking.ask(Question(label)) or default
            if typed.lower() in LEAVE:
                raise LeaveError
            if typed.lower() in HELP:
                self._asking.say(INSIDE)
            elif typed:
                return typed

    def skip(self, active: Active) -> None:
        """Leave the step out, with a reason."""
        how = self._how_to_skip(active)
        if how is None:
            return
        runner = self._session.runner
        rest, member = how == "rest", how == "member"
        runner.skip(active, "asked only whether it may be skipped", rest=rest, member=member)

        def wrong(text: str) -> str:
            return refusal(lambda: runner.skip(active, text, rest=rest, member=member))

        if reason := self._asking.inside(WHY_NOT, wrong):
            self._session.skip(reason, rest=rest, member=member)
            asks = active.step.type in ("caution", "stop") and not active.quantity
            self._asking.say("Noted; what hangs on it is left out." if asks else "Skipped.")

    def _how_to_skip(self, active: Active) -> str | None:
        """'step', 'rest' of a watch or 'member', asked where it can be either; None goes back."""
        ways = {"step": "skips this value" if active.sample else "skips this step"}
        if active.sample:
            ways["rest"] = "ends the watch here"
        if active.subject:
            ways["member"] = f"leaves out what is still to be done on {active.subject}"
        if len(ways) == 1:
            return "step"
        listed = (f"{number} {text}" for number, text in enumerate(ways.values(), 1))
        self._asking.say(f"{', '.join(listed)}.")
        numbered = {str(number): way for number, way in enumerate(ways, 1)}

        def wrong(text: str) -> str:
            return "" if text in numbered else f"Type a number from 1 to {len(ways)}."

        return numbered.get(self._asking.inside(f"1-{len(ways)}, Enter goes back> ", wrong) or "")

    def close(self) -> bool:
        """How the job ends, where it is closed without being done; whether it was."""
        runner = self._session.runner
        self._asking.say("What is open is still put back, and you sign. How does the job end?")
        self._asking.front.show(endings(self._asking.front.layout))

        def wrong(text: str) -> str:
            return refusal(lambda: runner.close(text))

        ending = self._asking.inside(f"1-{len(STATES)}, Enter goes back> ", wrong)
        if ending:
            self._session.close(ending)
        return bool(ending)

    def note(self) -> None:
        """Keep a note at the step."""
        if text := self._asking.inside("Note> "):
            self._session.note(text)
            self._asking.say("Noted.")

    def photo(self) -> None:
        """Files of photos, then a caption for all of them."""

        def wrong(text: str) -> str:
            return refusal(lambda: photo_files(text))

        paths = self._asking.inside("Photo file, more after ;, Enter goes back> ", wrong)
        if paths is None:
            return
        photo_files(paths)
        caption = self._asking.inside("What it shows, Enter for nothing> ") or ""
        count = self._session.photo(paths, caption)
        self._asking.say("The photo is noted." if count == 1 else f"{count} photos are noted.")

    def list(self) -> bool:
        """The list of steps, to change one; whether one was reopened."""
        session = self._session
        plan = session.runner.plan(session.picture)
        layout = self._asking.front.layout
        self._asking.front.show(list_lines(plan, session.runner.rulebase, layout))
        self._asking.say("Type the number of a step to change it, Enter to go on.")

        def wrong(text: str) -> str:
            return refusal(lambda: pick(text, plan)) if text else ""

        typed = self._asking.inside("Step> ", wrong)
        if typed is None:
            return False
        key = pick(typed, plan).key
        why = self._why() if session.finished else ""
        try:
            session.reopen(key, why)
        except (ReadingError, StoreError) as error:
            self._asking.say(str(error))
            return False
        return True

    def _why(self) -> str:
        """Why something of a finished job is changed; it stands in every report."""

        def wrong(text: str) -> str:
            return "" if text.strip() else "Type in a few words why; it stands in the report."

        while True:
            typed = self._asking.ask(Question("Why is it changed> ", check=wrong))
            if not (refused := wrong(typed)):
                return typed
            self._asking.say(refused)
