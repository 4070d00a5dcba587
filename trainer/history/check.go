package history

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"io"
	"os"
	"time"

	"github.com/google/uuid"
)

// Checked is the outcome of Check.
type Checked struct {
	Sittings int `json:"sittings"`
	Answers  int `json:"answers"`
	Takes    int `json:"takes"`
	// Unjudged counts the takes without a verdict.
	Unjudged int `json:"unjudged"`
	// UnknownItems and UnknownAnswers count what is kept of kinds that this program
	// does not know, takes among the answers.
	UnknownItems   int `json:"unknown_items"`
	UnknownAnswers int `json:"unknown_answers"`
	// Ahead counts answers and takes that are dated a day or more after the present, LatestAhead
	// is the day of the last of them.
	Ahead       int    `json:"ahead"`
	LatestAhead string `json:"latest_ahead,omitempty"`
	// Faults are what is wrong with the file; none is a clean file.
	Faults []string `json:"faults"`
	// Rebuilt says that indexes, or what is worked out from the answers, were at fault
	// and have been made anew.
	Rebuilt bool `json:"rebuilt"`
	// LeftOut counts the sittings, answers and takes that a repair could not read: a value
	// in them fits no history.
	LeftOut int `json:"left_out"`
}

// notFollowing is the fault of a file whose answers are whole.
const notFollowing = "what is worked out from the answers does not follow from them"

// Check reads the whole file and compares what is worked out from the answers
// with the answers. It changes nothing.
func (s *Store) Check(ctx context.Context) (Checked, error) {
	if s.readOnly && s.remove == nil {
		copied, err := openCopy(s.path, s.now, s.newID)
		if err != nil {
			return Checked{}, err
		}
		defer copied.Close()
		return copied.Check(ctx)
	}
	c := Checked{Faults: []string{}}
	err := s.write(ctx, func(tx *sql.Tx) error {
		var err error
		if c.Faults, err = structureFaults(tx); err != nil || len(c.Faults) > 0 {
			return err
		}
		if err := tx.QueryRow(`SELECT (SELECT count(*) FROM sittings), (SELECT count(*) FROM answers), (SELECT count(*) FROM takes),
			(SELECT count(*) FROM takes WHERE clean IS NULL), (SELECT count(*) FROM items WHERE grp = ''),
			(SELECT count(*) FROM answers a JOIN items i ON i.n = a.item WHERE grp = '') + (SELECT count(*) FROM takes t JOIN items i ON i.n = t.item WHERE grp = '')`).
			Scan(&c.Sittings, &c.Answers, &c.Takes, &c.Unjudged, &c.UnknownItems, &c.UnknownAnswers); err != nil {
			return err
		}
		var latest sql.NullInt64
		if err := tx.QueryRow(`SELECT count(*), max(at) FROM (SELECT at FROM answers UNION ALL SELECT at FROM takes) WHERE at > ?`,
			s.present()).Scan(&c.Ahead, &latest); err != nil {
			return err
		}
		if c.Ahead > 0 {
			c.LatestAhead = time.UnixMilli(latest.Int64).Format(time.DateOnly)
		}
		before, err := fingerprint(tx)
		if err != nil {
			return err
		}
		if err := rebuild(tx); err != nil {
			return err
		}
		after, err := fingerprint(tx)
		if err != nil {
			return err
		}
		if before != after {
			c.Faults = append(c.Faults, notFollowing)
		}
		return errUnchanged
	})
	if err != nil && !errors.Is(err, errUnchanged) {
		return c, err
	}
	return c, nil
}

// errUnchanged rolls a check back.
var errUnchanged = errors.New("unchanged")

// structureFaults lists what is wrong with the file as a database.
func structureFaults(tx *sql.Tx) ([]string, error) {
	faults := []string{}
	for _, pragma := range []string{"integrity_check", "foreign_key_check"} {
		found, err := textRows(tx, "PRAGMA "+pragma)
		if err != nil {
			return faults, err
		}
		for _, f := range found {
			if f != "ok" {
				faults = append(faults, f)
			}
		}
	}
	return faults, nil
}

// Repair opens the history at path, makes anew what is worked out from its sittings,
// answers and takes, indexes too, and returns what Check then finds. Where the
// database itself is at fault they are read out into a new file, and aside names
// the one that is kept beside; it is "" where the file could be mended in place.
func Repair(ctx context.Context, path string, now func() time.Time) (c Checked, aside string, err error) {
	s, err := Open(path, now, nil)
	if err != nil && TroubleOf(err) == Unknown { // a value in it that opening reads
		if s, err = openReadOnly(path); err == nil && now != nil {
			s.now = now
		}
	}
	if err != nil {
		return c, "", err
	}
	defer func() { s.Close() }()
	if c, err = s.Check(ctx); err == nil && len(c.Faults) == 0 {
		return c, "", nil
	}
	left := 0
	if err == nil && len(c.Faults) == 1 && c.Faults[0] == notFollowing {
		err = s.Rebuild()
	} else {
		aside, left, err = s.readOut(ctx)
	}
	if err != nil {
		return c, "", err
	}
	c, err = s.Check(ctx)
	c.Rebuilt, c.LeftOut = err == nil && len(c.Faults) == 0, left
	return c, aside, err
}

// whole hands over all records that can be read and kept.
func (s *Store) whole(ctx context.Context, m *merger) error {
	s.leaving = true
	there := map[uuid.UUID]bool{}
	err := s.Sittings(ctx, func(sit Sitting) error {
		if sit.ID == uuid.Nil || checkYear(sit.Began) != nil || checkYear(sit.Last) != nil {
			return nil
		}
		there[sit.ID] = true
		return m.sitting(sit)
	})
	if err == nil {
		err = s.Answers(ctx, time.Time{}, func(a Answer) error {
			if !there[a.Sitting] || a.check() != nil {
				return nil
			}
			return m.add(a)
		})
	}
	if err == nil {
		err = s.Takes(ctx, time.Time{}, func(t Take) error {
			if !there[t.Sitting] || t.check() != nil {
				return nil
			}
			return m.addTake(t)
		})
	}
	if err == nil {
		err = s.eachPlan(ctx, func(p Plan) error {
			if p.check() != nil {
				return nil
			}
			return m.plan(p)
		})
	}
	return err
}

// readOut writes what the file holds into a new one and puts that in its place. left
// counts the records that could not be read.
func (s *Store) readOut(ctx context.Context) (aside string, left int, err error) {
	var all int
	if s.db.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM sittings) + (SELECT count(*) FROM answers) + (SELECT count(*) FROM takes)`).Scan(&all) != nil {
		all = 0 // what is left out is not known then
	}
	path := s.path + ".repair"
	fresh, err := open(path, dsn(path), busy, s.now, s.newID)
	if err != nil {
		return "", 0, err
	}
	defer os.Remove(path)
	merged, err := fresh.merge(ctx, func(m *merger) error { return s.whole(ctx, m) })
	if err == nil {
		err = s.db.Close()
	}
	if closeErr := fresh.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return "", 0, err
	}
	if err := os.Chmod(path, 0o600); err != nil {
		return "", 0, err
	}
	if aside, err = setAside(s.path, s.now()); err != nil {
		return "", 0, err
	}
	if err := os.Rename(path, s.path); err != nil {
		return "", 0, err
	}
	again, err := Open(s.path, s.now, s.newID)
	if err == nil {
		if s.remove != nil {
			s.remove()
		}
		*s = *again
	}
	return aside, max(0, all-merged.Sittings-merged.Answers-merged.Takes), err
}

// fingerprint sums up everything that is worked out from the answers.
func fingerprint(tx *sql.Tx) (string, error) {
	h := sha256.New()
	for _, query := range []string{
		`SELECT i.key || s.stability || ' ' || s.difficulty || ' ' || s.first || ' ' || s.last || ' ' || s.asked || ' ' || s.slow || ' ' || s.missed || ' ' || s.days
			FROM item_states s JOIN items i ON i.n = s.item ORDER BY 1`,
		`SELECT way || grp || hex(times) FROM paces ORDER BY 1`,
		`SELECT day || ' ' || way || ' ' || asked || ' ' || slow || hex(times) FROM day_tallies ORDER BY 1`,
		`SELECT period || kind || quality || ' ' || degree || ' ' || asked || ' ' || slow || hex(times) FROM degree_tallies ORDER BY 1`,
		`SELECT period || ' ' || string || ' ' || fret || ' ' || asked || ' ' || slow || hex(times) FROM place_tallies ORDER BY 1`,
	} {
		rows, err := textRows(tx, query)
		if err != nil {
			return "", err
		}
		for _, r := range rows {
			io.WriteString(h, r)
			h.Write([]byte{0})
		}
	}
	return string(h.Sum(nil)), nil
}

func textRows(tx *sql.Tx, query string) ([]string, error) {
	rows, err := tx.Query(query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	values := make([]any, len(columns))
	for i := range values {
		values[i] = new(sql.NullString)
	}
	var texts []string
	for rows.Next() {
		if err := rows.Scan(values...); err != nil {
			return nil, err
		}
		text := values[0].(*sql.NullString).String
		for _, v := range values[1:] {
			text += " " + v.(*sql.NullString).String
		}
		texts = append(texts, text)
	}
	return texts, rows.Err()
}
