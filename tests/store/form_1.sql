-- A job file as the first form of the store wrote it, with two jobs. Everything in it is invented.
PRAGMA application_id = 1918985067;
PRAGMA user_version = 1;
CREATE TABLE job (
        id TEXT PRIMARY KEY,
        checklist TEXT NOT NULL, checklist_revision TEXT NOT NULL, checklist_hash TEXT NOT NULL,
        rulebase TEXT NOT NULL, rulebase_version TEXT NOT NULL, rulebase_hash TEXT NOT NULL,
        site TEXT NOT NULL, site_text TEXT NOT NULL, subject TEXT NOT NULL,
        units TEXT NOT NULL, who TEXT NOT NULL, created TEXT NOT NULL, finished TEXT
    );
CREATE TABLE entry (
        job TEXT NOT NULL REFERENCES job (id), seq INTEGER NOT NULL,
        at TEXT NOT NULL, kind TEXT NOT NULL, step TEXT NOT NULL, data TEXT NOT NULL,
        PRIMARY KEY (job, seq)
    ) WITHOUT ROWID;
CREATE TABLE lease (
        job TEXT PRIMARY KEY REFERENCES job (id),
        token TEXT NOT NULL, pid INTEGER NOT NULL, host TEXT NOT NULL, since TEXT NOT NULL
    );
INSERT INTO job VALUES ('2026-03-14-A4', 'small-checkout', '1', 'c0ffee', 'small', '1.0', 'beef',
    'Invented store', 'site: {name: Invented store}', 'A4', 'us', 'N. N.',
    '2026-03-14T12:00:00+00:00', '2026-03-14T12:30:00+00:00');
INSERT INTO job VALUES ('2026-03-15-A5', 'small-checkout', '1', 'c0ffee', 'small', '1.0', 'beef',
    'Invented store', 'site: {name: Invented store}', 'A5', 'us', 'N. N.',
    '2026-03-15T12:00:00+00:00', NULL);
INSERT INTO entry VALUES ('2026-03-14-A4', 1, '2026-03-14T12:01:00+00:00', 'answer', 'header',
    '{"quantity": "hot_gas_header_pressure", "kind": "pressure", "text": "206 psig", "value": 1420320.0, "plus_minus": 6894.76, "stage": "as found", "round": 0}');
INSERT INTO entry VALUES ('2026-03-14-A4', 2, '2026-03-14T12:02:00+00:00', 'reopen', 'header', '{}');
INSERT INTO entry VALUES ('2026-03-14-A4', 3, '2026-03-14T12:03:00+00:00', 'answer', 'header',
    '{"quantity": "hot_gas_header_pressure", "kind": "pressure", "text": "216 psig", "value": 1489268.0, "plus_minus": 6894.76, "stage": "as found", "round": 0}');
INSERT INTO entry VALUES ('2026-03-15-A5', 1, '2026-03-15T12:01:00+00:00', 'skip', 'header',
    '{"reason": "no gauge on the van"}');
