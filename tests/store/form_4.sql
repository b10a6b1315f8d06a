-- A job file as the fourth form of the store wrote it, with two jobs. Everything in it is invented.
PRAGMA application_id = 1918985067;
PRAGMA user_version = 4;
CREATE TABLE entry (
        job TEXT NOT NULL REFERENCES job (id), seq INTEGER NOT NULL,
        at TEXT NOT NULL, kind TEXT NOT NULL, step TEXT NOT NULL, data TEXT NOT NULL, who TEXT NOT NULL DEFAULT '', hash TEXT NOT NULL DEFAULT '',
        PRIMARY KEY (job, seq)
    ) WITHOUT ROWID;
INSERT INTO "entry" VALUES('2026-03-14-A4',1,'2026-03-14T12:01:00+00:00','answer','header','{"quantity": "hot_gas_header_pressure", "kind": "pressure", "text": "206 psig", "value": 1420320.0, "plus_minus": 6894.76, "stage": "as found", "round": 0}','','3568c27fdb4ae34f6bfc62c834771a8a07163b7ab1bd6f61fae37bd39eef35ad');
INSERT INTO "entry" VALUES('2026-03-14-A4',2,'2026-03-14T12:02:00+00:00','reopen','header','{}','','093c200b21835b1571e74b9841c544b054199ccc378fca24a6fcad3774645f1e');
INSERT INTO "entry" VALUES('2026-03-14-A4',3,'2026-03-14T12:03:00+00:00','answer','header','{"quantity": "hot_gas_header_pressure", "kind": "pressure", "text": "216 psig", "value": 1489268.0, "plus_minus": 6894.76, "stage": "as found", "round": 0}','','0d8bed6844718128adf2b260dd45218a1d27a5a964f7ce71e93e9e90aa46c65b');
INSERT INTO "entry" VALUES('2026-03-15-A5',1,'2026-03-15T12:01:00+00:00','skip','header','{"reason": "no gauge on the van"}','','6f1f04cb77572dde8b7f7463e51b0f691abbc24dd0c90b07483bb8cb14b8c718');
CREATE TABLE exchanged (
    other TEXT NOT NULL, way TEXT NOT NULL, uid TEXT NOT NULL, state TEXT NOT NULL,
    PRIMARY KEY (other, way, uid)
);
CREATE TABLE fact (
    job TEXT NOT NULL REFERENCES job (id), step TEXT NOT NULL, topic TEXT NOT NULL,
    name TEXT NOT NULL, subject TEXT NOT NULL, place BIGINT NOT NULL, at TEXT NOT NULL,
    seq INTEGER NOT NULL, PRIMARY KEY (job, step, topic, name)
) WITHOUT ROWID;
INSERT INTO "fact" VALUES('2026-03-14-A4','header','reading','hot_gas_header_pressure','A4',89333212764942,'2026-03-14T12:03:00.000000+00:00',3);
CREATE TABLE "job" (
    id TEXT PRIMARY KEY, uid TEXT NOT NULL UNIQUE, branch_of TEXT NOT NULL DEFAULT '',
    checklist TEXT NOT NULL, checklist_revision TEXT NOT NULL, checklist_hash TEXT NOT NULL,
    rulebase TEXT NOT NULL, rulebase_version TEXT NOT NULL, rulebase_hash TEXT NOT NULL,
    site TEXT NOT NULL, site_hash TEXT NOT NULL REFERENCES site_file (hash),
    subject TEXT NOT NULL, units TEXT NOT NULL, who TEXT NOT NULL,
    created TEXT NOT NULL, finished TEXT,
    entries INTEGER NOT NULL DEFAULT 0, last TEXT
, chain TEXT NOT NULL DEFAULT '');
INSERT INTO "job" VALUES('2026-03-14-A4','f940487bae00a3c7426cfd65b336270b','','small-checkout','1','c0ffee','small','1.0','beef','Invented store','1b012b139dc93da7eb144060ec2f4ec79a7f11d050e5dbcd4c04c660dd63abcd','A4','us','N. N.','2026-03-14T12:00:00+00:00','2026-03-14T12:30:00+00:00',3,'2026-03-14T12:03:00+00:00','0d8bed6844718128adf2b260dd45218a1d27a5a964f7ce71e93e9e90aa46c65b');
INSERT INTO "job" VALUES('2026-03-15-A5','cb65915b42c3664f687f609e01c5466e','','small-checkout','1','c0ffee','small','1.0','beef','Invented store','1b012b139dc93da7eb144060ec2f4ec79a7f11d050e5dbcd4c04c660dd63abcd','A5','us','N. N.','2026-03-15T12:00:00+00:00',NULL,1,'2026-03-15T12:01:00+00:00','6f1f04cb77572dde8b7f7463e51b0f691abbc24dd0c90b07483bb8cb14b8c718');
CREATE TABLE lease (
        job TEXT PRIMARY KEY REFERENCES job (id),
        token TEXT NOT NULL, pid INTEGER NOT NULL, host TEXT NOT NULL, since TEXT NOT NULL
    );
CREATE TABLE release (
    id TEXT PRIMARY KEY, number INTEGER NOT NULL UNIQUE, manifest TEXT NOT NULL,
    signature TEXT NOT NULL, content TEXT NOT NULL
);
CREATE TABLE site_file (hash TEXT PRIMARY KEY, text TEXT NOT NULL);
INSERT INTO "site_file" VALUES('1b012b139dc93da7eb144060ec2f4ec79a7f11d050e5dbcd4c04c660dd63abcd','site: {name: Invented store}');
CREATE TABLE summary (
    job TEXT NOT NULL REFERENCES job (id), entries INTEGER NOT NULL, version INTEGER NOT NULL,
    made TEXT NOT NULL, data TEXT NOT NULL, PRIMARY KEY (job, entries, version)
);
INSERT INTO "summary" VALUES('2026-03-14-A4',3,3,'2026-03-14T12:30:00+00:00','[]');
CREATE INDEX job_by_branch ON job (branch_of);
CREATE INDEX job_by_site ON job (site, finished);
CREATE INDEX fact_by_name ON fact (place, topic, name, subject, at);
