CREATE TABLE client (
    id INTEGER PRIMARY KEY,
    alias TEXT NOT NULL UNIQUE COLLATE NOCASE CHECK (length(alias) BETWEEN 1 AND 60),
    added_at TEXT NOT NULL
);

-- What was prescribed, from which day on: the programme file as it was, and what it came to (JSON).
CREATE TABLE programme (
    id INTEGER PRIMARY KEY,
    client_id INTEGER NOT NULL REFERENCES client ON DELETE CASCADE,
    version INTEGER NOT NULL,
    sha256 TEXT NOT NULL,
    from_day TEXT NOT NULL,
    file_name TEXT NOT NULL,
    text TEXT NOT NULL,
    plan TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    UNIQUE (client_id, version)
);

-- One result of one clip: result holds result.json, compressed by zlib.
CREATE TABLE recorded_set (
    id INTEGER PRIMARY KEY,
    client_id INTEGER NOT NULL REFERENCES client ON DELETE CASCADE,
    clip_sha256 TEXT NOT NULL,
    result_sha256 TEXT NOT NULL UNIQUE,
    exercise TEXT NOT NULL,
    side TEXT NOT NULL CHECK (side IN ('left', 'right', 'both')),
    day TEXT NOT NULL,
    load TEXT NOT NULL,
    view TEXT NOT NULL,
    yaw_deg REAL,
    yaw_sd_deg REAL,
    model_sha256 TEXT NOT NULL,
    formcheck TEXT NOT NULL,
    settings TEXT NOT NULL,
    sets INTEGER NOT NULL,
    sets_met INTEGER NOT NULL,
    count INTEGER NOT NULL,
    held_s REAL NOT NULL,
    limit_state TEXT NOT NULL,
    folder TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    result BLOB NOT NULL
);
CREATE INDEX recorded_set_of_client ON recorded_set (client_id, day);
CREATE INDEX recorded_set_of_clip ON recorded_set (clip_sha256);

-- What each check of a set came to over its whole repetitions, the coach's overrules counted.
CREATE TABLE measured (
    set_id INTEGER NOT NULL REFERENCES recorded_set ON DELETE CASCADE,
    part TEXT NOT NULL,
    check_id TEXT NOT NULL,
    side TEXT NOT NULL,
    measure TEXT NOT NULL,
    statistic TEXT NOT NULL,
    phase TEXT NOT NULL,
    unit TEXT NOT NULL,
    value REAL,
    spread REAL,
    uncertainty REAL,
    low REAL,
    high REAL,
    within INTEGER NOT NULL,
    outside INTEGER NOT NULL,
    borderline INTEGER NOT NULL,
    not_measurable INTEGER NOT NULL,
    PRIMARY KEY (set_id, part, check_id, side)
) WITHOUT ROWID;

-- What was done and not filmed, by the client's own word.
CREATE TABLE ticked (
    id INTEGER PRIMARY KEY,
    client_id INTEGER NOT NULL REFERENCES client ON DELETE CASCADE,
    exercise TEXT NOT NULL,
    side TEXT NOT NULL CHECK (side IN ('left', 'right', 'both')),
    day TEXT NOT NULL,
    sets INTEGER NOT NULL CHECK (sets BETWEEN 1 AND 99),
    count INTEGER CHECK (count BETWEEN 1 AND 999),
    held_s REAL CHECK (held_s > 0),
    recorded_at TEXT NOT NULL,
    UNIQUE (client_id, exercise, side, day)
);

-- What the client says of a session, or of one exercise in it. Pain and effort are 0 to 10.
CREATE TABLE answer (
    id INTEGER PRIMARY KEY,
    client_id INTEGER NOT NULL REFERENCES client ON DELETE CASCADE,
    day TEXT NOT NULL,
    exercise TEXT NOT NULL,
    clip_sha256 TEXT NOT NULL,
    pain_before INTEGER CHECK (pain_before BETWEEN 0 AND 10),
    pain_during INTEGER CHECK (pain_during BETWEEN 0 AND 10),
    pain_after INTEGER CHECK (pain_after BETWEEN 0 AND 10),
    pain_next_morning INTEGER CHECK (pain_next_morning BETWEEN 0 AND 10),
    effort INTEGER CHECK (effort BETWEEN 0 AND 10),
    stopped_by TEXT NOT NULL,
    words TEXT NOT NULL,
    source TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    recorded_at TEXT NOT NULL,
    UNIQUE (client_id, sha256)
);
CREATE INDEX answer_of_client ON answer (client_id, day);

CREATE TABLE red_flag (
    answer_id INTEGER NOT NULL REFERENCES answer ON DELETE CASCADE,
    flag TEXT NOT NULL,
    yes INTEGER NOT NULL CHECK (yes IN (0, 1)),
    PRIMARY KEY (answer_id, flag)
) WITHOUT ROWID;

-- The coach has looked into everything that was said until then.
CREATE TABLE clearance (
    id INTEGER PRIMARY KEY,
    client_id INTEGER NOT NULL REFERENCES client ON DELETE CASCADE,
    through_day TEXT NOT NULL,
    by TEXT NOT NULL CHECK (length(trim(by)) > 0),
    note TEXT NOT NULL CHECK (length(trim(note)) > 0),
    recorded_at TEXT NOT NULL
);

CREATE TABLE note (
    id INTEGER PRIMARY KEY,
    client_id INTEGER NOT NULL REFERENCES client ON DELETE CASCADE,
    set_id INTEGER REFERENCES recorded_set ON DELETE CASCADE,
    day TEXT NOT NULL,
    by TEXT NOT NULL CHECK (length(trim(by)) > 0),
    words TEXT NOT NULL CHECK (length(trim(words)) > 0),
    recorded_at TEXT NOT NULL
);

-- The coach's verdict on one check of the repetition at that moment of the clip, which finds it again
-- when the clip is checked anew. The measured verdict stays in the result.
CREATE TABLE overrule (
    id INTEGER PRIMARY KEY,
    set_id INTEGER NOT NULL REFERENCES recorded_set ON DELETE CASCADE,
    at_s REAL NOT NULL,
    check_id TEXT NOT NULL,
    side TEXT NOT NULL,
    verdict TEXT NOT NULL CHECK (verdict IN ('within', 'outside', 'not-measurable')),
    by TEXT NOT NULL CHECK (length(trim(by)) > 0),
    words TEXT NOT NULL CHECK (length(trim(words)) > 0),
    recorded_at TEXT NOT NULL
);
CREATE INDEX overrule_of_set ON overrule (set_id);

-- One line for each change, written by the triggers below and by nothing else.
CREATE TABLE audit (
    id INTEGER PRIMARY KEY,
    at TEXT NOT NULL,
    client_id INTEGER,
    change TEXT NOT NULL,
    subject TEXT NOT NULL,
    row INTEGER
);

CREATE TRIGGER client_added AFTER INSERT ON client BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.id, 'added', 'client', NEW.id);
END;
CREATE TRIGGER client_changed AFTER UPDATE ON client BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.id, 'changed', 'client', NEW.id);
END;
CREATE TRIGGER client_removed AFTER DELETE ON client BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.id, 'removed', 'client', OLD.id);
END;
CREATE TRIGGER programme_added AFTER INSERT ON programme BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'added', 'programme', NEW.id);
END;
CREATE TRIGGER programme_changed AFTER UPDATE ON programme BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'changed', 'programme', NEW.id);
END;
CREATE TRIGGER programme_removed AFTER DELETE ON programme BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.client_id, 'removed', 'programme', OLD.id);
END;
CREATE TRIGGER recorded_set_added AFTER INSERT ON recorded_set BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'added', 'recorded_set', NEW.id);
END;
CREATE TRIGGER recorded_set_changed AFTER UPDATE ON recorded_set BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'changed', 'recorded_set', NEW.id);
END;
CREATE TRIGGER recorded_set_removed AFTER DELETE ON recorded_set BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.client_id, 'removed', 'recorded_set', OLD.id);
END;
CREATE TRIGGER ticked_added AFTER INSERT ON ticked BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'added', 'ticked', NEW.id);
END;
CREATE TRIGGER ticked_changed AFTER UPDATE ON ticked BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'changed', 'ticked', NEW.id);
END;
CREATE TRIGGER ticked_removed AFTER DELETE ON ticked BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.client_id, 'removed', 'ticked', OLD.id);
END;
CREATE TRIGGER answer_added AFTER INSERT ON answer BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'added', 'answer', NEW.id);
END;
CREATE TRIGGER answer_changed AFTER UPDATE ON answer BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'changed', 'answer', NEW.id);
END;
CREATE TRIGGER answer_removed AFTER DELETE ON answer BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.client_id, 'removed', 'answer', OLD.id);
END;
CREATE TRIGGER clearance_added AFTER INSERT ON clearance BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'added', 'clearance', NEW.id);
END;
CREATE TRIGGER clearance_changed AFTER UPDATE ON clearance BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'changed', 'clearance', NEW.id);
END;
CREATE TRIGGER clearance_removed AFTER DELETE ON clearance BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.client_id, 'removed', 'clearance', OLD.id);
END;
CREATE TRIGGER note_added AFTER INSERT ON note BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'added', 'note', NEW.id);
END;
CREATE TRIGGER note_changed AFTER UPDATE ON note BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'changed', 'note', NEW.id);
END;
CREATE TRIGGER note_removed AFTER DELETE ON note BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.client_id, 'removed', 'note', OLD.id);
END;
CREATE TRIGGER overrule_added AFTER INSERT ON overrule BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    SELECT strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), client_id, 'added', 'overrule', NEW.id
    FROM recorded_set WHERE id = NEW.set_id;
END;
CREATE TRIGGER overrule_removed AFTER DELETE ON overrule BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    SELECT strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), client_id, 'removed', 'overrule', OLD.id
    FROM recorded_set WHERE id = OLD.set_id;
END;
