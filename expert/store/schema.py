"""The tables of the job store, the same on SQLite and PostgreSQL, and how they came to be.

`job` and `entry` are the record; nothing in `entry` is ever changed or removed. `fact` is an index
made from the entries (`facts.py`) and can be made again from them at any time; `entries` and
`last` in `job` are counts of the same sort.
"""

from __future__ import annotations

VERSION = 5
APPLICATION = 0x7261636B  # 'rack'
# Form 1 kept the site's text in every job and had neither `uid` nor `fact`; form 2 had no `who` of
# an entry and no hashes (`chain.py`); form 3 neither `release` nor `exchanged`, form 4 no `known`.
JOB = """CREATE TABLE {name} (
    id TEXT PRIMARY KEY, uid TEXT NOT NULL UNIQUE, branch_of TEXT NOT NULL DEFAULT '',
    checklist TEXT NOT NULL, checklist_revision TEXT NOT NULL, checklist_hash TEXT NOT NULL,
    rulebase TEXT NOT NULL, rulebase_version TEXT NOT NULL, rulebase_hash TEXT NOT NULL,
    site TEXT NOT NULL, site_hash TEXT NOT NULL REFERENCES site_file (hash),
    subject TEXT NOT NULL, units TEXT NOT NULL, who TEXT NOT NULL,
    created TEXT NOT NULL, finished TEXT,
    entries INTEGER NOT NULL DEFAULT 0, last TEXT, chain TEXT NOT NULL DEFAULT ''
)"""
SITE_FILE = "CREATE TABLE site_file (hash TEXT PRIMARY KEY, text TEXT NOT NULL)"
ENTRY = """CREATE TABLE entry (
    job TEXT NOT NULL REFERENCES job (id), seq INTEGER NOT NULL,
    at TEXT NOT NULL, kind TEXT NOT NULL, step TEXT NOT NULL, data TEXT NOT NULL,
    who TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
    PRIMARY KEY (job, seq)
){without_rowid}"""
LEASE = """CREATE TABLE lease (
    job TEXT PRIMARY KEY REFERENCES job (id),
    token TEXT NOT NULL, pid INTEGER NOT NULL, host TEXT NOT NULL, since TEXT NOT NULL
)"""
FACT = (
    """CREATE TABLE fact (
    job TEXT NOT NULL REFERENCES job (id), step TEXT NOT NULL, topic TEXT NOT NULL,
    name TEXT NOT NULL, subject TEXT NOT NULL, place BIGINT NOT NULL, at TEXT NOT NULL,
    seq INTEGER NOT NULL, PRIMARY KEY (job, step, topic, name)
){without_rowid}""",
    "CREATE INDEX fact_by_name ON fact (place, topic, name, subject, at)",
)
# `release` holds what the company gave out (`releases.py`), `exchanged` what of a job another store
# is known to have (`exchange_with.py`), `summary` what a job says in short (`summaries.py`).
COMPANY = (
    """CREATE TABLE IF NOT EXISTS release (
    id TEXT PRIMARY KEY, number INTEGER NOT NULL UNIQUE, manifest TEXT NOT NULL,
    signature TEXT NOT NULL, content TEXT NOT NULL
)""",
    """CREATE TABLE IF NOT EXISTS exchanged (
    other TEXT NOT NULL, way TEXT NOT NULL, uid TEXT NOT NULL, state TEXT NOT NULL,
    PRIMARY KEY (other, way, uid)
)""",
    """CREATE TABLE IF NOT EXISTS summary (
    job TEXT NOT NULL REFERENCES job (id), entries INTEGER NOT NULL, version INTEGER NOT NULL,
    made TEXT NOT NULL, data TEXT NOT NULL, PRIMARY KEY (job, entries, version)
)""",
)
# What is known in a finished job (`kept_known.py`), made from its entries like `fact`.
KNOWN = """CREATE TABLE IF NOT EXISTS known (
    job TEXT PRIMARY KEY REFERENCES job (id), entries INTEGER NOT NULL, frame TEXT NOT NULL,
    data TEXT NOT NULL
)"""
JOB_INDEXES = (
    "CREATE INDEX job_by_branch ON job (branch_of)",
    "CREATE INDEX job_by_site ON job (site, finished)",
)


def tables(*, sqlite: bool) -> tuple[str, ...]:
    """The statements that make an empty store."""
    ending = " WITHOUT ROWID" if sqlite else ""
    statements = (
        SITE_FILE, JOB.format(name="job"), *JOB_INDEXES, ENTRY.format(without_rowid=ending), LEASE,
        FACT[0].format(without_rowid=ending), FACT[1], *COMPANY, KNOWN,
    )  # fmt: skip
    if sqlite:
        return statements
    # times and ids sort by their signs, whatever the server's language
    return tuple(each.replace(" TEXT", ' TEXT COLLATE "C"') for each in statements)
