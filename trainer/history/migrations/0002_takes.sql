CREATE TABLE takes (
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
    clean    INTEGER NOT NULL,
    ramp     TEXT NOT NULL,
    grade    INTEGER NOT NULL CHECK (grade BETWEEN 1 AND 4)
) STRICT;

CREATE INDEX takes_of_item ON takes (item, at);

CREATE TABLE take_events (
    take    INTEGER NOT NULL REFERENCES takes (n) ON DELETE CASCADE,
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
