-- Tallies make looking back over years fast. A bucket is a step of answer time,
-- see tally.go; -1 holds the missed answers. A period is 32 days.
CREATE TABLE day_tallies (
    day    INTEGER NOT NULL,
    way    INTEGER NOT NULL,
    bucket INTEGER NOT NULL,
    asked  INTEGER NOT NULL,
    slow   INTEGER NOT NULL,
    PRIMARY KEY (day, way, bucket)
) STRICT, WITHOUT ROWID;

CREATE TABLE degree_tallies (
    period  INTEGER NOT NULL,
    kind    TEXT NOT NULL,
    quality TEXT NOT NULL,
    degree  TEXT NOT NULL,
    bucket  INTEGER NOT NULL,
    asked   INTEGER NOT NULL,
    slow    INTEGER NOT NULL,
    PRIMARY KEY (period, kind, quality, degree, bucket)
) STRICT, WITHOUT ROWID;

CREATE TABLE place_tallies (
    period INTEGER NOT NULL,
    string INTEGER NOT NULL,
    fret   INTEGER NOT NULL,
    bucket INTEGER NOT NULL,
    asked  INTEGER NOT NULL,
    slow   INTEGER NOT NULL,
    PRIMARY KEY (period, string, fret, bucket)
) STRICT, WITHOUT ROWID;
