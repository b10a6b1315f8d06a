"""Proposals for all that survives, none twice, and the files with them in place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from expert.author.coverage.observe import observe
from expert.author.mutation.mutants import Mutant
from expert.author.mutation.trial import Trial
from expert.author.proposals.for_conditions import CaseProposer
from expert.author.proposals.for_mutants import Proposal, Proposer
from expert.author.proposals.write_tests import with_finds, with_proof
from expert.author.scenarios.read import Scenario
from expert.knowledge.model import Rulebase

PROOF_FILE = "proof.yaml"


def propose_all(trial: Trial, survivors: Iterable[Mutant]) -> list[Proposal]:
    """Tests that notice the survivors; what one of them notices besides needs no other."""
    proposer = Proposer(trial.rulebase)
    found: list[Proposal] = []
    for mutant in survivors:
        if trial.noticed(mutant) or (proposal := proposer.propose(mutant)) is None:
            continue
        same = [each for each in found if each.old is not None and each.old is proposal.old]
        if same:  # one test says all that it finds at once
            found.remove(same[0])
            finds = {**same[0].test.finds, **proposal.test.finds}
            proposal = replace(proposal, test=replace(proposal.test, finds=finds))
        trial.add(proposal.rule, proposal.test)
        found.append(proposal)
    return found


def propose_cases(
    rulebase: Rulebase, scenarios: Iterable[Scenario], found: Iterable[Proposal], word: str = ""
) -> list[Proposal]:
    """Tests for conditions that do not show enough with the proposals in place; by `word` in the
    id of a rule or the name of its file."""
    rules = dict(rulebase.rules)
    for each in found:
        rule = rules[each.rule]
        rules[each.rule] = replace(rule, tests=(*rule.tests, each.test))
    base = replace(rulebase, rules=rules)
    return list(CaseProposer(base, observe(base, scenarios)).propose(word))


def changed_files(rulebase: Rulebase, found: Iterable[Proposal]) -> dict[str, str]:
    """The new text of every file that gets tests, by path: new tests stand in the proof of the
    folder in which their rule stands."""
    texts: dict[str, str] = {}
    added: dict[str, dict[str, list[tuple[str, ...]]]] = {}
    said: dict[str, dict[int, Proposal]] = {}

    def add(each: Proposal) -> None:
        path = str(Path(rulebase.rules[each.rule].place.path).with_name(PROOF_FILE))
        added.setdefault(path, {}).setdefault(each.rule, []).append(each.lines())

    for each in found:
        if each.old is None:
            add(each)
        else:
            said.setdefault(each.old.place.path, {})[each.old.place.line] = each
    for path, by_line in said.items():
        finds = {line: each.finds() for line, each in by_line.items()}
        texts[path], no_room = with_finds(Path(path).read_text(encoding="utf-8"), finds)
        for line in sorted(no_room):
            add(by_line[line])
    for path, rules in added.items():
        if path not in texts:
            file = Path(path)
            texts[path] = file.read_text(encoding="utf-8") if file.exists() else ""
        texts[path] = with_proof(texts[path], rules)
    return dict(sorted(texts.items()))
