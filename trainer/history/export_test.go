package history

import (
	"context"
	"time"

	"footfall/drills/memory"
)

// OpenWaiting is Open with the time that a write waits for another program.
func OpenWaiting(path string, wait time.Duration) (*Store, error) {
	return openWaiting(path, wait, nil, nil)
}

// Paces returns every pace that is kept, by group.
func (s *Store) Paces(ctx context.Context) (map[string][]memory.Pace, error) {
	rows, err := s.db.QueryContext(ctx, `SELECT way, grp, times FROM paces ORDER BY grp, way`)
	if err != nil {
		return nil, fault(s.path, err)
	}
	defer rows.Close()
	paces := map[string][]memory.Pace{}
	for rows.Next() {
		var p memory.Pace
		var group string
		var times []byte
		if err := rows.Scan(&p.Way, &group, &times); err != nil {
			return nil, fault(s.path, err)
		}
		p.Times = unpackTimes(times)
		paces[group] = append(paces[group], p)
	}
	return paces, fault(s.path, rows.Err())
}
