"""The words of the trade stand in everything that a person reads in the shipped checklists."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
import yaml

from expert.knowledge.model import Rulebase
from expert.places import shipped
from expert.procedure.checklist import Checklist

# A word that is not the trade's, and the one that is.
RATHER = {
    r"\b(?<!recovery )(?<!vacuum )machines?\b(?! (room|panels))": "compressor",
    r"(?<!sight )(?<!oil )(?<!door )\bglass(es)?\b": "sight glass",
    r"(?<!name)(?<!kick )\bplates?\b": "nameplate",
    r"\bnought\b": "zero",
    r"\bdraughts?\b": "draft",
    r"\bidle half\b": "off half",
    r"\bpump-out line\b": "bleed-off line",
    r"\bgas(es)? that (does|do) not condense\b": "non-condensables",
    r"\bbreath\w* (its|their) own air\b": "recirculation",
    r"\bout of balance\b": "fractionated",
    r"\bleaks?-back\b": "bypassing",
}


def read_by_people(checklist: Checklist) -> Iterator[str]:
    yield from (checklist.title, checklist.purpose, checklist.made_for)
    needs = checklist.needs
    yield from (*needs.tools, *needs.people, *needs.permission, *needs.conditions)
    for phase in checklist.phases:
        yield phase.title
        for step in phase.steps:
            texts = step.type in ("instruct", "restore", "think", "stop", "sign", "search")
            yield from (step.text if texts else "", step.say, step.why, step.how, step.opens)


def words_in(node: object) -> Iterator[str]:
    """Every text of a YAML document, without its keys."""
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict | list):
        for each in node.values() if isinstance(node, dict) else node:
            yield from words_in(each)


@pytest.mark.parametrize("word", RATHER, ids=RATHER.values())
def test_checklists_and_cautions_speak_as_the_trade_does(
    word: str, checklists: dict[str, Checklist], shipped_rulebase: Rulebase
) -> None:
    texts = [text for each in checklists.values() for text in read_by_people(each)]
    for caution in shipped_rulebase.cautions.values():
        texts += (caution.title, *caution.say, caution.ask)
    texts += words_in(yaml.safe_load((shipped("reports") / "plain.yaml").read_text("utf-8")))
    texts += (shipped("reports") / "words.j2").read_text("utf-8").splitlines()
    assert len(texts) > 3000
    found = [text for text in texts if re.search(word, text, re.IGNORECASE)]
    assert found == [], f"rather: {RATHER[word]}"
