"""The grammar of conditions: `quantity is low`, `a > b + 3 psi`, `sign`."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from expert.errors import Place
from expert.knowledge.conditions import Compare, Course, HasSign, Is, Term

if TYPE_CHECKING:  # the library is loaded for what is not of the usual forms
    from lark import Lark, Token, Tree

FORMS = (
    "Conditions are written: 'quantity is low', 'quantity is not open', 'a > b + 3 psi', "
    "'quantity rises by 10 F within 5 min', 'quantity reaches 50 F before 20 min', "
    "'quantity becomes open before 2 min', 'quantity holds within 2 psi for 10 min', "
    "or a sign's name."
)

_WANT_MORE = ("is", "not", "by", "within", "reaches", "becomes", "holds", "before", "for", "+", "-")


class ConditionError(ValueError):
    """A condition that cannot be read; `column` counts from 1 inside its text.

    `hint` says what could have been meant, where that can be told.
    """

    def __init__(self, message: str, column: int, hint: str = ""):
        super().__init__(message)
        self.column = column
        self.hint = hint


# what nearly every condition is, read by one expression: the grammar need not even be loaded then,
# which takes longer; all else, and whatever is wrong, goes to the grammar
_NAME = r"(?!(?:is|not|by|within|reaches|becomes|holds|before|for|rises|falls)\b)[a-z][a-z0-9_]*"
_NUMBER = r"\d+(?:\.\d+)?(?: (?!before|within|for|vac|gauge|absolute)[A-Za-z%][A-Za-z%/0-9]*)?"
_PLAIN_IS = rf"(?P<is>{_NAME}) is (?P<not>not )?(?P<word>(?!not )[A-Za-z0-9][A-Za-z0-9%/.,' -]*)"
_PLAIN_SIGN = rf"(?P<no>not )?(?P<sign>{_NAME})"
_PLAIN_COMPARE = (
    rf"(?P<left>{_NAME}) (?P<operator>>=|<=|>|<) "
    rf"(?:(?P<right>{_NAME})(?: (?P<plus>[-+]) (?P<by>{_NUMBER}))?|(?P<number>-?{_NUMBER}))"
)
_PLAIN_CHANGE = (
    rf"(?P<course>{_NAME}) (?P<verb>rises|falls) "
    rf"by (?P<amount>{_NUMBER}) within (?P<time>{_NUMBER})"
)


@cache
def _plain() -> re.Pattern[str]:
    return re.compile(rf"(?:{_PLAIN_IS}|{_PLAIN_SIGN}|{_PLAIN_COMPARE}|{_PLAIN_CHANGE})\Z")


def at_once(line: str, place: Place) -> Is | HasSign | Compare | Course | None:
    """The condition of a line with single spaces, None where it has none of the usual forms."""
    found = _plain().match(line)
    if found is None:
        return None
    got = found.groupdict()
    if got["is"]:
        return Is(got["is"], got["word"].rstrip(), bool(got["not"]), place)
    if got["sign"]:
        return HasSign(got["sign"], bool(got["no"]), place)
    if got["course"]:
        verb, amount, time = got["verb"], got["amount"], got["time"]
        return Course(got["course"], verb, line, amount=amount, time=time, place=place)
    right = Term(1, quantity=got["right"]) if got["right"] else Term(1, measure=got["number"])
    more = (Term(1 if got["plus"] == "+" else -1, measure=got["by"]),) if got["by"] else ()
    return Compare((Term(1, quantity=got["left"]),), (right, *more), got["operator"], line, place)


@cache
def _parser() -> Lark:
    from lark import Lark

    text = (resources.files("expert.knowledge") / "grammar.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", lexer="contextual", maybe_placeholders=True)


@lru_cache(maxsize=8192)
def _tree(line: str) -> Tree[Token]:
    """The parts of a condition; of three that stand in a rulebase two stand there again."""
    return _parser().parse(line)


def parse_condition(text: str, place: Place) -> Is | HasSign | Compare | Course:
    """The condition a text means. Raises ConditionError with the column inside the text."""
    line = " ".join(text.split())
    if (plain := at_once(line, place)) is not None:
        return plain
    from lark.exceptions import UnexpectedInput, UnexpectedToken

    try:
        return by_grammar(line, place)
    except UnexpectedInput as error:
        columns = _columns(text)
        ended = isinstance(error, UnexpectedToken) and error.token.type == "$END"
        start = len(line) if ended else max(error.pos_in_stream or 0, 0)
        rest, _, more = line[start:].partition(" ")
        if not rest or (rest in _WANT_MORE and not more):
            end = columns[-1] if columns else 1
            raise ConditionError("the condition stops too early", end) from None
        fits = f"'{rest}' does not fit here"
        raise ConditionError(fits, columns[start], likely_meant(line)) from None


def by_grammar(line: str, place: Place) -> Is | HasSign | Compare | Course:
    """The condition of a line with single spaces. Raises the parser's error where it is none."""
    return _build(_tree(line), line, place)


def likely_meant(line: str) -> str:
    """What a condition that cannot be read was likely meant to be, or nothing."""
    if odd := next((mark for mark in line if not mark.isascii()), ""):
        return f"Type it again with plain characters: there is a '{odd}' in it (U+{ord(odd):04X})."
    if re.search(r" (and|or|but) ", line):
        return "One condition a line; 'any:' and 'all:' join them."
    words = line.split()
    if "is" in words and words.index("is") > 1 and "not" not in words[: words.index("is")]:
        name = "_".join(words[: words.index("is")])
        return f"A name is one word: '{name.lower()} {' '.join(words[words.index('is') :])}'."
    if match := re.match(r"^(\w+) ?={1,2} ?(.+)$", line):
        return f"A state is written with 'is': '{match[1]} is {match[2]}'."
    if words and words[0] != words[0].lower():
        return f"Names are written in small letters: '{words[0].lower()}'."
    if len(words) == 2 and words[0] != "not":
        return f"A state is written with 'is': '{words[0]} is {words[1]}'."
    return ""


def _columns(text: str) -> list[int]:
    """The column from 1 where each character stood of the text with single spaces."""
    words = re.finditer(r"\S+", text)
    return [n + 1 for word in words for n in range(word.start(), word.end() + 1)][:-1]


def _build(tree: Tree[Token], text: str, place: Place) -> Is | HasSign | Compare | Course:
    from lark import Tree

    children = tree.children
    if tree.data == "is_phrase":
        name, negated, phrase = children
        return Is(str(name), " ".join(str(phrase).split()), negated is not None, place)
    if tree.data == "sign":
        negated, name = children
        return HasSign(str(name), negated is not None, place)
    if tree.data == "start":
        return _course(tree.children[0], text.strip(), place)
    left, operator, right = children
    assert isinstance(left, Tree)
    assert isinstance(right, Tree)
    return Compare(_terms(left), _terms(right), str(operator), text.strip(), place)


def _course(tree: object, text: str, place: Place) -> Course:
    from lark import Tree

    assert isinstance(tree, Tree)
    verbs = {"reach": "reaches", "become": "becomes", "hold": "holds"}
    if tree.data == "change":
        name, verb, amount, time = tree.children
    elif tree.data == "hold":
        (name, amount, time), verb = tree.children, "holds"
    else:
        (name, amount, time), verb = tree.children, verbs[tree.data]
    later = _course(time, text, place) if isinstance(time, Tree) else None
    return Course(
        str(name),
        str(verb),
        text,
        amount="" if amount is None or verb == "becomes" else str(amount),
        word=" ".join(str(amount).split()) if verb == "becomes" else "",
        time="" if time is None or later else str(time),
        before=later,
        place=place,
    )


def _terms(tree: Tree[Token]) -> tuple[Term, ...]:
    from lark import Tree

    terms: list[Term] = []
    sign = 1
    for child in tree.children:
        if not isinstance(child, Tree):
            sign = -1 if child == "-" else 1
        elif child.data == "quantity":
            terms.append(Term(sign, quantity=str(child.children[0])))
        elif not terms and sign < 0:  # '-5 F' is one number, not minus a temperature
            terms.append(Term(1, measure=f"-{child.children[0]}"))
        else:
            terms.append(Term(sign, measure=str(child.children[0])))
    return tuple(terms)
