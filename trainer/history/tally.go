package history

import (
	"database/sql"
	"math"
	"time"

	"footfall/drills/memory"
)

// Answer times are counted in buckets of an eighth of an octave from 100 ms, so
// that years of answers have a median to within 5 % without being read again.
const (
	bucketsPerOctave = 8
	firstBucket      = 100 * time.Millisecond
	lastBucket       = 80 // 102 s and more
	missedBucket     = -1
)

// bucketOf returns the bucket of an answer.
func bucketOf(v memory.Verdict, took time.Duration) int {
	if v == memory.Missed {
		return missedBucket
	}
	if took <= firstBucket {
		return 0
	}
	b := math.Round(bucketsPerOctave * math.Log2(float64(took)/float64(firstBucket)))
	return min(lastBucket, int(b))
}

// bucketTime returns the time at the middle of a bucket, 0 for missed answers.
func bucketTime(bucket int) time.Duration {
	if bucket == missedBucket {
		return 0
	}
	return time.Duration(float64(firstBucket) * math.Exp2(float64(bucket)/bucketsPerOctave)).Round(time.Millisecond)
}

// periodDays is the length of a period of the tallies.
const periodDays = 32

func periodOf(d memory.Day) int { return int(d) / periodDays }

// tally counts answers by everything that looking back asks for.
type tally struct {
	days    map[dayCell]count
	degrees map[degreeCell]count
	places  map[placeCell]count
}

type count struct{ asked, slow int }

type dayCell struct {
	day    memory.Day
	way    memory.Way
	bucket int
}

type degreeCell struct {
	period          int
	kind            memory.Kind
	quality, degree string
	bucket          int
}

type placeCell struct{ period, string, fret, bucket int }

func newTally() tally {
	return tally{days: map[dayCell]count{}, degrees: map[degreeCell]count{}, places: map[placeCell]count{}}
}

func (t tally) add(a Answer) {
	slow := 0
	if a.Verdict == memory.Slow {
		slow = 1
	}
	day, bucket := memory.DayOf(a.At), bucketOf(a.Verdict, a.Took)
	bump(t.days, dayCell{day, a.Way, bucket}, slow)
	if a.Item.Degree != "" {
		bump(t.degrees, degreeCell{periodOf(day), a.Item.Kind, a.Item.Quality, a.Item.Degree, bucket}, slow)
	}
	if a.Place.String > 0 {
		bump(t.places, placeCell{periodOf(day), a.Place.String, a.Place.Fret, bucket}, slow)
	}
}

func bump[K comparable](m map[K]count, key K, slow int) {
	c := m[key]
	c.asked++
	c.slow += slow
	m[key] = c
}

// write adds the tally to the file's.
func (t tally) write(tx *sql.Tx) error {
	const counted = ` DO UPDATE SET asked = asked + excluded.asked, slow = slow + excluded.slow`
	day, err := tx.Prepare(`INSERT INTO day_tallies VALUES (?,?,?,?,?) ON CONFLICT` + counted)
	if err != nil {
		return err
	}
	defer day.Close()
	for k, c := range t.days {
		if _, err := day.Exec(int(k.day), k.way, k.bucket, c.asked, c.slow); err != nil {
			return err
		}
	}
	degree, err := tx.Prepare(`INSERT INTO degree_tallies VALUES (?,?,?,?,?,?,?) ON CONFLICT` + counted)
	if err != nil {
		return err
	}
	defer degree.Close()
	for k, c := range t.degrees {
		if _, err := degree.Exec(k.period, string(k.kind), k.quality, k.degree, k.bucket, c.asked, c.slow); err != nil {
			return err
		}
	}
	place, err := tx.Prepare(`INSERT INTO place_tallies VALUES (?,?,?,?,?,?) ON CONFLICT` + counted)
	if err != nil {
		return err
	}
	defer place.Close()
	for k, c := range t.places {
		if _, err := place.Exec(k.period, k.string, k.fret, k.bucket, c.asked, c.slow); err != nil {
			return err
		}
	}
	return nil
}
