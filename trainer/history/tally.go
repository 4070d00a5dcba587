package history

import (
	"database/sql"
	"encoding/binary"
	"errors"
	"math"
	"time"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
)

// Answer times are counted in buckets of an eighth of an octave from 100 ms, so
// that years of answers have a median to within 5 % without being read again.
const (
	bucketsPerOctave = 8
	firstBucket      = 100 * time.Millisecond
	lastBucket       = 80 // 102 s and more
)

// bucketOf returns the bucket of a right answer's time.
func bucketOf(took time.Duration) int {
	if took <= firstBucket {
		return 0
	}
	return min(lastBucket, int(math.Round(bucketsPerOctave*math.Log2(float64(took)/float64(firstBucket)))))
}

// bucketTimes holds the time at the middle of each bucket.
var bucketTimes = func() (times [lastBucket + 1]time.Duration) {
	for b := range times {
		times[b] = time.Duration(float64(firstBucket) * math.Exp2(float64(b)/bucketsPerOctave)).Round(time.Millisecond)
	}
	return times
}()

// periodDays is the length of a period of the tallies.
const periodDays = 32

func periodOf(d memory.Day) int { return int(d) / periodDays }

// count counts answers, and the right ones by their times.
type count struct {
	asked, slow int
	right       [lastBucket + 1]uint32
}

func (c *count) add(v memory.Verdict, took time.Duration) {
	c.asked++
	switch v {
	case memory.Missed:
		return
	case memory.Slow:
		c.slow++
	}
	c.right[bucketOf(took)]++
}

// minus takes what was added away.
func (c *count) minus(d *count) {
	c.asked -= d.asked
	c.slow -= d.slow
	for b, n := range d.right {
		c.right[b] -= min(n, c.right[b])
	}
}

func (c *count) plus(d *count) {
	c.asked += d.asked
	c.slow += d.slow
	for b, n := range d.right {
		c.right[b] += n
	}
}

// pack writes the right answers as pairs of varints: the step from the bucket
// before and the count.
func (c *count) pack() []byte {
	blob := []byte{}
	last := 0
	for b, n := range c.right {
		if n > 0 {
			blob = binary.AppendUvarint(blob, uint64(b-last))
			blob = binary.AppendUvarint(blob, uint64(n))
			last = b
		}
	}
	return blob
}

func (c *count) unpack(blob []byte) error {
	bucket := uint64(0)
	for len(blob) > 0 {
		step, n := binary.Uvarint(blob)
		if n <= 0 {
			return errTally
		}
		number, m := binary.Uvarint(blob[n:])
		if bucket += step; m <= 0 || bucket > lastBucket {
			return errTally
		}
		c.right[bucket] = uint32(number)
		blob = blob[n+m:]
	}
	return nil
}

var errTally = errors.New("a tally cannot be read; footfall log check works it out anew")

func (c *count) tally() progress.Tally {
	t := progress.Tally{Asked: c.asked, Slow: c.slow, Missed: c.asked}
	for b, n := range c.right {
		if n > 0 {
			t.Times = append(t.Times, progress.Timed{Took: bucketTimes[b], N: int(n)})
			t.Missed -= int(n)
		}
	}
	return t
}

// tally counts answers by everything that looking back asks for.
type tally struct {
	days    map[dayCell]*count
	degrees map[degreeCell]*count
	places  map[placeCell]*count
}

type dayCell struct {
	day memory.Day
	way memory.Way
}

type degreeCell struct {
	period          int
	kind            memory.Kind
	quality, degree string
}

type placeCell struct{ period, string, fret int }

func newTally() tally {
	return tally{days: map[dayCell]*count{}, degrees: map[degreeCell]*count{}, places: map[placeCell]*count{}}
}

func (t tally) add(a Answer) {
	day := memory.DayOf(a.At)
	of(t.days, dayCell{day, a.Way}).add(a.Verdict, a.Took)
	if a.Item.Degree != "" {
		of(t.degrees, degreeCell{periodOf(day), a.Item.Kind, a.Item.Quality, a.Item.Degree}).add(a.Verdict, a.Took)
	}
	if a.Place.String > 0 {
		of(t.places, placeCell{periodOf(day), a.Place.String, a.Place.Fret}).add(a.Verdict, a.Took)
	}
}

func of[K comparable](m map[K]*count, key K) *count {
	c := m[key]
	if c == nil {
		c = &count{}
		m[key] = c
	}
	return c
}

// write adds the tally to the file's, take takes it away.
func (t tally) write(tx *sql.Tx) error { return t.change(tx, (*count).plus) }
func (t tally) take(tx *sql.Tx) error  { return t.change(tx, (*count).minus) }

func (t tally) change(tx *sql.Tx, by func(there, c *count)) error {
	err := writeCounts(tx, by, t.days, "day_tallies", "day = ? AND way = ?",
		func(k dayCell) []any { return []any{int(k.day), k.way} })
	if err != nil {
		return err
	}
	err = writeCounts(tx, by, t.degrees, "degree_tallies", "period = ? AND kind = ? AND quality = ? AND degree = ?",
		func(k degreeCell) []any { return []any{k.period, string(k.kind), k.quality, k.degree} })
	if err != nil {
		return err
	}
	return writeCounts(tx, by, t.places, "place_tallies", "period = ? AND string = ? AND fret = ?",
		func(k placeCell) []any { return []any{k.period, k.string, k.fret} })
}

func writeCounts[K comparable](tx *sql.Tx, by func(there, c *count), counts map[K]*count, table, where string, key func(K) []any) error {
	for k, c := range counts {
		columns := key(k)
		var there count
		var times []byte
		err := tx.QueryRow(`SELECT asked, slow, times FROM `+table+` WHERE `+where, columns...).Scan(&there.asked, &there.slow, &times)
		if err == nil {
			err = there.unpack(times)
		}
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		by(&there, c)
		if there.asked == 0 {
			if _, err := tx.Exec(`DELETE FROM `+table+` WHERE `+where, columns...); err != nil {
				return err
			}
			continue
		}
		marks := "?,?,?" // asked, slow, times
		for range columns {
			marks += ",?"
		}
		if _, err := tx.Exec(`INSERT OR REPLACE INTO `+table+` VALUES (`+marks+`)`,
			append(columns, there.asked, there.slow, there.pack())...); err != nil {
			return err
		}
	}
	return nil
}

// read adds the file's tallies: days since a day, the rest since a period.
func (t tally) read(tx *sql.Tx, since memory.Day, period int) error {
	err := readCounts(tx, `SELECT asked, slow, times, day, way FROM day_tallies WHERE day >= ?`, int(since),
		func(k *dayCell) []any { return []any{&k.day, &k.way} }, t.days)
	if err != nil {
		return err
	}
	err = readCounts(tx, `SELECT asked, slow, times, kind, quality, degree FROM degree_tallies WHERE period >= ?`, period,
		func(k *degreeCell) []any { return []any{&k.kind, &k.quality, &k.degree} }, t.degrees)
	if err != nil {
		return err
	}
	return readCounts(tx, `SELECT asked, slow, times, string, fret FROM place_tallies WHERE period >= ?`, period,
		func(k *placeCell) []any { return []any{&k.string, &k.fret} }, t.places)
}

func readCounts[K comparable](tx *sql.Tx, query string, from int, key func(*K) []any, into map[K]*count) error {
	rows, err := tx.Query(query, from)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k K
		var c count
		var times []byte
		if err := rows.Scan(append([]any{&c.asked, &c.slow, &times}, key(&k)...)...); err != nil {
			return err
		}
		if err := c.unpack(times); err != nil {
			return err
		}
		of(into, k).plus(&c)
	}
	return rows.Err()
}

// counts turns the tally into what tables are made of, all periods together.
func (t tally) counts() progress.Counts {
	c := progress.Counts{
		Days:    progress.Counted[progress.DayWay]{},
		Degrees: progress.Counted[progress.DegreeCell]{},
		Places:  progress.Counted[fretboard.Place]{},
	}
	for k, n := range t.days {
		c.Days[progress.DayWay{Day: k.day, Way: k.way}] = n.tally()
	}
	for k, n := range t.degrees {
		cell := progress.DegreeCell{Kind: k.kind, Quality: k.quality, Degree: k.degree}
		c.Degrees[cell] = c.Degrees[cell].Plus(n.tally())
	}
	for k, n := range t.places {
		p := fretboard.Place{String: k.string, Fret: k.fret}
		c.Places[p] = c.Places[p].Plus(n.tally())
	}
	return c
}
