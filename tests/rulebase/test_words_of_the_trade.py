"""What people read says what the trade says; ids and choices that others hold stay as they are."""

from __future__ import annotations

import re
from collections.abc import Iterator

from expert.knowledge.model import Rulebase

ELSEWHERE = re.compile(
    r"(?<!recovery )(?<![-\w])machines?(?![-\w])|\bnought\b|\bdraught|\bidle half\b|pump-out line"
    r"|gas that does not condense|breath\w* its own|\bleak-back\b",
    re.IGNORECASE,
)


def read_by_people(base: Rulebase) -> Iterator[tuple[str, str]]:
    for quantity in base.quantities.values():
        yield quantity.id, quantity.title
        yield quantity.id, quantity.where
        yield from ((quantity.id, text) for text in quantity.choices.values())
    for cause in base.causes.values():
        lines = (cause.title, cause.text, cause.not_when, *cause.confirm)
        yield from ((cause.id, text) for text in (*lines, *(r.text for r in cause.remedy)))
    for rule in base.rules.values():
        yield rule.id, rule.because


def test_the_words_are_those_of_the_trade(shipped_rulebase: Rulebase) -> None:
    texts = list(read_by_people(shipped_rulebase))
    assert len(texts) > 3000
    assert [(name, text) for name, text in texts if ELSEWHERE.search(text)] == []
