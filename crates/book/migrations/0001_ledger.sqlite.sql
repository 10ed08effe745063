-- The ledger is written in ink. (Triggers are spelt differently by every database, so they stand apart.)
CREATE TRIGGER revision_is_never_changed BEFORE UPDATE ON revision
BEGIN
    SELECT RAISE(ABORT, 'a revision is never changed');
END;

CREATE TRIGGER revision_is_never_deleted BEFORE DELETE ON revision
BEGIN
    SELECT RAISE(ABORT, 'a revision is never deleted');
END;

CREATE TRIGGER revision_is_only_appended BEFORE INSERT ON revision
WHEN NEW.id <> (SELECT COALESCE(MAX(id), 0) + 1 FROM revision)
BEGIN
    SELECT RAISE(ABORT, 'a revision is only added after the last one');
END;
