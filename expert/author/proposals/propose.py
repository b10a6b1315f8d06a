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
from expert.author.proposals.write_tests import with_tests
from expert.author.scenarios.read import Scenario
from expert.knowledge.model import Rulebase


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
    """The new text of every file whose rules get tests, by path."""
    kept = tuple(found)
    texts = {}
    for path in sorted({rulebase.rules[each.rule].place.path for each in kept}):
        own = [rule for rule in rulebase.rules.values() if rule.place.path == path]
        names = {rule.id for rule in own}
        added: dict[str, list[tuple[str, ...]]] = {}
        said: dict[int, tuple[str, tuple[str, ...]]] = {}
        for each in (each for each in kept if each.rule in names):
            if each.old is None:
                added.setdefault(each.rule, []).append(each.lines())
            else:
                said[each.old.place.line] = (each.finds(), each.lines())
        texts[path] = with_tests(Path(path).read_text(encoding="utf-8"), own, added, said)
    return texts
