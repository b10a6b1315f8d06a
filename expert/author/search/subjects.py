"""The kinds of subject that rules and limits tell apart: application, defrost, devices ..."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice, product

from expert.author.rule_tests import DEFAULT_FACTS
from expert.knowledge.entry_model import FACTS, Applies
from expert.knowledge.fact_words import APPLICATIONS, DEFROSTS
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.plants import applies_to
from expert.knowledge.site import Subject

AT_MOST = 400  # kinds of subject looked at for one rule; more are not told apart
_OTHERS = {"application": APPLICATIONS, "defrost": DEFROSTS}


def contexts(rules: Iterable[Rule], part: Rulebase) -> Iterator[Subject]:
    """Subjects to which all of some rules apply, one of each kind that a closure tells apart.

    The first is as near as can be to the subject of rule tests.
    """
    kept = tuple(rules)
    mentioned: dict[str, set[str]] = {}
    for applies in _applies(part):
        for key, words in applies.items():
            mentioned.setdefault(key, set()).update(words)
    if "case_type" in mentioned:  # a case type goes with an application
        mentioned.setdefault("application", set())
    options = [_words(key, mentioned.get(key, set()), kept) for key in FACTS]
    devices = sorted(mentioned.get("has", set()))
    fitted: list[tuple[str, ...]] = [(), *((device,) for device in devices)]
    fitted += [tuple(devices)] if len(devices) > 1 else []
    fitted = [
        has
        for has in fitted
        if all(set(rule.applies["has"]) & set(has) for rule in kept if "has" in rule.applies)
    ]
    for words, has in sorted(islice(product(product(*options), fitted), AT_MOST), key=_strange):
        facts = {key: word for key, word in zip(FACTS, words, strict=True) if word}
        subject = Subject("subject", "case", "circuit", "", facts, has=has)
        if all(applies_to(rule.applies, subject) for rule in kept):
            yield subject


def _strange(kind: tuple[tuple[str, ...], tuple[str, ...]]) -> tuple[bool, ...]:
    """Another application is nearer to the usual subject than another defrost or a case type."""
    words, has = kind
    other = [word != DEFAULT_FACTS.get(key, "") for key, word in zip(FACTS, words, strict=True)]
    return (len(has) > 1, bool(has), *reversed(other))


def _applies(part: Rulebase) -> Iterator[Applies]:
    yield from (rule.applies for rule in part.rules.values())
    yield from (limit.applies for limit in part.limits)


def _words(key: str, mentioned: set[str], rules: Iterable[Rule]) -> tuple[str, ...]:
    """What a fact can be: what is mentioned, and something else; the usual word first."""
    usual = DEFAULT_FACTS.get(key, "")
    words = (usual, *_OTHERS.get(key, ()), *sorted(mentioned)) if mentioned else (usual,)
    wanted = [set(rule.applies[key]) for rule in rules if key in rule.applies]
    return tuple(word for word in dict.fromkeys(words) if all(word in each for each in wanted))
