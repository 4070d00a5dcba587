package memory

import (
	"testing"
	"time"
	_ "time/tzdata" // the zones below, wherever the tests run

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// zones are far from Greenwich, on half hours, and change their clocks at
// midnight. Source: the IANA time zone database, as Go embeds it.
var zones = []string{
	"UTC", "Europe/Berlin", "America/New_York", "America/Sao_Paulo", "Asia/Beirut", "Africa/Cairo", "America/Havana", "Asia/Kathmandu",
	"Australia/Lord_Howe", "Pacific/Auckland", "Pacific/Tongatapu", "Pacific/Kiritimati", "Pacific/Pago_Pago", "America/St_Johns",
}

// A moment's day is the date that the player's wall shows, whatever the zone and
// however long the day.
func TestDaysAreThoseOfTheWall(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom(zones).Draw(t, "zone"))
		require.NoError(t, err)
		at := time.Unix(rapid.Int64Range(0, 2_000_000_000).Draw(t, "unix"), 0).In(loc)
		day := DayOf(at)
		require.Equal(t, at.Format(time.DateOnly), day.String())
		// From noon to noon is a day, be it of 23 or 25 hours.
		noon := time.Date(at.Year(), at.Month(), at.Day(), 12, 0, 0, 0, loc)
		require.Equal(t, day, DayOf(noon))
		require.Equal(t, day+1, DayOf(noon.AddDate(0, 0, 1)))
		// What is due on a day is due from the first to the last minute of it.
		s := State{Stability: float64(rapid.IntRange(1, 60).Draw(t, "stability")), Difficulty: 5, First: day, Last: day, Asked: 1}
		due := time.Date(at.Year(), at.Month(), at.Day()+int(s.Stability), 12, 0, 0, 0, loc)
		require.Equal(t, due.Format(time.DateOnly), s.Due().String())
	})
}

// Nights on which clocks change, the days before and after them, and their
// lengths in hours. Source: the IANA time zone database.
func TestNightsOnWhichClocksChange(t *testing.T) {
	for _, c := range []struct {
		zone, day string
		hours     int
	}{
		{"Europe/Berlin", "2026-03-29", 23},
		{"Europe/Berlin", "2026-10-25", 25},
		{"America/Sao_Paulo", "2018-11-04", 23}, // no midnight
		{"America/Sao_Paulo", "2018-02-17", 25}, // two hours before midnight
		{"Asia/Beirut", "2026-03-29", 23},       // no midnight
		{"Africa/Cairo", "2026-04-24", 23},      // no midnight
		{"Pacific/Auckland", "2026-09-27", 23},
		{"America/New_York", "2026-11-01", 25},
		{"Australia/Lord_Howe", "2026-10-04", 23}, // 23½
	} {
		loc, err := time.LoadLocation(c.zone)
		require.NoError(t, err)
		day, err := ParseDay(c.day)
		require.NoError(t, err)
		minutes := map[Day]int{}
		last := day - 1
		from := time.Date(day.Date().Year(), day.Date().Month(), day.Date().Day()-1, 12, 0, 0, 0, loc)
		for at := from; at.Before(from.Add(72 * time.Hour)); at = at.Add(time.Minute) {
			d := DayOf(at)
			require.GreaterOrEqual(t, d, last, "%s: the day fell back at %s", c.zone, at)
			require.LessOrEqual(t, d, last+1, "%s: a day was left out at %s", c.zone, at)
			last = d
			minutes[d]++
		}
		assert.Equal(t, c.hours, minutes[day]/60, "%s %s", c.zone, c.day)
	}
}

// A player who flies west over the date line lives a day twice: what was new on
// it counts towards the new ones of the second, too.
func TestADayLivedTwice(t *testing.T) {
	var pool []Item
	for _, root := range []string{"C", "D", "E", "F", "G", "A", "B"} {
		pool = append(pool, Item{Kind: Spell, Root: root, Degree: "1"}, Item{Kind: Spell, Root: root, Degree: "5"})
	}
	known := map[Item]State{}
	for _, it := range pool[:4] {
		known[it] = State{}.After(101, Good)
	}
	assert.Len(t, NewDeck(pool, known, 101, Limits{NewADay: 6}).Fresh(9, false), len(NewDeck(pool, known, 100, Limits{NewADay: 6}).Fresh(9, false)))
	assert.Equal(t, NewDeck(pool, known, 101, Limits{}).fresh, NewDeck(pool, known, 100, Limits{}).fresh)
}
