package session_test

import (
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"
	_ "time/tzdata" // the zones below, wherever the tests run

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/trainer/session"
)

// journeys are places that players go on from day to day, with the date at which
// they start: nights of 23 and 25 hours, two of them without midnight, and the
// date line both ways. Source: the IANA time zone database, as Go embeds it.
var journeys = []struct {
	from  string
	zones []string
}{
	{"2026-03-27", []string{"Europe/Berlin"}},
	{"2026-10-23", []string{"Europe/Berlin"}},
	{"2018-11-02", []string{"America/Sao_Paulo"}},
	{"2018-02-15", []string{"America/Sao_Paulo"}},
	{"2026-03-27", []string{"Asia/Beirut"}},
	{"2026-04-22", []string{"Africa/Cairo"}},
	{"2026-05-01", []string{"Pacific/Auckland", "Pacific/Pago_Pago", "Pacific/Kiritimati"}}, // +12, −11, +14
	{"2026-05-01", []string{"Europe/Berlin", "America/New_York", "Asia/Kathmandu"}},
}

// Whatever the zone, and where it changes in the middle of a day: each day has one
// plan from its first to its last minute, each answer counts for the day that the
// wall showed, none is lost or counted twice, and what is due is due on the wall's day.
func TestDaysOfTravellers(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for i, j := range journeys {
		chance := rand.New(rand.NewPCG(uint64(i), 9))
		var zones []*time.Location
		for _, name := range j.zones {
			loc, err := time.LoadLocation(name)
			require.NoError(t, err)
			zones = append(zones, loc)
		}
		start, err := time.ParseInLocation(time.DateOnly+" 15", j.from+" 09", zones[0])
		require.NoError(t, err)
		c := woundTo(start)
		d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
		want := map[string]int{}
		// Each step is a few hours, and so the nights and their changes come between.
		for c.now().Before(start.AddDate(0, 0, 4)) {
			began := c.now()
			for _, a := range sit(t, d, c, session.Choice{Drill: "find", Tune: "tin-kettle-blues", Questions: 2}) {
				want[began.Add(a.Asked).Format(time.DateOnly)]++
			}
			plan, err := d.Today(session.Day{})
			require.NoError(t, err)
			assert.Equal(t, c.now().Format(time.DateOnly), plan.Day)
			now := c.now()
			y, m, day := now.Date()
			// The last half hour of a night of 25 hours may be another's.
			moments := []time.Time{
				time.Date(y, m, day, 12, 0, 0, 0, now.Location()),
				time.Date(y, m, day, 23, 59, 59, 0, now.Location()),
				time.Date(y, m, day+1, 12, 0, 0, 0, now.Location()).Add(-12*time.Hour - 31*time.Minute),
			}
			if same := moments[chance.IntN(len(moments))]; same.Day() == day {
				c.set(same)
				again, err := d.Today(session.Day{})
				require.NoError(t, err)
				assert.Equal(t, plan, again, "%s and %s", now, same)
			}
			c.set(now.Add(time.Duration(120+chance.IntN(900)) * time.Minute))
			if chance.IntN(3) == 0 {
				c.set(c.now().In(zones[chance.IntN(len(zones))]))
			}
		}
		c.set(c.now().AddDate(0, 0, 2))
		v, err := d.Review(0)
		require.NoError(t, err)
		got, sum := map[string]int{}, 0
		for _, row := range v.Days {
			got[row.Span] += row.Asked
		}
		for _, n := range want {
			sum += n
		}
		assert.Equal(t, want, got, "%v", j)
		assert.Equal(t, sum, v.Asked)
		// A tally that is read on the days alone agrees with the whole.
		for day, n := range want {
			from, err := memory.ParseDay(day)
			require.NoError(t, err)
			v, err := d.Review(from)
			require.NoError(t, err)
			require.NotEmpty(t, v.Days)
			assert.Equal(t, day, v.Days[0].Span)
			assert.Equal(t, n, v.Days[0].Asked)
		}
		require.NoError(t, k.Close())
	}
}

// A tune leaves the work at the end of a day, not in its middle.
func TestATuneLeavesTheWorkOvernight(t *testing.T) {
	c := woundTo(time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC))
	d, k := desk(t, filepath.Join(t.TempDir(), "history.db"), c)
	defer k.Close()
	sit(t, d, c, session.Choice{Drill: "find", Tune: "third-floor-waltz", Questions: 2})
	plan := func(hour, day int) any {
		c.set(time.Date(2026, 3, 1+day, hour, 0, 0, 0, time.UTC))
		p, err := d.Today(session.Day{})
		require.NoError(t, err)
		return p
	}
	assert.Equal(t, plan(1, 21), plan(23, 21))
}
