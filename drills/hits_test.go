package drills_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

func hitsOf(t *testing.T, m drills.Material) []drills.Hits {
	kinds, err := drills.KindsNamed("hits")
	require.NoError(t, err)
	qs, err := kinds[0].Draw(m)
	require.NoError(t, err)
	var all []drills.Hits
	for _, q := range qs {
		all = append(all, q.(drills.Hits))
	}
	return all
}

// Over every built-in tune and a set of chords there is a bass to tap to, four bars of
// it; rhythms go from one hit a bar to two bars with a push, straight and swung, slow
// and fast.
func TestHitsOverEveryTune(t *testing.T) {
	neck := fretboard.StandardNeck()
	set, err := drills.OfSet(drills.Sets[0], neck)
	require.NoError(t, err)
	all := []drills.Material{set}
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		all = append(all, drills.OfTune(name, tn, neck))
	}
	for _, m := range all {
		feels := map[string]int{}
		qs := hitsOf(t, m)
		for _, q := range qs {
			a, err := q.Along()
			require.NoError(t, err, "%s %s", m.Name, q.Item().Key())
			require.Len(t, a.Tune.Unroll(), 4)
			require.EqualValues(t, q.Tempo, a.Tune.Tempo)
			require.GreaterOrEqual(t, len(a.Events), 4, "a bass walks")
			feels[q.Item().About+q.Item().Tempo]++
		}
		require.Len(t, feels, 4, m.Name)
		require.Len(t, qs[0].Rhythm.Bars[0], 1)
		last := qs[len(qs)-1].Rhythm
		require.Len(t, last.Bars, 2)
		require.Equal(t, last.Meter.Halves()-1, last.Bars[1][len(last.Bars[1])-1], "it ends on a push")
	}
	waltz, _ := content.Tune("third-floor-waltz")
	require.Equal(t, tune.Meter{Upper: 3, Lower: 4}, hitsOf(t, drills.OfTune("x", waltz, neck))[0].Rhythm.Meter)
}

// Taps are judged as time, typed beats as beats.
func TestHitsJudge(t *testing.T) {
	m, err := drills.OfSymbols("", "", "Dm7 G7", fretboard.StandardNeck())
	require.NoError(t, err)
	var q drills.Hits
	for _, h := range hitsOf(t, m) {
		if h.Item().Key() == "hits:4/4 1 2+:swung:80" {
			q = h
		}
	}
	assert.Equal(t, "Tap the comping: on 1, then the and of 2 in each bar, swung, 80 BPM, for 4 bars.", q.Ask().Prompt)
	// Beats of 750 ms, bars of 3 s, offbeats two thirds into their beat.
	seconds := func(late, off float64, leave int) string {
		var words []string
		for i := range 8 {
			if i != leave {
				words = append(words, fmt.Sprintf("%.3fs", float64(i/2)*3+float64(i%2)*(0.75+off)+late))
			}
		}
		return strings.Join(words, " ")
	}
	for _, tt := range []struct {
		text   string
		result drills.Result
		says   string
	}{
		{seconds(0, 0.5, -1), drills.Hit, "All 8 hits, in time; you swing 2 to 1."},
		{seconds(0.04, 0.5, -1), drills.Hit, "All 8 hits, 40 ms late; you swing 2 to 1."},
		{seconds(-0.03, 0.5, -1), drills.Hit, "All 8 hits, 30 ms early; you swing 2 to 1."},
		{seconds(0.1, 0.5, -1), drills.Near, "All 8 hits, 100 ms late; you swing 2 to 1."},
		{seconds(0, 0.375, -1), drills.Miss, "All 8 hits, in time. You play it straight; 2 to 1 was asked."},
		{seconds(0, 0.5, 4), drills.Near, "7 of 8 hits, in time; you swing 2 to 1. Bar 3 beat 1 missing."},
		{seconds(0, 0.5, -1) + " 2250ms", drills.Near, "All 8 hits, 1 too many, in time; you swing 2 to 1. Too many: bar 1 beat 4."},
		{seconds(0.375, 0.5, -1), drills.Miss, ""},
		{"1 2+", drills.Hit, ""}, {"1, 2+", drills.Hit, ""}, {"1 2 and | 1 2&", drills.Hit, ""},
		{"1 2", drills.Miss, "You typed 1 2; it is 1 2+."}, {"1 2+ | 1 2", drills.Miss, ""},
		{"", drills.Miss, ""}, {"5", drills.Unread, "such as 1 2+"}, {"0.04s xs", drills.Unread, "seconds from the first beat"},
	} {
		j := q.Judge(drills.Typed(memory.Lines, tt.text))
		assert.Equal(t, tt.result, j.Result, tt.text)
		assert.Contains(t, j.Reason, tt.says, tt.text)
	}
	var taps []time.Duration
	for _, s := range strings.Fields(seconds(0, 0.5, -1)) {
		d, err := time.ParseDuration(s)
		require.NoError(t, err)
		taps = append(taps, d)
	}
	j := q.Judge(drills.Reply{Form: drills.FormTaps, Taps: taps})
	assert.Equal(t, drills.Hit, j.Result)
	assert.Equal(t, "8 of 8, +0 ms, swing 2.0", j.Given)
	assert.Len(t, j.Rows, 5)
	assert.Equal(t, drills.Miss, q.Judge(drills.Reply{Form: drills.FormTaps}).Result, "nobody tapped")
	assert.Equal(t, drills.Unread, q.Judge(drills.Played(memory.MIDI, 40, 6)).Result)
	assert.Equal(t, take.DefaultSettings().Window, 50*time.Millisecond, "what 40 ms late lies within")
}
