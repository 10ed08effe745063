-- Ink, as the ledger is.
DROP TRIGGER revision_is_only_appended;
CREATE TRIGGER revision_is_only_appended BEFORE INSERT ON revision
WHEN NEW.id <> 1 + MAX((SELECT COALESCE(MAX(id), 0) FROM revision), (SELECT COALESCE(MAX(id), 0) FROM bench_entry))
BEGIN
    SELECT RAISE(ABORT, 'a revision is only added after the last row');
END;

CREATE TRIGGER bench_entry_is_only_appended BEFORE INSERT ON bench_entry
WHEN NEW.id <> 1 + MAX((SELECT COALESCE(MAX(id), 0) FROM revision), (SELECT COALESCE(MAX(id), 0) FROM bench_entry))
BEGIN
    SELECT RAISE(ABORT, 'a row of the bench is only added after the last row');
END;

CREATE TRIGGER bench_entry_is_never_changed BEFORE UPDATE ON bench_entry
BEGIN
    SELECT RAISE(ABORT, 'a row of the bench is never changed');
END;

CREATE TRIGGER bench_entry_is_never_deleted BEFORE DELETE ON bench_entry
BEGIN
    SELECT RAISE(ABORT, 'a row of the bench is never deleted');
END;

CREATE TRIGGER picture_is_never_changed BEFORE UPDATE ON picture
BEGIN
    SELECT RAISE(ABORT, 'a picture is never changed');
END;

CREATE TRIGGER picture_is_never_deleted BEFORE DELETE ON picture
BEGIN
    SELECT RAISE(ABORT, 'a picture is never deleted');
END;
