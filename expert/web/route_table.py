"""Every way into the server, with what one needs to take it. There is no other way in."""

from __future__ import annotations

from expert.web import (
    entrance,
    job_actions,
    job_pages,
    learned_pages,
    photos_sent,
    place_readings,
    record_pages,
    still,
)
from expert.web.roles import AUDIT, DO, LOOK, PAIR, RECORDS
from expert.web.ways import LARGE, OPEN, SIGNED_IN, Way

_JOB = "/jobs/{job}"
WAYS: tuple[Way, ...] = (
    Way("/alive", "GET", OPEN, still.alive),
    Way("/static/{name}", "GET", OPEN, still.static),
    Way("/worker.js", "GET", OPEN, still.worker),
    Way("/pair", "GET", OPEN, entrance.pair_page),
    Way("/pair", "POST", OPEN, entrance.pair),
    Way("/sign-out", "POST", SIGNED_IN, entrance.sign_out),
    Way("/another", "GET", PAIR, entrance.another),
    Way("/another", "POST", PAIR, entrance.new_code),
    Way("/", "GET", LOOK, record_pages.jobs_page),
    Way("/open", "GET", LOOK, record_pages.open_items_page),
    Way("/refrigerant", "GET", RECORDS, record_pages.refrigerant_page),
    Way("/audit", "GET", AUDIT, record_pages.audit_page),
    Way("/begin", "GET", DO, job_pages.begin_page),
    Way("/begin", "POST", DO, job_pages.begin),
    Way(_JOB, "GET", LOOK, job_pages.job_page),
    Way(f"{_JOB}/since", "GET", LOOK, job_pages.since),
    Way(f"{_JOB}/think", "GET", LOOK, job_pages.think_page),
    Way(f"{_JOB}/steps", "GET", LOOK, job_pages.steps_page),
    Way(f"{_JOB}/report/{{view}}", "GET", LOOK, job_pages.report_page),
    Way(f"{_JOB}/photos/{{number}}", "GET", LOOK, photos_sent.show_photo),
    Way(f"{_JOB}/answer", "POST", DO, job_actions.answer),
    Way(f"{_JOB}/skip", "POST", DO, job_actions.skip),
    Way(f"{_JOB}/apart", "POST", DO, job_actions.apart),
    Way(f"{_JOB}/back", "POST", DO, job_actions.back),
    Way(f"{_JOB}/note", "POST", DO, job_actions.note),
    Way(f"{_JOB}/change", "POST", DO, job_actions.change),
    Way(f"{_JOB}/close", "POST", DO, job_actions.close),
    Way(f"{_JOB}/lead", "POST", DO, job_actions.lead),
    Way(f"{_JOB}/settle", "POST", DO, job_actions.settle),
    Way(f"{_JOB}/outcome", "POST", DO, job_actions.outcome),
    Way(f"{_JOB}/learn", "POST", DO, learned_pages.learn),
    Way(f"{_JOB}/leave", "POST", DO, job_actions.leave),
    Way(f"{_JOB}/join", "POST", DO, job_actions.join),
    Way(f"{_JOB}/stand", "POST", DO, job_actions.stand),
    Way(f"{_JOB}/take", "POST", DO, place_readings.by_name),
    Way(f"{_JOB}/readings", "POST", DO, place_readings.table),
    Way(f"{_JOB}/kept", "POST", DO, place_readings.hand_over),
    Way(f"{_JOB}/photo", "POST", DO, photos_sent.photo, LARGE),
)
