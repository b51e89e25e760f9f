-- Ids are UUIDv7 made by us, times RFC 3339 in UTC, hashes SHA-256 in lower-case hexadecimal.
-- What was measured and what was found is only ever added.

CREATE TABLE cable (
    id TEXT PRIMARY KEY,
    tag TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(tag) BETWEEN 1 AND 32),
    description TEXT NOT NULL,
    place TEXT NOT NULL,
    created_at TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    retired_at TEXT,
    retired_why TEXT
) STRICT;

CREATE TABLE content (
    sha256 TEXT PRIMARY KEY,
    bytes BLOB NOT NULL
) STRICT;

CREATE TABLE assay (
    id TEXT PRIMARY KEY,
    cable_id TEXT NOT NULL REFERENCES cable (id),
    at TEXT NOT NULL,
    setup TEXT NOT NULL CHECK (json_valid(setup))
) STRICT;
CREATE INDEX assay_of_cable ON assay (cable_id, at, id);

CREATE TABLE sweep (
    id TEXT PRIMARY KEY,
    assay_id TEXT NOT NULL REFERENCES assay (id),
    position INTEGER NOT NULL,
    file_name TEXT NOT NULL,
    role TEXT NOT NULL,
    sha256 TEXT NOT NULL REFERENCES content (sha256),
    UNIQUE (assay_id, position)
) STRICT;
CREATE INDEX sweep_of_content ON sweep (sha256);

-- The columns before `json` repeat what lists need, so that a list reads no long text.
CREATE TABLE finding (
    id TEXT PRIMARY KEY,
    assay_id TEXT NOT NULL REFERENCES assay (id),
    made_at TEXT NOT NULL,
    program_version TEXT NOT NULL,
    impedance_ohm REAL GENERATED ALWAYS AS (json_extract(json, '$.impedance.ohm')) STORED,
    u95_impedance_ohm REAL GENERATED ALWAYS AS (json_extract(json, '$.impedance.u95_ohm')) STORED,
    length_m REAL GENERATED ALWAYS AS (json_extract(json, '$.length.m')) STORED,
    condition TEXT GENERATED ALWAYS AS (json_extract(json, '$.condition')) STORED,
    action TEXT GENERATED ALWAYS AS (json_extract(json, '$.verdict.action')) STORED,
    json TEXT NOT NULL CHECK (json_valid(json))
) STRICT;
-- Holds all that a list needs, so that a list reads no rows of findings, which are long.
CREATE INDEX finding_of_assay ON finding
    (assay_id, made_at, id, impedance_ohm, u95_impedance_ohm, length_m, condition, action);

CREATE TABLE decision (
    id TEXT PRIMARY KEY,
    cable_id TEXT NOT NULL REFERENCES cable (id),
    at TEXT NOT NULL,
    action TEXT NOT NULL,
    reason TEXT NOT NULL
) STRICT;
CREATE INDEX decision_of_cable ON decision (cable_id, at, id);

CREATE TABLE note (
    id TEXT PRIMARY KEY,
    cable_id TEXT NOT NULL REFERENCES cable (id),
    at TEXT NOT NULL,
    text TEXT NOT NULL
) STRICT;
CREATE INDEX note_of_cable ON note (cable_id, at, id);

CREATE TABLE photo (
    id TEXT PRIMARY KEY,
    cable_id TEXT NOT NULL REFERENCES cable (id),
    at TEXT NOT NULL,
    file_name TEXT NOT NULL,
    caption TEXT NOT NULL,
    sha256 TEXT NOT NULL REFERENCES content (sha256)
) STRICT;
CREATE INDEX photo_of_cable ON photo (cable_id, at, id);
CREATE INDEX photo_of_content ON photo (sha256);

CREATE TRIGGER content_stays BEFORE UPDATE ON content BEGIN SELECT RAISE (ABORT, 'contents are never changed'); END;
CREATE TRIGGER content_is_kept BEFORE DELETE ON content BEGIN SELECT RAISE (ABORT, 'contents are never deleted'); END;
CREATE TRIGGER sweep_stays BEFORE UPDATE ON sweep BEGIN SELECT RAISE (ABORT, 'sweeps are never changed'); END;
CREATE TRIGGER sweep_is_kept BEFORE DELETE ON sweep BEGIN SELECT RAISE (ABORT, 'sweeps are never deleted'); END;
CREATE TRIGGER assay_stays BEFORE UPDATE ON assay BEGIN SELECT RAISE (ABORT, 'assays are never changed'); END;
CREATE TRIGGER assay_is_kept BEFORE DELETE ON assay BEGIN SELECT RAISE (ABORT, 'assays are never deleted'); END;
CREATE TRIGGER finding_stays BEFORE UPDATE ON finding BEGIN SELECT RAISE (ABORT, 'findings are never changed'); END;
CREATE TRIGGER finding_is_kept BEFORE DELETE ON finding BEGIN SELECT RAISE (ABORT, 'findings are never deleted'); END;
CREATE TRIGGER cable_is_kept BEFORE DELETE ON cable BEGIN SELECT RAISE (ABORT, 'cables are retired, never deleted'); END;
