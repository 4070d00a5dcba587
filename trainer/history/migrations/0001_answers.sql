-- Sittings and answers are the truth. Local numbers (n) never leave the file;
-- ids are the same on every machine. Times are Unix milliseconds, days are
-- calendar days where the player is, counted from 1970-01-01.
CREATE TABLE sittings (
    n     INTEGER PRIMARY KEY,
    id    BLOB NOT NULL UNIQUE CHECK (length(id) = 16),
    began INTEGER NOT NULL,
    last  INTEGER NOT NULL,
    zone  INTEGER NOT NULL, -- seconds east of UTC
    drill TEXT NOT NULL,
    tune  TEXT NOT NULL
) STRICT;

CREATE TABLE items (
    n     INTEGER PRIMARY KEY,
    key   TEXT NOT NULL UNIQUE,
    kind  TEXT NOT NULL,
    grp   TEXT NOT NULL -- the group whose answer times it is timed with
) STRICT;

CREATE TABLE answers (
    at      INTEGER NOT NULL,
    id      BLOB NOT NULL CHECK (length(id) = 16),
    sitting INTEGER NOT NULL REFERENCES sittings (n),
    item    INTEGER NOT NULL REFERENCES items (n),
    zone    INTEGER NOT NULL,
    way     INTEGER NOT NULL,
    verdict INTEGER NOT NULL,
    grade   INTEGER NOT NULL CHECK (grade BETWEEN 1 AND 4),
    took    INTEGER NOT NULL,
    string  INTEGER NOT NULL, -- 0 where the question was not on the neck
    fret    INTEGER NOT NULL,
    given   TEXT NOT NULL,
    PRIMARY KEY (at, id)
) STRICT, WITHOUT ROWID;

-- What follows is worked out from the truth.
CREATE INDEX answers_of_item ON answers (item, at);

CREATE TABLE item_states (
    item       INTEGER PRIMARY KEY REFERENCES items (n),
    stability  REAL NOT NULL,
    difficulty REAL NOT NULL,
    first      INTEGER NOT NULL,
    last       INTEGER NOT NULL,
    asked      INTEGER NOT NULL,
    slow       INTEGER NOT NULL,
    missed     INTEGER NOT NULL
) STRICT;

CREATE TABLE paces (
    way   INTEGER NOT NULL,
    grp   TEXT NOT NULL,
    times BLOB NOT NULL, -- milliseconds as varints, oldest first
    PRIMARY KEY (way, grp)
) STRICT, WITHOUT ROWID;
