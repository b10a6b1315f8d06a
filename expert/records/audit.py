"""How the jobs of a company were done, from their summaries: no job is judged again for it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from expert.procedure.closing import STATES
from expert.records.job_summary import JobSummary
from expert.records.record_roles import SourcedCount
from expert.records.returning_findings import overturned, repeats
from expert.records.statistics import apart, median, median_interval, quantile, share_interval
from expert.records.tables import Cell, PrintedTable

NOBODY = "nobody named"
_Work = tuple[int, bool]  # seconds at all steps of a job, and whether any was skipped


@dataclass(frozen=True)
class Done:
    """A job of the audit with its summary."""

    job: str
    checklist: str
    site: str
    subject: str
    who: str
    day: date
    short: JobSummary

    @property
    def crew(self) -> str:
        """Who did it."""
        return self.who or NOBODY


def audit(
    jobs: Sequence[Done], repeat_within: SourcedCount, compare_from: SourcedCount
) -> tuple[PrintedTable, ...]:
    """Every table of the audit; jobs in the order of their days."""
    return (
        _completeness("procedures", "By procedure", "procedure", jobs, lambda each: each.checklist),
        _completeness("crews", "By crew", "crew", jobs, lambda each: each.crew),
        _endings(jobs),
        _skips(jobs),
        repeats(jobs, repeat_within),
        overturned(jobs, repeat_within),
        _judged_again(jobs),
        _versions(jobs),
        _times(jobs),
        _compared(jobs, compare_from),
    )


def _completeness(
    name: str, title: str, head: str, jobs: Iterable[Done], of: Callable[[Done], str]
) -> PrintedTable:
    groups: dict[str, list[Done]] = defaultdict(list)
    for job in jobs:
        groups[of(job)].append(job)
    rows = tuple(_counts(group, groups[group]) for group in sorted(groups))
    return PrintedTable(
        name, title,
        (
            head, "jobs", "finished", "as found complete", "changes", "measured again", "opened",
            "left open", "cautions", "acknowledged", "signed", "skips", "not judged",
        ),
        rows,
        "Finished, as found complete and signed count jobs; left open counts jobs with something "
        "opened and not put back. Not judged: the checklist or rules of the job were not at hand.",
    )  # fmt: skip


def _counts(name: str, jobs: Sequence[Done]) -> tuple[Cell, ...]:
    short = [job.short for job in jobs]
    return (
        name, len(jobs), sum(s.finished for s in short),
        sum(s.as_found[0] == s.as_found[1] for s in short if s.judged),
        sum(s.changes for s in short), sum(s.remeasured for s in short),
        sum(s.opened for s in short), sum(bool(s.still_open) for s in short),
        sum(s.cautions[0] for s in short), sum(s.cautions[1] for s in short),
        sum(bool(s.signed) for s in short), sum(len(s.skips) for s in short),
        sum(not s.judged for s in short),
    )  # fmt: skip


def _endings(jobs: Iterable[Done]) -> PrintedTable:
    """How jobs ended: done, in one of the states of a job that is not, or not at all."""
    counted: dict[str, Counter[str]] = defaultdict(Counter)
    for job in jobs:
        done = job.short.finished and bool(job.short.signed)
        counted[job.checklist][job.short.closed_as or ("done" if done else "unsigned")] += 1
    heads = ("done", *STATES, "unsigned")
    return PrintedTable(
        "endings", "How jobs ended", ("procedure", *heads),
        tuple((name, *(counted[name][head] for head in heads)) for name in sorted(counted)),
        "Unsigned: neither signed nor closed in a state.",
    )  # fmt: skip


def _judged_again(jobs: Iterable[Done]) -> PrintedTable:
    """What jobs were told beside what the rules of their summaries find."""
    then: Counter[tuple[str, str]] = Counter()
    now: Counter[tuple[str, str]] = Counter()
    for job in jobs:
        if job.short.told is not None and job.short.judged:
            then.update({(each.title, each.words) for each in job.short.told})
            now.update({(each.title, each.words) for each in job.short.found})
    rows = [(*key, then[key], now[key]) for key in sorted({*then, *now}) if then[key] != now[key]]
    return PrintedTable(
        "judged_again", "Told then, judged again", ("finding", "words", "told", "judged again"),
        tuple(rows),
        "Jobs that were told a finding in these words when they were finished, and jobs in which "
        "the rules of their summary say it. Everything else counts what was told; a job of an "
        "older form does not hold that and counts as its summary found.",
    )  # fmt: skip


def _versions(jobs: Iterable[Done]) -> PrintedTable:
    """Who runs what."""
    seen: dict[tuple[str, str], list[date]] = defaultdict(list)
    for job in jobs:
        seen[job.crew, job.short.told_by or "not kept"].append(job.day)
    rows = [
        (crew, version, len(days), str(min(days)), str(max(days)))
        for (crew, version), days in sorted(seen.items())
    ]
    return PrintedTable(
        "versions", "Who was told by which rules", ("crew", "rulebase", "jobs", "first", "last"),
        tuple(rows),
    )  # fmt: skip


def _skips(jobs: Iterable[Done]) -> PrintedTable:
    counted = Counter(
        (job.checklist, step, reason) for job in jobs for step, reason in job.short.skips
    )
    rows = sorted(counted.items(), key=lambda each: (-each[1], each[0]))
    return PrintedTable(
        "skips", "Skips and their reasons", ("procedure", "step", "reason", "times"),
        tuple((*key, count) for key, count in rows),
    )  # fmt: skip


def _times(jobs: Iterable[Done]) -> PrintedTable:
    spent: dict[tuple[str, str], list[int]] = defaultdict(list)
    for job in jobs:
        if job.short.finished:
            for step, seconds in job.short.seconds:
                spent[job.checklist, step].append(seconds)
    rows = []
    for key in sorted(spent):
        ordered = sorted(spent[key])
        rows.append((*key, len(ordered), round(median(ordered)), round(quantile(ordered, 0.9))))
    return PrintedTable(
        "times", "Time at each step", ("procedure", "step", "jobs", "median", "90 %"),
        tuple(rows),
        "From the entry before to the last entry of the step, all rounds of a job together, away "
        "from the job not counted; finished jobs only. 90 %: nine jobs in ten took no longer.",
        ("", "", "", "s", "s"),
    )  # fmt: skip


def _compared(jobs: Iterable[Done], compare_from: SourcedCount) -> PrintedTable:
    groups: dict[str, dict[str, list[_Work]]] = defaultdict(lambda: defaultdict(list))
    for job in jobs:
        if job.short.finished:
            work = (job.short.total_seconds, bool(job.short.skips))
            groups[job.checklist][job.crew].append(work)
    rows = [
        row
        for checklist in sorted(groups)
        for row in _procedure(checklist, groups[checklist], compare_from.value)
    ]
    return PrintedTable(
        "compared", "Crews on the same procedure",
        (
            "procedure", "crew", "jobs", "median time", "time from", "time to", "with skips",
            "share from", "share to", "beside the others",
        ),
        tuple(rows),
        f"Each crew beside all others on the same procedure; fewer than {compare_from.value} "
        f"finished jobs on either side are too few to compare ({compare_from.source}). From and "
        "to: 95 % intervals of the median time (order statistics) and of the share of jobs with "
        "skips (Wilson). It is called different only where the intervals have nothing in common. "
        "Among many comparisons some differ by chance, and stores differ too: a reason to ask, "
        "no ranking of people.",
        ("", "", "", "s", "s", "s", "", "%", "%", ""),
    )  # fmt: skip


def _procedure(
    checklist: str, crews: dict[str, list[_Work]], enough: int
) -> Iterator[tuple[Cell, ...]]:
    for crew in sorted(crews):
        own = crews[crew]
        others = [job for name, jobs in crews.items() if name != crew for job in jobs]
        if len(own) < enough:
            nothing = (None,) * 6
            yield (checklist, crew, len(own), *nothing, "too few to compare")
            continue
        mine, theirs = _figures(own), _figures(others)
        differs = [
            what
            for what, (_, one), (_, other) in zip(("time", "skips"), mine, theirs, strict=True)
            if len(others) >= enough and apart(one, other)
        ]
        verdict = f"different in {' and '.join(differs)}" if differs else "no difference shown"
        if len(others) < enough:
            verdict = "too few others to compare"
        (middle, times), (skipped, shares) = mine
        yield (
            checklist, crew, len(own), round(middle), *_ends(times, 1), skipped,
            *_ends(shares, 100), verdict,
        )  # fmt: skip


def _figures(
    jobs: Sequence[_Work],
) -> tuple[tuple[float, tuple[float, float] | None], tuple[int, tuple[float, float] | None]]:
    """Median time and jobs with skips, each with its interval."""
    times = sorted(seconds for seconds, _ in jobs)
    skipped = sum(skips for _, skips in jobs)
    middle = median(times) if times else 0.0
    return (middle, median_interval(times)), (skipped, share_interval(skipped, len(jobs)))


def _ends(interval: tuple[float, float] | None, scale: int) -> tuple[int | None, int | None]:
    if interval is None:
        return None, None
    return round(interval[0] * scale), round(interval[1] * scale)
