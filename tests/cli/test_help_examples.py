"""Every example of every help text is typed as it stands; those of `calc` stand in test_calc.

What an example names that a reader would have to bring (a site file, a pack, a job) is there under
that name, made from what is shipped; the tables below say what stands for what.
"""

from __future__ import annotations

import io
import shlex
import shutil
from contextlib import redirect_stdout, suppress
from pathlib import Path

import pytest
from budget import NIGHTLY
from tiny_rulebase import TINY

from expert.cli.company.packs import ACTIONS as OF_PACKS
from expert.cli.frame.main import COMMANDS, main
from expert.cli.jobs.jobs_command import ACTIONS as OF_JOBS
from expert.cli.refrigerant.refrigerant_command import ACTIONS as OF_REFRIGERANT
from expert.cli.rules.rules_command import ACTIONS as OF_RULES
from expert.cli.site.site_command import ACTIONS as OF_SITES
from expert.places import shipped
from expert.store.jobs import JobStore

from .small_job import SMALL, Command, lines, run_words

TESTS = Path(__file__).parents[1]
DEMO = shipped("checklists") / "demo"
ACTIONS = {
    "packs": OF_PACKS,
    "jobs": OF_JOBS,
    "refrigerant": OF_REFRIGERANT,
    "rules": OF_RULES,
    "site": OF_SITES,
}
JOB, ENTRY = "2026-03-14-A4", "2026-02-01-A"  # replaced by what is there in the store made below
READINGS = """\
application: low temperature
defrost: hot gas
refrigerant: R-449A
readings: {defrost_differential: 8 psi, defrost_clearing_time: 24 min}
"""
SCENARIO = """\
application: low temperature
defrost: hot gas
refrigerant: R-449A
readings: {differential: 8 psi, clearing_time: 24 min}
scenario:
  title: Weak push
  source: from memory
  expect: {first: set-low}
"""
RULE_ANSWERS = """\
when: [case_fans is all stopped, case_air is high]
points_to: fan-motor-dead
strength: weak
because: No fan moves the warm air away.
source: common practice
rule: fans-and-air
fires: {case_fans: all stopped, case_air: 12 F}
silent: {case_fans: running, case_air: 12 F}
"""
PEOPLE = """\
companies: [{id: north, jobs: north}]
people: [{name: A. Sample, signs in as: a.sample@north.example, role: lead, company: north}]
"""
# A walk that nobody answers is stopped, and can be resumed.
STOPPED = 5
RUN = "rackwalk run hot-gas-defrost-checkout --site my-store.yaml --subject A4"


def examples() -> list[str]:
    """The lines below 'examples:' of every help text, each once."""
    calls = [[name] for name in COMMANDS if name != "calc"]
    calls += [[name, action] for name, actions in ACTIONS.items() for action in actions]
    found: dict[str, None] = {}
    for words in calls:
        text = io.StringIO()
        with redirect_stdout(text), suppress(SystemExit):
            main([*words, "--help"])
        part = text.getvalue().split("\nexamples:\n")[1].split("\n\nexit codes:")[0]
        lines = part.replace("\\\n", " ").splitlines()
        found.update(dict.fromkeys(line.strip() for line in lines))
    return list(found)


EXAMPLES = examples()
ALSO_PLAYED = {
    "rackwalk demo",
    "rackwalk demo --whole",
    "rackwalk demo leaking-stop --fast",
    "rackwalk practice",
    "rackwalk practice fan-of-the-case-stands",
    "rackwalk practice --seed 7 --kind condenser --severity slight --weather hot",
    f"{RUN} --answers a4.yaml",
    "rackwalk rules check",
    "rackwalk rules check --rulebase my-pack",
    "rackwalk rules check --rulebase my-pack --checklists my-checklists",
}
NO_SERVER = "postgresql://a.sample@jobs.example/rackwalk"
PUBLISH = "rackwalk packs publish our-store --key office.pem"
# What ends otherwise than with 0, and why.
ENDS = {
    "rackwalk run hot-gas-defrost-checkout --site my-store.yaml": 2,  # which circuit: asked for
    f"{RUN} --depth brief": STOPPED,
    f"{RUN} --plain --units si": STOPPED,
    "rackwalk diagnose --site my-store.yaml --subject A4": STOPPED,
    # asks for the rest of the plant, at a terminal only
    "rackwalk diagnose --on 'single unit' --condenser water --receiver no --cools liquid": 2,
    "rackwalk diagnose --on rack --refrigerant R-449A --application 'low temperature'": 2,
    "rackwalk resume": STOPPED,
    f"rackwalk outcome {JOB}": STOPPED,
    "rackwalk rules new --rulebase my-pack": STOPPED,
    f"rackwalk take-in {JOB} readings.txt": 4,  # the job is finished
    "rackwalk site new": STOPPED,
    "rackwalk site new --depth settings": STOPPED,
    "rackwalk site new --legend legend.csv": STOPPED,
    "rackwalk site add circuit": STOPPED,
    "rackwalk site add rack D --site 'Oak Street'": STOPPED,
    "rackwalk site add --legend legend.csv": STOPPED,
    "rackwalk rules coverage --scenarios tests/scenarios --threshold 100": 3,  # 100 % is not there
    # no store of the company is there; what comes of these stands in test_rollout_story
    "rackwalk sync": 2,
    f"rackwalk sync --server {NO_SERVER} --only-site 'North Store'": 6,
    "rackwalk packs list": 2,
    "rackwalk packs list --json": 2,
    f"{PUBLISH} --begins 2026-12-01 --who 'R. Sample'": 2,
    f"{PUBLISH} --who 'R. Sample'": 2,
    f"{PUBLISH} --begins 2026-12-01 --crews north 'A. Sample'": 2,
    "rackwalk packs withdraw 0.2.0 --why 'The fin rule fires on dirt.' --key office.pem": 2,
    "rackwalk packs change-key ed25519:... --key office.pem --who 'R. Sample'": 2,
    "rackwalk practice": STOPPED,
    "rackwalk practice fan-of-the-case-stands": STOPPED,
    "rackwalk practice --seed 7 --kind condenser --severity slight --weather hot": STOPPED,
    "rackwalk practice --resume": 2,  # none was left unfinished
    "rackwalk rules analyse --strict": 3,  # the tiny one has something to remark on
}
# Names in the examples that stand for others here.
STAND_INS = {
    "Oak Street": "Tamarack Hollow Market (invented)",
    "North Store": "Tamarack Hollow Market (invented)",
    "Invented store": "Tamarack Hollow Market (invented)",
}
# Whole rulebases on cases take minutes: these compare the small one, and judge its job and a case.
COMPARE = ("rules", "compare")
SMALL_PACK = ("rules new",)  # its examples speak of the fans of a small pack
# All proof of the shipped rulebase takes minutes and is run elsewhere: these read a tiny one.
ON_THE_TINY_ONE = ("rules test", "rules coverage", "rules analyse")


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with all that the examples name, and a home with two jobs and a log entry."""
    top = tmp_path_factory.mktemp("examples")
    for name in ("my-store.yaml", "site.yaml"):
        shutil.copy(DEMO / "site.yaml", top / name)
    shutil.copy(DEMO / "log-sample.csv", top / "log.csv")
    shutil.copy(DEMO / "hot-gas-defrost-checkout.a4-low-differential.answers.yaml", top / "a4.yaml")
    (top / "readings.yaml").write_text(READINGS, encoding="utf-8")
    (top / "cases").mkdir()
    (top / "cases" / "conflict-1.yaml").write_text(READINGS, encoding="utf-8")
    for pack in ("my-pack", "my-pack-1.0"):
        shutil.copytree(TESTS / "packs" / "example-company", top / pack)
        (top / pack / "rules" / "snow.yaml").rename(top / pack / "rules" / "fans.yaml")
    shutil.copytree(TESTS / "author" / "base", top / "small-pack")
    shutil.copytree(SMALL / "rules", top / "our-store")
    (top / "our-store" / "checklists").mkdir()
    shutil.copy(SMALL / "checkout.yaml", top / "our-store" / "checklists" / "roof-round.yaml")
    for folder in ("my-checklists", "checklists"):
        (top / folder).mkdir()
        shutil.copy(shipped("checklists") / "nitrogen-test.yaml", top / folder)
    shutil.copytree(shipped("rulebase") / "liquid", top / "rulebase")
    (top / "tiny").mkdir()
    (top / "tiny" / "differential.yaml").write_text(
        TINY.replace("cold-line", "my-rule"), encoding="utf-8"
    )
    (top / "tests" / "scenarios").mkdir(parents=True)
    (top / "tests" / "scenarios" / "weak.yaml").write_text(SCENARIO, encoding="utf-8")
    (top / "answers.yaml").write_text(RULE_ANSWERS, encoding="utf-8")
    small = (SMALL / "rules" / "all.yaml").read_text("utf-8")
    for name, normal in (("before", "15 to 20 psi"), ("after", "5 to 12 psi")):
        (top / "small" / name).mkdir(parents=True)
        (top / "small" / name / "rules.yaml").write_text(
            small.replace("normal: 15 to 20 psi", f"normal: {normal}"), encoding="utf-8"
        )
    for folder in ("checklists", "cases"):
        (top / "small" / folder).mkdir()
    (top / "small" / "cases" / "weak.yaml").write_text("readings: {push: 8 psi}\n", "utf-8")
    shutil.copy(SMALL / "checkout.yaml", top / "small" / "checklists")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(top)
        patch.setattr("sys.stdin", io.StringIO(lines()))
        assert main(run_words(top / "small" / "jobs")) == 0
        patch.setenv("RACKWALK_HOME", str(top / "home"))
        (top / "legend.csv").write_text("Rack,Circuit,Case,Term\nA,A9,Dairy,50\n", encoding="utf-8")
        (top / "people.yaml").write_text(PEOPLE, encoding="utf-8")
        (top / "readings.txt").write_text("head 215 at 11:42\n", encoding="utf-8")
        quietly("site", "keep", "my-store.yaml")
        quietly("demo", "--fast")
        quietly(
            "refrigerant", "add", "--site", "my-store.yaml", "--system", "A", "--amount", "12lb",
            "--reason", "found low", "--date", "2026-02-01", "--who", "A. Sample",
        )  # fmt: skip
        quietly("jobs", "export", "--output", "from-the-van.jsonl")
        quietly("run", "nitrogen-test", "--site", "my-store.yaml", "--subject", "A")
        (top / "old-laptop").mkdir()
        shutil.copy(top / "home" / "jobs.db", top / "old-laptop")
    return top


def quietly(*words: str) -> str:
    """Runs a command that nobody answers; what it told."""
    text = io.StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(text):
        patch.setattr("sys.stdin", io.StringIO())
        main(words)
    return text.getvalue()


# What plays whole jobs or checks a whole rulebase; other tests of these commands do that too
# (test_demo, those of practice, test_walks, tests/author/test_packs).
assert set(EXAMPLES) >= ALSO_PLAYED


def typed_now() -> list[str]:
    """By day the first example of every other command and action; `.ci/run` types all of them."""
    if NIGHTLY:
        return EXAMPLES
    first: dict[tuple[str, ...], str] = {}
    for line in EXAMPLES:
        words = line.rpartition(" | ")[2].split()[1:3]
        if line not in ALSO_PLAYED:
            first.setdefault(tuple(words if words[0] in ACTIONS else words[:1]), line)
    return list(first.values())[::2]


@pytest.mark.parametrize("line", typed_now())
def test_it_runs(
    command: Command,
    monkeypatch: pytest.MonkeyPatch,
    prepared: Path,
    tmp_path: Path,
    line: str,
) -> None:
    here = tmp_path / "here"
    shutil.copytree(prepared, here)
    monkeypatch.chdir(here)
    monkeypatch.setenv("RACKWALK_HOME", str(here / "home"))
    code = ENDS.get(line, 0)
    if "--watch" in line:
        monkeypatch.setattr("time.sleep", _interrupted)  # a watch ends by Ctrl-C
    typed, _, line = line.rpartition(" | ")
    typed = typed.removeprefix("printf ").strip("'").replace("\\n", "\n")
    with JobStore(here / "home" / "jobs.db") as store:
        there = {job.checklist: job.id for job in store.jobs()}
    stand_ins = {
        **STAND_INS,
        JOB: there["hot-gas-defrost-checkout"],
        ENTRY: there["refrigerant-log-entry"],
    }
    if any(f"rackwalk {each}" in line for each in SMALL_PACK):
        stand_ins["my-pack"] = "small-pack"
    for name, stands in stand_ins.items():
        line = line.replace(name, stands)
    words = shlex.split(line)[1:]
    if " ".join(words[:2]) in ON_THE_TINY_ONE:
        words += ["--rulebase", "tiny"]
    if tuple(words[:2]) == COMPARE:
        words[2:4] = "small/before", "small/after"
        words = [word.replace("tests/scenarios", "small/cases") for word in words]
        words += ["--checklists", "small/checklists"]
        monkeypatch.setenv("RACKWALK_HOME", str(here / "small" / "jobs"))
    if words[:2] == ["rules", "case"]:  # a job makes a case once its outcome is known
        done = command("outcome", words[2], "--was", "yes", "--how", "seen", "--who", "A. Sample")
        assert done.code == 0, done.err
    if words[0] == "serve":  # a server ends by Ctrl-C; here at once, on a port that is free
        # which has no certificate: that one which is not there is refused is tried elsewhere
        monkeypatch.setattr("expert.web.serving.prepared", lambda *_, **__: None)
        monkeypatch.setattr("expert.web.serving.serve", lambda *_, **__: _interrupted(0))
        words += ["--port", "0"]
    done = command(*words, typed=typed)
    assert done.code == code, done.out + done.err
    assert "cannot judge it" not in done.out


def _interrupted(seconds: float) -> None:
    raise KeyboardInterrupt
