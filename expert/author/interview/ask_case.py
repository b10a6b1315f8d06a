"""Asks for a case in which a drafted rule fires, and one in which it is silent; tries both."""

from __future__ import annotations

from expert.author.interview.ask import Asker
from expert.author.interview.check_typed import measured, series
from expert.author.interview.draft import Draft, try_case
from expert.author.interview.new_entries import NewEntries, whole
from expert.author.interview.suggest_value import names_in, suggest
from expert.errors import PackError
from expert.inference.sentences import first_up
from expert.knowledge.conditions import Condition
from expert.knowledge.judge import choice
from expert.knowledge.model import Rulebase
from expert.units.kinds import Kind

_SAID = {
    "fires": "the rule fires all the same",
    "silent": "the rule stays silent: something is not as it must be",
    "undecided": "it cannot be told: a value is missing or too close to a limit",
}


class Cases:
    """The two cases of one draft."""

    def __init__(self, asker: Asker, base: Rulebase, draft: Draft, new: NewEntries) -> None:
        self.asker = asker
        self.base = base
        self.draft = draft
        self.new = new

    def fires(self, conditions: tuple[Condition, ...]) -> Draft:
        """What is given where the rule fires; asked again until it does."""
        self.asker.say("Now a case where it is so. Enter takes what is shown.")
        given: Draft = {}
        while True:
            for name in names_in(conditions):
                default = _shown(given[name]) if name in given else self._proposed(name, conditions)
                given[name] = self._value(name, default)
            if self._comes_to(given, "fires"):
                return given

    def silent(self) -> Draft:
        """What is given where it is silent: the first case with one thing different."""
        fires = self.draft["fires"]
        assert isinstance(fires, dict)
        names, chosen = list(fires), 0
        while True:
            if len(names) == 1:
                self.asker.say("And a case where it is not so.")
            else:
                question = "And a case where it is not so: which of these is then different?"
                chosen = self.asker.choice(question, [self._title(name) for name in names])
            given = {**fires, names[chosen]: self._value(names[chosen], "", ", where it is not so")}
            if self._comes_to(given, "silent"):
                return given

    def _comes_to(self, given: Draft, wanted: str) -> bool:
        try:
            got = try_case(self.base, whole(self.draft), given)
        except PackError as error:
            self.asker.say("\n".join(problem.message for problem in error.problems))
            return False
        if got == wanted:
            self.asker.say(f"Good: with that it {'fires' if got == 'fires' else 'is silent'}.")
            return True
        self.asker.say(f"With that {_SAID[got]}. Give it again.")
        return False

    def _value(self, name: str, default: str, where: str = "") -> object:
        known = self.new.known
        quantity = known.quantities.get(name)
        if quantity is None:
            options = ("yes", "no")
            start = options.index(default) + 1 if default in options else 0
            question = f"{first_up(known.signs[name].says)}{where}:"
            return options[self.asker.choice(question, options, default=start)]
        if quantity.is_choice:
            listed = ", ".join(quantity.choices)
            return self.asker.text(
                f"{first_up(quantity.title)}{where}: {listed}", default=default,
                check=lambda text: choice(text, quantity),
            )  # fmt: skip
        check = None if quantity.kind is Kind.TEXT else series(measured(quantity.kind))
        typed = self.asker.text(f"{first_up(quantity.title)}{where}:", default=default, check=check)
        return [part.strip() for part in typed[1:-1].split(",")] if typed[:1] == "[" else typed

    def _proposed(self, name: str, conditions: tuple[Condition, ...]) -> str:
        applies = self.draft.get("applies")
        facts = {k: str(v) for k, v in applies.items()} if isinstance(applies, dict) else {}
        return suggest(name, conditions, self.new.known, facts)

    def _title(self, name: str) -> str:
        known = self.new.known
        return known.quantities[name].title if name in known.quantities else known.signs[name].says


def _shown(value: object) -> str:
    return f"[{', '.join(map(str, value))}]" if isinstance(value, list) else str(value)
