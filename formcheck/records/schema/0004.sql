-- Which rules were not met when a phase was signed, by name with spaces between; and that a signature was
-- taken back, by whom and why: it stays in the record and no longer counts.
ALTER TABLE phase_entry ADD COLUMN although TEXT NOT NULL DEFAULT '';
ALTER TABLE phase_entry ADD COLUMN taken_back_by TEXT;
ALTER TABLE phase_entry ADD COLUMN taken_back_note TEXT;
ALTER TABLE phase_entry ADD COLUMN taken_back_at TEXT;
