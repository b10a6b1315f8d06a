"""Asks a lead for a rule in trade words and keeps every answer in a draft."""

from __future__ import annotations

from collections.abc import Callable

from expert.author.interview.ask import SHOWN, Asker, Back
from expert.author.interview.ask_case import Cases
from expert.author.interview.check_typed import slug, source, unused
from expert.author.interview.draft import Draft, with_draft
from expert.author.interview.find_by_words import cause_texts, guess, search
from expert.author.interview.new_entries import NewEntries, whole
from expert.author.interview.pick_condition import pick_condition, state_of
from expert.author.interview.suggest_value import names_in
from expert.author.interview.told_apart import told_apart
from expert.errors import ReadingError
from expert.inference.sentences import Speaker
from expert.knowledge.conditions import Condition
from expert.knowledge.fact_words import APPLICATIONS, DEFROSTS
from expert.knowledge.model import Rulebase

STRENGTHS = {
    "weak": "a hint, no more",
    "moderate": "worth a look",
    "strong": "mostly it is that",
    "conclusive": "that proves it",
}


class Interview:
    """The questions for one rule. `keep` writes the draft to disk after every answer."""

    def __init__(
        self, asker: Asker, base: Rulebase, draft: Draft, keep: Callable[[], None]
    ) -> None:
        self.asker = asker
        self.base = base
        self.draft = draft
        self.keep = keep
        self.new = NewEntries(asker, base, draft, keep)

    def run(self) -> None:
        """Ask what has not been answered yet. 'b' goes back to the question before."""
        self.asker.say(
            "Answer in your own words; a number chooses from a list. 'b' goes back, "
            "Ctrl-C stops and keeps every answer."
        )
        self._going_on()
        stages: tuple[tuple[str, Callable[[], None]], ...] = (
            ("when", self._when), ("unless", self._unless), ("applies", self._applies),
            ("points_to", self._points_to), ("strength", self._strength),
            ("because", self._because), ("source", self._source), ("rule", self._rule),
            ("fires", self._fires), ("silent", self._silent),
        )  # fmt: skip
        done, place = self._list("done"), 0
        while place < len(stages):
            name, ask = stages[place]
            if name not in done:
                try:
                    ask()
                    done.append(name)
                except Back:
                    place = max(place - 1, 0)
                    self._forget(name)
                    self._forget(stages[place][0])
                    continue
                finally:
                    self.keep()
            place += 1

    def _going_on(self) -> None:
        """Say what is there already, and finish an entry that was interrupted."""
        try:
            self.new.finish()
        except Back:
            self.new.drop_unfinished()
        if self.draft.get("when"):
            self.asker.say(f"So far: {self._told(self._list('when'))}.")

    def _forget(self, name: str) -> None:
        self.new.drop_unfinished()
        if name == "points_to":
            self.new.drop(str(self.draft.get("points_to", "")))
        for key in (name, "against") if name == "strength" else (name,):
            self.draft.pop(key, None)
        done = self._list("done")
        if name in done:
            done.remove(name)

    def _when(self) -> None:
        conditions = self._list("when")
        while True:
            question = (
                "What did you see? A word of it ('drier', 'case fans'), or a whole condition."
            )
            if conditions:
                question = "What else must be so too? A word of it; Enter: nothing more."
            try:
                begun = self._unused("quantities")
                found = (
                    state_of(self.asker, self.new, begun)
                    if begun
                    else pick_condition(self.asker, self.new, question, optional=bool(conditions))
                )
            except Back:
                self.new.drop(begun)
                if not conditions:
                    raise
                self.asker.say(f"Taken out: {conditions.pop()}.")
                self.keep()
                continue
            if found is None:
                break
            conditions.append(found)
            self.keep()
            self.asker.say(f"So far: {self._told(conditions)}.")
        if len(conditions) > 1:
            options = ("all of them", "one is enough")
            if self.asker.choice("Must all of these be so, or is one enough?", options) == 1:
                self.draft["when"] = [{"any": [*conditions]}]

    def _unless(self) -> None:
        conditions = self._list("unless")
        while True:
            question = "When does this say nothing (an exception)? A word of it; Enter: never."
            if conditions:
                question = "Another exception? Enter: no."
            found = pick_condition(self.asker, self.new, question, optional=True)
            if found is None:
                return
            conditions.append(found)
            self.keep()

    def _applies(self) -> None:
        """Asked only where it can make a difference to what the conditions look at."""
        applies: Draft = {}
        conditions = self._conditions("when")
        if self.draft.get("unless"):
            conditions += self._conditions("unless")
        matters = told_apart(names_in(conditions), self.new.known)
        for key, said, words in (
            ("application", "For which temperature?", APPLICATIONS),
            ("defrost", "For which defrost?", DEFROSTS),
        ):
            chosen = self.asker.choice(said, words, more="any") if key in matters else -1
            if chosen >= 0:
                applies[key] = words[chosen]
        self.draft["applies"] = applies

    def _points_to(self) -> None:
        known = self.new.known
        if made := self._made_already():
            self.draft["points_to"] = made
            return
        question = (
            "What does it point to? A word of the cause. 'n': a cause that is not there yet. "
            "'s': no cause by itself, only a sign that other rules go on from."
        )
        typed = self.asker.text(question)
        while True:
            if typed == "s":
                self.draft["points_to"] = self.new.sign()
                return
            if typed == "n":
                self.draft["points_to"] = self.new.cause("")
                return
            texts = cause_texts(known.causes.values())
            names = search(typed, texts)[:SHOWN]
            if not names and (meant := guess(typed, texts)):
                names = search(meant, texts)[:SHOWN]
                self.asker.say(f"Nothing is called '{typed}'. With '{meant}':")
            for number, name in enumerate(names, 1):
                self.asker.say(f"  {number} {known.causes[name].title}")
            hint = "A number" if names else f"Nothing has '{typed}' in its name"
            typed = self.asker.text(
                f"{hint}, or another word, 'n' for a new cause, 's' for a sign."
            )
            if typed.isdecimal() and 1 <= int(typed) <= len(names):
                self.draft["points_to"] = names[int(typed) - 1]
                return

    def _made_already(self) -> str:
        """The sign or cause that was made for this rule before it was interrupted."""
        return self._unused("signs") or self._unused("causes")

    def _unused(self, section: str) -> str:
        """The id of an entry that was made and stands in no condition yet, if there is one."""
        used = f"{self.draft.get('when')} {self.draft.get('unless')}"
        made = whole(self.draft).get(section)
        names = [str(entry["id"]) for entry in made] if isinstance(made, list) else []
        return next((name for name in names if name not in used), "")

    def _strength(self) -> None:
        known = self.new.known
        if self.draft["points_to"] in known.signs:
            return
        title = known.causes[str(self.draft["points_to"])].title
        sides = ("for it", "against it")
        against = self.asker.choice(f"Does it speak for '{title}', or against?", sides, default=1)
        self.draft["against"] = "yes" if against else "no"
        scale = list(self.base.certainty.strengths)
        shown = [f"{name}: {STRENGTHS.get(name, '')}".rstrip(": ") for name in scale]
        self.draft["strength"] = scale[self.asker.choice("How strongly?", shown)]

    def _because(self) -> None:
        self.draft["because"] = self.asker.text("Why is that so? One sentence for a technician.")

    def _source(self) -> None:
        self.draft["source"] = source(self.asker, "That it points there")

    def _rule(self) -> None:
        name = slug(f"{self._first_name()} {self.draft['points_to']}", "-")
        self.draft["rule"] = self.asker.text(
            "A name for the rule; Enter takes the one shown.",
            default=unused(name, self.base.rules), check=self._rule_id,
        )  # fmt: skip

    def _rule_id(self, text: str) -> str:
        name = slug(text, "-")
        if name in self.base.rules:
            raise ReadingError(f"There is a rule '{name}' already. Take another name.")
        return name

    def _fires(self) -> None:
        cases = Cases(self.asker, self.base, self.draft, self.new)
        self.draft["fires"] = cases.fires(self._conditions("when"))

    def _silent(self) -> None:
        cases = Cases(self.asker, self.base, self.draft, self.new)
        self.draft["silent"] = cases.silent()

    def _conditions(self, key: str) -> tuple[Condition, ...]:
        """The conditions of the draft, read and resolved."""
        trial = {"rule": "draft-of-a-rule", "points_to": "", "when": self.draft[key]}
        made, _ = with_draft(self.base, {**whole(self.draft), **trial})
        return made.rules["draft-of-a-rule"].when

    def _told(self, conditions: list[object]) -> str:
        trial = {"rule": "draft-of-a-rule", "points_to": "", "when": conditions}
        made, _ = with_draft(self.base, {**whole(self.draft), **trial})
        speaker = Speaker(made, {}, {}, "us")
        return " and ".join(speaker.condition(c) for c in made.rules["draft-of-a-rule"].when)

    def _first_name(self) -> str:
        return names_in(self._conditions("when"))[0].replace("_", " ")

    def _list(self, key: str) -> list[object]:
        found = self.draft.setdefault(key, [])
        assert isinstance(found, list)
        return found
