-- What someone has not saved carries a counter that every write compares, and keeps it when it is dropped: a window
-- that looked at an older state can't overwrite a newer one. Still no part of the record.
CREATE TABLE unsaved (
    kind         TEXT   NOT NULL,
    thing        TEXT   NOT NULL,
    who          TEXT   NOT NULL,
    counter      BIGINT NOT NULL,             -- raised by every change, dropping included
    base         BIGINT,                      -- the number it started from; NULL for a new thing
    at_utc       TEXT   NOT NULL,
    title        TEXT   NOT NULL,
    form_version BIGINT NOT NULL,
    form         BYTEA,                       -- NULL: dropped or saved
    hash         TEXT,                        -- of the row as it was put; NULL where the layout before had none
    PRIMARY KEY (kind, thing, who)
);
INSERT INTO unsaved (kind, thing, who, counter, base, at_utc, title, form_version, form)
SELECT kind, thing, who, 1, base, at_utc, title, form_version, form FROM draft;
DROP TABLE draft;

-- The end of the chain in a second place, so that a tail cut off shows.
CREATE TABLE head (
    one          BIGINT NOT NULL PRIMARY KEY CHECK (one = 1),
    id           BIGINT NOT NULL,             -- 0 in an empty book
    hash         TEXT   NOT NULL
);
INSERT INTO head (one, id, hash) SELECT 1, 0, '0000000000000000000000000000000000000000000000000000000000000000';
UPDATE head SET id = (SELECT id FROM revision ORDER BY id DESC LIMIT 1),
                hash = (SELECT hash FROM revision ORDER BY id DESC LIMIT 1)
WHERE EXISTS (SELECT 1 FROM revision);
