-- Tallies make looking back over years fast. times counts the right answers by
-- buckets of answer time, see tally.go. A period is 32 days.
CREATE TABLE day_tallies (
    day   INTEGER NOT NULL,
    way   INTEGER NOT NULL,
    asked INTEGER NOT NULL,
    slow  INTEGER NOT NULL,
    times BLOB NOT NULL,
    PRIMARY KEY (day, way)
) STRICT, WITHOUT ROWID;

CREATE TABLE degree_tallies (
    period  INTEGER NOT NULL,
    kind    TEXT NOT NULL,
    quality TEXT NOT NULL,
    degree  TEXT NOT NULL,
    asked   INTEGER NOT NULL,
    slow    INTEGER NOT NULL,
    times   BLOB NOT NULL,
    PRIMARY KEY (period, kind, quality, degree)
) STRICT, WITHOUT ROWID;

CREATE TABLE place_tallies (
    period INTEGER NOT NULL,
    string INTEGER NOT NULL,
    fret   INTEGER NOT NULL,
    asked  INTEGER NOT NULL,
    slow   INTEGER NOT NULL,
    times  BLOB NOT NULL,
    PRIMARY KEY (period, string, fret)
) STRICT, WITHOUT ROWID;
