"""The story of README's page: judged wrong, learnt from, rolled out, judged right elsewhere."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from expert.cli.frame.settings import KNOWN, USER_FILE

from .small_job import SMALL, WALK, Command, Printed, lines

Machine = Callable[..., Printed]

CAUSE = """\
causes:
  - {id: stop-leaking, title: Suction stop leaking, system: defrost, subject: circuit,
     is: Gas goes past it., confirm: [feel the pipe behind it], do: [change it], urgency: food,
     source: from memory}
"""
RULE = """\
rules:
  - id: low-and-open
    when: [push is low, valve is open]
    evidence_for: {stop-leaking: strong}
    evidence_against: {set-low: strong}
    because: With the valve open the gas has another way out.
    source: "company: what came of a job, March 2026"
    tests:
      - given: {upper_pressure: 190 psig, lower_pressure: 182 psig, valve: open}
        expect: fires
      - given: {upper_pressure: 190 psig, lower_pressure: 182 psig, valve: shut}
        expect: silent
"""
PACK = "pack: {name: our-store, version: VERSION, over: small, base: BASE}\n"


@pytest.fixture
def base(tmp_path: Path) -> Path:
    folder = tmp_path / "base"
    shutil.copytree(SMALL / "rules", folder)
    (folder / "checklists").mkdir()
    shutil.copy(SMALL / "checkout.yaml", folder / "checklists")
    return folder


@pytest.fixture
def machines(
    command: Command, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, base: Path
) -> Callable[[str], Machine]:
    """A machine by its name, with settings and jobs of its own."""
    for known in KNOWN.values():
        monkeypatch.delenv(known.variable, raising=False)

    def machine(name: str) -> Machine:
        def on(*words: str, typed: str = "") -> Printed:
            monkeypatch.setenv(USER_FILE, str(tmp_path / name / "settings.yaml"))
            return command(*words, typed=typed)

        settings = {
            "jobs": tmp_path / name, "server": tmp_path / "server", "who": name.title(),
            "site": SMALL / "site.yaml", "pack": base,
        }  # fmt: skip
        for key, value in settings.items():
            assert on("settings", key, str(value)).code == 0
        return on

    return machine


def published(on: Machine, pack: Path, version: str, base: Path, *more: str) -> Printed:
    text = PACK.replace("VERSION", version).replace("BASE", str(base))
    (pack / "pack.yaml").write_text(text)
    return on("packs", "publish", str(pack), "--key", str(pack.parent / "office.pem"), *more)


def walk(on: Machine, subject: str) -> str:
    """A job as the small checklist asks for it; its id."""
    words = ("run", "small-checkout", "--subject", subject, "--engine", "plain")
    done = on(*words, typed=lines(WALK))
    assert done.code == 0, done.out + done.err
    jobs = json.loads(on("jobs", "--json").out)["jobs"]
    return str(next(job["id"] for job in jobs if job["subject"] == subject))


def first(on: Machine, job: str) -> str:
    """What a report of a job names first as found wrong."""
    told = on("report", job, "--output", "-").out
    low, leaking = (told.find(title) for title in ("Regulator set too low", "Suction stop leaking"))
    return "leaking" if leaking >= 0 and (low < 0 or leaking < low) else "low"


def key_of(done: Printed) -> str:
    assert done.code == 0, done.err
    return done.last


def test_from_a_wrong_judgement_to_a_right_one_on_another_machine(
    machines: Callable[[str], Machine], base: Path, tmp_path: Path
) -> None:
    lead, crew = machines("lead"), machines("crew")
    (tmp_path / "server").mkdir()
    pack = tmp_path / "our-store"
    pack.mkdir()
    key = key_of(lead("packs", "new-key", str(tmp_path / "office.pem")))
    for on in (lead, crew):
        on("settings", "keys", key)
        on("settings", "pack", "company")
    (pack / "leaking.yaml").write_text(CAUSE)
    assert published(lead, pack, "0.1.0", base).code == 0
    assert lead("sync").code == 0 and crew("sync").code == 0

    wrong = walk(crew, "A1")  # the crew's job is judged wrong
    assert first(crew, wrong) == "low"
    said = crew("outcome", wrong, "--was", "suction stop leaking", "--how", "it was changed")
    assert said.code == 0, said.err
    assert crew("sync").code == 0

    assert lead("sync").code == 0  # the lead has it now, and makes a case and a rule of it
    case = str(pack / "cases" / "leaking.yaml")
    written = lead("rules", "case", wrong, "--output", case)
    assert written.code == 1 and "The rulebase judges it otherwise" in written.out
    tried = ("--rulebase", str(pack), "--scenarios", str(pack / "cases"), "--only", "leaking")
    assert lead("rules", "test", *tried).code == 3
    (pack / "open.yaml").write_text(RULE)
    assert lead("rules", "check", "--rulebase", str(pack)).code == 0
    assert lead("rules", "test", *tried).code == 0
    told = published(lead, pack, "0.1.0", base)
    assert told.code == 2 and "Raise 'version:'" in told.err
    assert published(lead, pack, "0.2.0", base).code == 0

    taken = crew("sync")  # the crew takes it, and the next job is judged right
    assert "In force now: our-store 0.2.0" in taken.out
    right = walk(crew, "A2")
    assert first(crew, right) == "leaking"
    assert crew("sync").code == 0 and lead("sync").code == 0

    tables = json.loads(lead("audit", "--json").out)["tables"]
    versions = {(row["crew"], row["rulebase"].split(" (")[0]) for row in tables["versions"]["rows"]}
    assert versions == {("Crew", "our-store 0.1.0"), ("Crew", "our-store 0.2.0")}
    assert lead("jobs", "check").code == 0


@pytest.fixture
def given_out(
    machines: Callable[[str], Machine], base: Path, tmp_path: Path
) -> tuple[Machine, Machine, Path]:
    """The lead, a crew that took version 0.1.0, and the pack."""
    lead, crew = machines("lead"), machines("crew")
    (tmp_path / "server").mkdir()
    pack = tmp_path / "our-store"
    pack.mkdir()
    (pack / "leaking.yaml").write_text(CAUSE)
    key = key_of(lead("packs", "new-key", str(tmp_path / "office.pem")))
    for on in (lead, crew):
        on("settings", "keys", key)
        on("settings", "pack", "company")
    assert published(lead, pack, "0.1.0", base).code == 0
    assert crew("sync").code == 0
    return lead, crew, pack


def judged_by(on: Machine) -> str:
    done = on("quantities", "valve")
    return done.err if done.code else done.err.partition(" (")[0].removeprefix("rackwalk: ")


def test_a_version_begins_on_its_day_for_some_first_and_is_taken_back(
    given_out: tuple[Machine, Machine, Path], base: Path
) -> None:
    lead, crew, pack = given_out
    assert published(lead, pack, "0.2.0", base, "--crews", "Lead").code == 0
    assert published(lead, pack, "0.3.0", base, "--begins", "2999-01-01").code == 0
    for on in (lead, crew):
        assert on("sync").code == 0
    assert judged_by(lead) == "Judged by our-store 0.2.0"
    assert judged_by(crew) == "Judged by our-store 0.1.0"
    assert lead("packs", "withdraw", "0.9.0", "--why", "x", "--key", "k").code == 2
    key = str(pack.parent / "office.pem")
    assert lead("packs", "withdraw", "0.2.0", "--why", "It is wrong.", "--key", key).code == 0
    assert lead("sync").code == 0
    assert judged_by(lead) == "Judged by our-store 0.1.0"
    listed = json.loads(lead("packs", "list", "--json").out)
    assert [(each["version"], each["withdrawn"]) for each in listed] == [
        ("0.1.0", None), ("0.2.0", "It is wrong."), ("0.3.0", None)
    ]  # fmt: skip


def test_a_pack_that_was_changed_on_the_machine_is_refused_until_it_is_taken_again(
    given_out: tuple[Machine, Machine, Path], tmp_path: Path
) -> None:
    _, crew, _ = given_out
    (laid,) = (tmp_path / "crew" / "company-pack").glob("*/leaking.yaml")
    before = laid.read_text()
    for change in (lambda: laid.write_text(before.replace("food", "energy")),
                   lambda: laid.with_name("more.yaml").write_text(RULE),
                   laid.unlink):  # fmt: skip
        change()
        done = crew("quantities", "valve")
        assert done.code == 3 and "were changed after they were signed" in done.err
        assert crew("sync").code == 0
        assert judged_by(crew) == "Judged by our-store 0.1.0"


def test_what_is_not_signed_by_a_trusted_key_is_refused_and_jobs_are_exchanged_all_the_same(
    given_out: tuple[Machine, Machine, Path], base: Path, tmp_path: Path
) -> None:
    lead, crew, pack = given_out
    from expert.store.jobs import JobStore

    other = lead("packs", "new-key", str(tmp_path / "other.pem"))
    text = PACK.replace("VERSION", "0.2.0").replace("BASE", str(base))
    (pack / "pack.yaml").write_text(text)
    words = ("packs", "publish", str(pack), "--key", str(tmp_path / "other.pem"))
    done = lead(*words)
    assert done.code == 3 and "not signed by a key that is trusted" in done.err
    lead("settings", "keys", other.last)  # somebody who trusts himself alone
    with JobStore(tmp_path / "server" / "jobs.db") as server:
        kept = server.database.rows("SELECT manifest FROM release")
        with server.database.transaction():
            server.database.run("UPDATE release SET manifest = replace(manifest, '0.1.0', '9.9.9')")
    walk(crew, "A1")
    done = crew("sync")
    assert done.code == 3
    assert "9.9.9" in done.err and "is refused" in done.err
    assert "Jobs given: 1 new." in done.out
    assert judged_by(crew) == "Judged by our-store 0.1.0"  # what was in force stays
    assert kept


def test_another_key_takes_over_and_what_the_old_one_signs_then_is_refused(
    given_out: tuple[Machine, Machine, Path], base: Path, tmp_path: Path
) -> None:
    lead, crew, pack = given_out
    new = lead("packs", "new-key", str(tmp_path / "new.pem")).last
    old = str(tmp_path / "office.pem")
    assert lead("packs", "change-key", new, "--key", old).code == 0
    assert published(lead, pack, "0.2.0", base).code == 3  # the old key
    (tmp_path / "new.pem").replace(old)
    assert published(lead, pack, "0.2.0", base).code == 0
    assert crew("sync").code == 0
    assert judged_by(crew) == "Judged by our-store 0.2.0"


def test_a_lost_key_is_followed_by_one_beside_it_and_a_stolen_one_signs_nothing_more(
    given_out: tuple[Machine, Machine, Path], base: Path, tmp_path: Path
) -> None:
    lead, crew, pack = given_out
    lost = json.loads(crew("settings", "keys", "--json").out)["settings"]["keys"]["value"]
    (tmp_path / "office.pem").unlink()
    new = key_of(lead("packs", "new-key", str(tmp_path / "office.pem")))
    lead("settings", "keys", f"{lost} {new}")
    assert published(lead, pack, "0.2.0", base).code == 0
    untold = crew("sync")
    assert untold.code == 3
    assert "not signed by a key that is trusted here" in untold.err
    assert judged_by(crew) == "Judged by our-store 0.1.0"
    crew("settings", "keys", f"{lost} {new}")
    assert crew("sync").code == 0
    assert judged_by(crew) == "Judged by our-store 0.2.0"
    crew("settings", "keys", new)  # the old one may be in other hands
    assert "not signed by a key that is trusted here" in crew("sync").err
    for machine in (lead, crew):  # so it begins anew
        machine("settings", "keys", new)
        machine("settings", "server", str(tmp_path / "another"))
    assert published(lead, pack, "0.3.0", base).code == 0
    folder = tmp_path / "crew" / "company-pack"
    assert f"delete {folder}." in " ".join(crew("sync").err.split())
    shutil.rmtree(folder)
    assert crew("sync").code == 0
    assert judged_by(crew) == "Judged by our-store 0.3.0"


def test_without_the_server_work_goes_on_and_a_sentence_says_so(
    given_out: tuple[Machine, Machine, Path],
) -> None:
    _, crew, _ = given_out
    job = walk(crew, "A1")
    crew("settings", "server", "postgresql://nobody@127.0.0.1:1/none")
    done = crew("sync")
    assert done.code == 6
    assert "work goes on here, and 1 job here" in done.err
    assert first(crew, job) == "low"


def test_a_key_that_others_can_read_and_a_pack_whose_tests_fail_are_not_used(
    given_out: tuple[Machine, Machine, Path], base: Path, tmp_path: Path
) -> None:
    lead, _, pack = given_out
    (tmp_path / "office.pem").chmod(0o644)
    done = published(lead, pack, "0.2.0", base)
    assert done.code == 2 and "can be read by others" in done.err
    (tmp_path / "office.pem").chmod(0o600)
    (pack / "open.yaml").write_text(RULE.replace("expect: silent", "expect: fires"))
    done = published(lead, pack, "0.2.0", base)
    assert done.code == 2 and "tests of its rules fail" in done.err


REGION = "pack: {name: north, version: VERSION, over: our-store, base: ../our-store}\n"


def test_the_pack_of_a_region_is_given_out_with_the_companys_below_it(
    given_out: tuple[Machine, Machine, Path], base: Path, tmp_path: Path
) -> None:
    lead, crew, pack = given_out
    region = tmp_path / "north"
    region.mkdir()
    words = ("packs", "publish", str(region), "--key", str(tmp_path / "office.pem"))

    def give_out(version: str) -> Printed:
        (region / "pack.yaml").write_text(REGION.replace("VERSION", version))
        return lead(*words, "--crews", "Crew")

    (region / "letterhead.txt").write_text("North office (invented)\n")
    (region / "open.yaml").write_text(RULE)
    done = give_out("1.0")
    assert done.code == 0, done.err
    assert "north 1.0 with our-store" in done.out
    for on in (lead, crew):
        assert on("sync").code == 0
    assert judged_by(lead) == "Judged by our-store 0.1.0"
    told = crew("quantities", "valve").err
    assert "Judged by north 1.0" in told and "over our-store 0.1.0" in told
    job = walk(crew, "A1")
    assert "North office (invented)" in crew("report", job, "--output", "-").out
    assert first(crew, job) == "leaking"
    assert first(lead, walk(lead, "A1")) == "low"

    newer = published(lead, pack, "0.2.0", base)  # of the company: the region keeps its own
    assert "north lies over another version of it" in newer.out
    for on in (lead, crew):
        assert on("sync").code == 0
    assert judged_by(lead) == "Judged by our-store 0.2.0"
    assert judged_by(crew) == "Judged by north 1.0"
    assert give_out("1.1").code == 0
    assert crew("sync").code == 0
    assert "over our-store 0.2.0" in crew("quantities", "valve").err
    key = ("--key", str(tmp_path / "office.pem"), "--why", "It is wrong.")
    for version in ("1.1", "1.0"):
        assert lead("packs", "withdraw", version, *key).code == 0
    assert crew("sync").code == 0
    assert judged_by(crew) == "Judged by our-store 0.2.0"


def test_a_region_that_would_not_find_the_companys_pack_elsewhere_is_not_given_out(
    given_out: tuple[Machine, Machine, Path], tmp_path: Path
) -> None:
    lead, _, pack = given_out
    region = tmp_path / "north"
    region.mkdir()
    text = REGION.replace("VERSION", "1.0").replace("../our-store", str(pack))
    (region / "pack.yaml").write_text(text)
    done = lead("packs", "publish", str(region), "--key", str(tmp_path / "office.pem"))
    assert done.code == 2 and "as seen from the pack" in done.err
