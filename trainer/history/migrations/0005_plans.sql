-- The plan of each day, as drills/today writes it, with what was done of it. Days are
-- calendar days where the player is; at is when it was last changed.
CREATE TABLE plans (
    day  INTEGER PRIMARY KEY,
    at   INTEGER NOT NULL,
    plan TEXT NOT NULL
) STRICT;

-- On how many days an item was answered. It is worked out anew.
ALTER TABLE item_states ADD COLUMN days INTEGER NOT NULL DEFAULT 1;
