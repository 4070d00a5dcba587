package history

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"io"
	"os"
	"path/filepath"
)

// Checked is the outcome of Check.
type Checked struct {
	Sittings int `json:"sittings"`
	Answers  int `json:"answers"`
	Takes    int `json:"takes"`
	// Faults are what is wrong with the file; none is a clean file.
	Faults []string `json:"faults"`
	// Rebuilt says that item states did not follow from the answers and have
	// been worked out anew.
	Rebuilt bool `json:"rebuilt"`
}

// Check reads the whole file and compares what is worked out from the answers
// with the answers. It writes only where those disagree.
func (s *Store) Check(ctx context.Context) (Checked, error) {
	c := Checked{Faults: []string{}}
	err := s.write(ctx, func(tx *sql.Tx) error {
		for _, pragma := range []string{"integrity_check", "foreign_key_check"} {
			found, err := textRows(tx, "PRAGMA "+pragma)
			if err != nil {
				return err
			}
			for _, f := range found {
				if f != "ok" {
					c.Faults = append(c.Faults, f)
				}
			}
		}
		if len(c.Faults) > 0 {
			return nil
		}
		if err := tx.QueryRow(`SELECT (SELECT count(*) FROM sittings), (SELECT count(*) FROM answers), (SELECT count(*) FROM takes)`).
			Scan(&c.Sittings, &c.Answers, &c.Takes); err != nil {
			return err
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
		c.Rebuilt = before != after
		if !c.Rebuilt {
			return errUnchanged
		}
		return nil
	})
	if errors.Is(err, errUnchanged) {
		err = nil
	}
	return c, err
}

// errUnchanged rolls a check back that changed nothing.
var errUnchanged = errors.New("unchanged")

// fingerprint sums up everything that is worked out from the answers.
func fingerprint(tx *sql.Tx) (string, error) {
	h := sha256.New()
	for _, query := range []string{
		`SELECT i.key || s.stability || ' ' || s.difficulty || ' ' || s.first || ' ' || s.last || ' ' || s.asked || ' ' || s.slow || ' ' || s.missed
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

// Backup writes a whole and compact copy of the history to a new file, mode
// 0600, while other programs may go on writing. It never overwrites.
func (s *Store) Backup(ctx context.Context, path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	absolute, err := filepath.Abs(path)
	if err == nil {
		_, err = s.db.ExecContext(ctx, `VACUUM INTO ?`, absolute)
	}
	if err != nil {
		os.Remove(path)
		return fault(path, err)
	}
	return nil
}
