"""The grammar of conditions: `quantity is low`, `a > b + 3 psi`, `sign`."""

from __future__ import annotations

from functools import cache
from importlib import resources

from lark import Lark, Token, Tree
from lark.exceptions import UnexpectedInput

from expert.errors import Place
from expert.knowledge.conditions import Compare, HasSign, Is, Term

FORMS = (
    "Conditions are written: 'quantity is low', 'quantity is not open', "
    "'a > b + 3 psi', or a sign's name."
)


class ConditionError(ValueError):
    """A condition that cannot be read; `column` counts from 1 inside its text."""

    def __init__(self, message: str, column: int):
        super().__init__(message)
        self.column = column


@cache
def _parser() -> Lark:
    text = (resources.files("expert.knowledge") / "grammar.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", lexer="contextual", maybe_placeholders=True)


def parse_condition(text: str, place: Place) -> Is | HasSign | Compare:
    """The condition a text means. Raises ConditionError with the column inside the text."""
    try:
        tree = _parser().parse(text.strip())
    except UnexpectedInput as error:
        column = max(getattr(error, "column", 1) or 1, 1)
        if column > len(text) or error.pos_in_stream is None or error.pos_in_stream < 0:
            raise ConditionError("the condition stops too early", len(text)) from None
        rest = text.strip()[column - 1 :].split(" ")[0]
        raise ConditionError(f"'{rest}' does not fit here", column) from None
    return _build(tree, text, place)


def _build(tree: Tree[Token], text: str, place: Place) -> Is | HasSign | Compare:
    children = tree.children
    if tree.data == "is_phrase":
        name, negated, phrase = children
        return Is(str(name), " ".join(str(phrase).split()), negated is not None, place)
    if tree.data == "sign":
        negated, name = children
        return HasSign(str(name), negated is not None, place)
    left, operator, right = children
    assert isinstance(left, Tree)
    assert isinstance(right, Tree)
    return Compare(_terms(left), _terms(right), str(operator), text.strip(), place)


def _terms(tree: Tree[Token]) -> tuple[Term, ...]:
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
