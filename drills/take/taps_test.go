package take

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"footfall/harmony"
	"footfall/harmony/tune"
)

func tapping(t testing.TB, figure string, tempo float64, swing tune.Ratio) Tapping {
	r, err := harmony.ParseRhythm(harmony.Meter{Upper: 4, Lower: 4}, figure)
	require.NoError(t, err)
	return Tapping{Rhythm: r, Bars: 4, Tempo: tempo, Swing: swing}
}

// at are the taps of somebody who plays exactly, at a swing ratio, later by some time.
func (a Tapping) at(swing tune.Ratio, later time.Duration) (taps []time.Duration) {
	for _, e := range a.expect(swing, later) {
		taps = append(taps, e.Time)
	}
	return taps
}

var figures = []string{"1", "3", "2 4", "1 3", "1 2 3 4", "1 2+", "1+ 3", "2+ 4+", "1+ 2+ 3+ 4+", "1 2+ | 2 4", "1 2+ | 1+ 3", "2+ | 4", "1 | 4+", "1 2+ | 2+ 4+", "2 3+ | 1+ 4+"}

// Scripted tappers are told what they did, and nothing else.
func TestScriptedTappers(t *testing.T) {
	s := DefaultSettings()
	for _, figure := range figures {
		for _, tempo := range []float64{60, 80, 120, 160, 200} {
			for _, swing := range []tune.Ratio{straight, swung} {
				a := tapping(t, figure, tempo, swing)
				what := fmt.Sprint(figure, tempo, swing)
				n := len(a.at(swing, 0))
				window := s.WindowOf(time.Duration(60 / tempo * float64(time.Second)))

				g := GradeTaps(a, a.at(swing, 0), s)
				require.Equal(t, n, g.Matched, what)
				require.Zero(t, g.Faults(), what)
				require.False(t, g.OtherSwing, what)
				require.Contains(t, g.Says(), fmt.Sprintf("All %d hits, in time", n), what)

				for _, later := range []time.Duration{40 * time.Millisecond, -40 * time.Millisecond} {
					g = GradeTaps(a, a.at(swing, later), s)
					onlyOff := g.Offbeats.Expected == n
					if onlyOff && tempo > 120 {
						continue // nearer to the other feel: the two cannot be told apart
					}
					require.Zero(t, g.Faults(), "%s: %s", what, g.Says())
					require.InDelta(t, later.Seconds(), g.Late.Seconds(), 0.002, what)
					require.False(t, g.OtherSwing, "%s: %s", what, g.Says())
					require.Contains(t, g.Says(), lateness(later), what)
				}

				if a.Rhythm.Swings() {
					other := straight
					if swing == straight {
						other = swung
					}
					g = GradeTaps(a, a.at(other, 0), s)
					require.Zero(t, g.Faults(), "%s: %s", what, g.Says())
					require.True(t, g.OtherSwing, "%s: %s", what, g.Says())
					require.InDelta(t, float64(other.Long), g.Swing, 0.1, what)
					require.Contains(t, g.Says(), "in time", what)
					if other == straight {
						require.Contains(t, g.Says(), "You play it straight; 2 to 1 was asked.", what)
					} else {
						require.Contains(t, g.Says(), "You swing 2 to 1; straight was asked.", what)
					}
				}

				// One hit short, at each place in turn.
				for i := range n {
					taps := a.at(swing, 0)
					e := a.expect(swing, 0)[i]
					g = GradeTaps(a, append(taps[:i:i], taps[i+1:]...), s)
					require.Equal(t, n-1, g.Matched, what)
					require.Equal(t, 1, g.Faults(), what)
					require.Contains(t, g.Says(), fmt.Sprintf("%d of %d hits, in time", n-1, n))
					require.Contains(t, g.Says(), upper(placeOf(e.At))+" missing.", what)
				}

				// One too many, halfway between two beats that are not struck.
				taps := append(a.at(swing, 0), time.Duration(60/tempo*15.75*float64(time.Second)))
				g = GradeTaps(a, taps, s)
				require.Equal(t, n, g.Matched, what)
				require.Equal(t, 1, g.Extra, what)
				require.Contains(t, g.Says(), ", 1 too many", what)

				// One hit that comes late by more than the window.
				if n < 6 || 60/tempo < 0.5 {
					continue
				}
				taps = a.at(swing, 0)
				taps[1] += window + 30*time.Millisecond
				g = GradeTaps(a, taps, s)
				require.Equal(t, 1, g.Faults(), "%s: %s", what, g.Says())
				require.Contains(t, g.Says(), lateness(window+30*time.Millisecond), what)
			}
		}
	}
}

// A tapper who wavers as people do is told the mean, and no fault. The spread is that of
// musicians against a click: 10 to 30 ms (Repp 2005).
func TestTapperWhoWavers(t *testing.T) {
	chance := rand.New(rand.NewPCG(3, 4))
	s := DefaultSettings()
	told, late := 0, 0.0
	const rounds = 200
	for range rounds {
		a := tapping(t, figures[chance.IntN(len(figures))], float64(70+chance.IntN(80)), swung)
		taps := a.at(swung, -20*time.Millisecond)
		for i := range taps {
			taps[i] += time.Duration(15 * chance.NormFloat64() * float64(time.Millisecond))
		}
		g := GradeTaps(a, taps, s)
		late += g.Late.Seconds() / rounds
		if g.Faults() == 0 && !g.OtherSwing {
			told++
		}
	}
	require.InDelta(t, -0.02, late, 0.004)
	require.GreaterOrEqual(t, told, rounds*95/100)
}

func TestNobodyTaps(t *testing.T) {
	a := tapping(t, "1 2+", 80, swung)
	for _, taps := range [][]time.Duration{nil, {5 * time.Second}, {300 * time.Millisecond}} {
		g := GradeTaps(a, taps, DefaultSettings())
		require.GreaterOrEqual(t, g.Faults(), 7)
		require.NotEmpty(t, g.Says())
		require.Len(t, g.Rows(), 5)
	}
	a = tapping(t, "1", 80, straight)
	g := GradeTaps(a, tapping(t, "2", 80, straight).at(straight, 0), DefaultSettings())
	require.Equal(t, "0 of 4 hits, 4 too many. Too many: bar 1 beat 2, bar 2 beat 2, bar 3 beat 2, bar 4 beat 2.", g.Says())
}

func TestRowsOfTaps(t *testing.T) {
	a := tapping(t, "1 2+ | 4+", 120, straight)
	require.Equal(t, []string{"       1 + 2 + 3 + 4 +", "bar 1  x . . x . . . .", "bar 2  . . . . . . . x"}, a.Rows())
	taps := a.at(straight, 0)
	taps[1] += 90 * time.Millisecond
	taps = append(taps[:4:4], 7500*time.Millisecond) // without the last push, and on 4 of bar 4
	require.Equal(t, []string{
		"       1 + 2 + 3 + 4 +", "bar 1  x . . > . . . .", "bar 2  . . . . . . . x", "bar 3  x . . o . . . .", "bar 4  . . . . . . ! o",
	}, GradeTaps(a, taps, DefaultSettings()).Rows())
}
