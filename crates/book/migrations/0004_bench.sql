-- Rows written at the bench: what was dosed, weighed, counted, observed. They stand in one chain with the revisions: the
-- ids of both tables together are 1, 2, 3 … without a gap, and `previous` is the hash of the row before in either.
CREATE TABLE bench_entry (
    id           BIGINT NOT NULL PRIMARY KEY,
    number       BIGINT NOT NULL,             -- 1, 2, 3 … for this thing
    key          TEXT   NOT NULL UNIQUE,      -- made by the device: a row that is sent twice is kept once
    kind         TEXT   NOT NULL,             -- of what it belongs to: batch or trial
    thing        TEXT   NOT NULL,
    at_utc       TEXT   NOT NULL,             -- as the device told it
    arrived_utc  TEXT   NOT NULL,             -- as the book's own computer had it
    who          TEXT   NOT NULL,
    device       TEXT,
    what         TEXT   NOT NULL,             -- a word: dose, weighed, observed …
    of_which     TEXT,                        -- which material, response, tray
    on_unit      TEXT,                        -- which unit within the batch: piece=3
    value        TEXT   NOT NULL,             -- as it was typed
    unit         TEXT,
    strikes      TEXT,                        -- the key of an earlier row of the same thing, which this strikes through
    why          TEXT,
    previous     TEXT   NOT NULL,
    hash         TEXT   NOT NULL,
    UNIQUE (kind, thing, id),
    UNIQUE (kind, thing, number)              -- a second way to the rows: what one index lost, the other tells of
);

-- Photographs, each once, by the SHA-256 of its bytes; rows of the bench name them.
CREATE TABLE picture (
    hash         TEXT   NOT NULL PRIMARY KEY,
    bytes        BYTEA  NOT NULL
);

-- How many there are of both, beside the end of the chain.
ALTER TABLE head ADD COLUMN bench_entries BIGINT NOT NULL DEFAULT 0;
ALTER TABLE head ADD COLUMN pictures BIGINT NOT NULL DEFAULT 0;
