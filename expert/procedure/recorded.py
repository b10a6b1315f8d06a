"""From a recorded job to its runner, judged by the rules and the checklist that are at hand."""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import TYPE_CHECKING

from expert.inference.evaluate import Evaluator
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.procedure.checklist import Checklist
from expert.procedure.history import History
from expert.procedure.runner import Runner, runner_for
from expert.procedure.set_points import laid_over

if TYPE_CHECKING:
    from expert.inference.compiled import Compiled
    from expert.inference.make_engine import Backend

Evaluators = MutableMapping[object, Evaluator]


def recorded_runner(
    checklist: Checklist,
    rules: Rulebase,
    site: Site,
    subject: str,
    history: History,
    *,
    system: str = "us",
    backend: Backend = "auto",
    made: Evaluators | None = None,
    compiled: Compiled | None = None,
    begun: tuple[str, str] | None = None,
    instruments: tuple[str, ...] = (),
) -> tuple[Runner, Evaluator]:
    """The runner of a job and its evaluator, over the site as jobs have set it until then.

    `site` and `subject` are those of the job, `history` what its first entry holds. `made` keeps
    evaluators for jobs that follow on the same subject, `compiled` their rules for those on any
    (see Evaluator). `begun` are the hashes of checklist and rulebase with which the job was begun,
    None where they are those at hand; `instruments` are the ways of reading that the crew has in
    place of the usual ones. Raises KeyError where the site has no such subject.
    """
    evaluators: Evaluators = {} if made is None else made
    key = (site.text, subject, history.set_points, system)
    if key not in evaluators:
        now = laid_over(site, history.set_points)
        on = now.subjects[subject]
        evaluators[key] = Evaluator(
            rules, on, members=now.members(on), system=system, backend=backend, compiled=compiled
        )
    evaluator = evaluators[key]
    same = begun in (None, (checklist.hash, rules.info.hash))
    runner = runner_for(
        checklist, evaluator, system=system, history=history, same=same, instruments=instruments
    )
    return runner, evaluator
