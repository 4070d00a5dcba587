package clock_test

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the zones below, wherever the tests run

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/clock"
)

func TestSet(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	c, err := clock.Set("2026-12-01T18:00:00Z", zone)
	require.NoError(t, err)
	first := c.Now()
	assert.Equal(t, "2026-12-01T19:00", first.Format("2006-01-02T15:04"), "in the zone")
	for !c.Now().After(first) {
		time.Sleep(time.Millisecond)
	}

	c.Stop()
	still := c.Now()
	time.Sleep(2 * time.Millisecond)
	assert.Equal(t, still, c.Now())
	assert.Equal(t, "2026-12-01T18:00:00Z", still.UTC().Format(time.RFC3339Nano), "where it was set")
	c.Advance(90 * time.Second)
	assert.Equal(t, still.Add(90*time.Second), c.Now())

	for _, bad := range []string{"today", "2026-12-01", "2026-12-01 18:00:00", "2026-13-01T18:00:00Z", "18:00"} {
		_, err := clock.Set(bad, zone)
		assert.ErrorContains(t, err, "FOOTFALL_CLOCK="+bad, bad)
		assert.ErrorContains(t, err, "2026-12-01T18:00:00Z", bad)
	}
	_, err = clock.Set(strings.Repeat("9 ", 5_000), zone)
	assert.ErrorContains(t, err, "2026-12-01T18:00:00Z")
	assert.Less(t, len(err.Error()), 200, "long ones are not said whole")
	// RFC 3339 has years of four digits, 0000 to 9999; a zone may make them others.
	for _, far := range []string{"0000-01-01T00:00:00Z", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59Z", "0000-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59"} {
		_, err := clock.Set(far, zone)
		assert.EqualError(t, err, "FOOTFALL_CLOCK="+far+": the year must be 1900 to 9800")
	}
	for _, near := range []string{"1900-01-01T00:00:00Z", "1970-01-01T00:00:00Z", "9800-12-31T23:59:59Z"} {
		_, err := clock.Set(near, zone)
		assert.NoError(t, err, near)
	}
}

// Without a moment the clock is the machine's.
func TestMachine(t *testing.T) {
	c, err := clock.Set("", time.UTC)
	require.NoError(t, err)
	for _, c := range []*clock.Clock{c, nil} {
		before := time.Now()
		now := c.Now()
		assert.False(t, now.Before(before) || time.Now().Before(now))
		assert.False(t, c.Stopped())
	}
}

// A clock set back or forth by the machine's wall clock, or a night over a change of
// daylight saving time, moves by real time: Advance counts hours, not dates.
func TestAdvanceOverDaylightSaving(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	require.NoError(t, err)
	c, err := clock.Set("2027-03-28T00:30:00Z", zone) // half an hour before the change
	require.NoError(t, err)
	c.Stop()
	assert.Equal(t, "01:30", c.Now().Format("15:04"))
	c.Advance(time.Hour)
	assert.Equal(t, "03:30", c.Now().Format("15:04"))
}
