-- Which phase of a programme a client is in, from which day on, by whose signature.
CREATE TABLE phase_entry (
    id INTEGER PRIMARY KEY,
    client_id INTEGER NOT NULL REFERENCES client ON DELETE CASCADE,
    phase TEXT NOT NULL,
    from_day TEXT NOT NULL,
    by TEXT NOT NULL CHECK (length(trim(by)) > 0),
    note TEXT NOT NULL CHECK (length(trim(note)) > 0),
    recorded_at TEXT NOT NULL
);

-- A set that the coach signed as good: what later sets of the exercise are also read against.
CREATE TABLE baseline (
    id INTEGER PRIMARY KEY,
    set_id INTEGER NOT NULL UNIQUE REFERENCES recorded_set ON DELETE CASCADE,
    by TEXT NOT NULL CHECK (length(trim(by)) > 0),
    note TEXT NOT NULL,
    recorded_at TEXT NOT NULL
);

-- Whether a set was filmed again on purpose, the camera put up anew, to see how far results repeat.
ALTER TABLE recorded_set ADD COLUMN filmed_again INTEGER NOT NULL DEFAULT 0;

CREATE TRIGGER phase_entry_added AFTER INSERT ON phase_entry BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'added', 'phase_entry', NEW.id);
END;
CREATE TRIGGER phase_entry_changed AFTER UPDATE ON phase_entry BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), NEW.client_id, 'changed', 'phase_entry', NEW.id);
END;
CREATE TRIGGER phase_entry_removed AFTER DELETE ON phase_entry BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    VALUES (strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), OLD.client_id, 'removed', 'phase_entry', OLD.id);
END;
CREATE TRIGGER baseline_added AFTER INSERT ON baseline BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    SELECT strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), client_id, 'added', 'baseline', NEW.id
    FROM recorded_set WHERE id = NEW.set_id;
END;
CREATE TRIGGER baseline_removed AFTER DELETE ON baseline BEGIN
    INSERT INTO audit (at, client_id, change, subject, row)
    SELECT strftime('%Y-%m-%dT%H:%M:%SZ', 'now'), client_id, 'removed', 'baseline', OLD.id
    FROM recorded_set WHERE id = OLD.set_id;
END;
