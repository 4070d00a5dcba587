-- The file says whose it is, and which history: a number that another file put in
-- its place does not have. A pass may be kept without a verdict, for one to come
-- later: clean and grade are NULL then.
PRAGMA application_id = 0x466f6f74;

CREATE TABLE identity (
    id BLOB NOT NULL CHECK (length(id) = 16)
) STRICT;

INSERT INTO identity VALUES (randomblob(16));

-- What is dated ahead of the clock, because that was once wrong: from first to last,
-- noticed on a day. Part of what is worked out.
CREATE TABLE misdated (
    one     INTEGER PRIMARY KEY CHECK (one = 1),
    first   INTEGER NOT NULL,
    last    INTEGER NOT NULL,
    noticed INTEGER NOT NULL
) STRICT;

CREATE TABLE passes (
    n        INTEGER PRIMARY KEY,
    id       BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    at       INTEGER NOT NULL,
    sitting  INTEGER NOT NULL REFERENCES sittings (n),
    item     INTEGER NOT NULL REFERENCES items (n),
    zone     INTEGER NOT NULL,
    way      INTEGER NOT NULL,
    tempo    REAL NOT NULL,
    length   INTEGER NOT NULL,
    expected INTEGER NOT NULL,
    matched  INTEGER NOT NULL,
    missed   INTEGER NOT NULL,
    extra    INTEGER NOT NULL,
    wrong    INTEGER NOT NULL,
    mean     INTEGER NOT NULL, -- microseconds, late positive
    spread   INTEGER NOT NULL,
    clean    INTEGER,
    ramp     TEXT NOT NULL,
    grade    INTEGER CHECK (grade BETWEEN 1 AND 4),
    CHECK ((clean IS NULL) = (grade IS NULL))
) STRICT;

INSERT INTO passes SELECT * FROM takes;

CREATE TABLE pass_events (
    take    INTEGER NOT NULL REFERENCES passes (n) ON DELETE CASCADE,
    seq     INTEGER NOT NULL,
    bar     INTEGER NOT NULL,
    beat    INTEGER NOT NULL,
    off     INTEGER NOT NULL,
    string  INTEGER NOT NULL,
    fret    INTEGER NOT NULL,
    midi    INTEGER NOT NULL,
    verdict TEXT NOT NULL,
    offset  INTEGER NOT NULL, -- microseconds, late positive
    PRIMARY KEY (take, seq)
) STRICT, WITHOUT ROWID;

INSERT INTO pass_events SELECT * FROM take_events;

DROP TABLE take_events;
DROP TABLE takes;
ALTER TABLE passes RENAME TO takes;
ALTER TABLE pass_events RENAME TO take_events;
CREATE INDEX takes_of_item ON takes (item, at);
