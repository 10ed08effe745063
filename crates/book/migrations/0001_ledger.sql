-- The ledger. One row for every change, written once and never touched again.
CREATE TABLE revision (
    id           BIGINT NOT NULL PRIMARY KEY, -- 1, 2, 3 … through the whole book, without a gap
    kind         TEXT   NOT NULL,
    thing        TEXT   NOT NULL,
    number       BIGINT NOT NULL,             -- 1, 2, 3 … for this thing
    parent       BIGINT,                      -- the number it was made from; NULL for the first
    action       TEXT   NOT NULL CHECK (action IN ('save', 'remove', 'restore')),
    restored     BIGINT,                      -- the number whose form was taken up again
    who          TEXT   NOT NULL,
    at_utc       TEXT   NOT NULL,
    why          TEXT,
    title        TEXT   NOT NULL,
    form_version BIGINT NOT NULL,
    form         BYTEA  NOT NULL,             -- packed, see form_base
    form_base    BIGINT REFERENCES revision (id), -- packed against that revision's form; NULL: packed alone
    form_length  BIGINT NOT NULL,             -- bytes unpacked
    previous     TEXT   NOT NULL,             -- hash of the revision before, through the whole book
    hash         TEXT   NOT NULL,
    UNIQUE (kind, thing, number)
);

-- The state of today: the newest revision of every thing, removals among them.
CREATE VIEW newest AS
SELECT r.*
FROM revision r
JOIN (SELECT kind, thing, MAX(number) AS number FROM revision GROUP BY kind, thing) n
  ON r.kind = n.kind AND r.thing = n.thing AND r.number = n.number;

-- What someone is typing and has not saved. Not part of the record: overwritten and dropped freely.
CREATE TABLE draft (
    kind         TEXT   NOT NULL,
    thing        TEXT   NOT NULL,
    who          TEXT   NOT NULL,
    base         BIGINT,                      -- the number it started from; NULL for a new thing
    at_utc       TEXT   NOT NULL,
    title        TEXT   NOT NULL,
    form_version BIGINT NOT NULL,
    form         BYTEA  NOT NULL,
    PRIMARY KEY (kind, thing, who)
);
