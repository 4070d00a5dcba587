package take

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// composed is a line over a built-in tune as a player would play it.
func composed(t *testing.T, name string, style walk.Style, seed uint64) (*tune.Tune, []Played) {
	t.Helper()
	tn, ok := content.Tune(name)
	require.True(t, ok)
	l, err := walk.Compose(tn, walk.Options{Range: fretboard.StandardNeck().BassRange(), Style: style, Seed: seed})
	require.NoError(t, err)
	p := pulseOf(tn, tn.Tempo)
	var played []Played
	for _, n := range l.Notes {
		played = append(played, Played{Time: inDuration(p.at[p.grid.Half(n.At)]), MIDI: n.Pitch.MIDI()})
	}
	return tn, played
}

func freeOf(tn *tune.Tune, played []Played) *FreeTake {
	return Free(tn, 0, Bars{}, Heard{Notes: played}, fretboard.StandardNeck(), DefaultSettings())
}

// A line is clear however it lies against the clock: with a player's spread, late
// all through, at a tempo of its own, and with chords on top.
func TestFreeFollowsThePlayer(t *testing.T) {
	chance := rand.New(rand.NewPCG(7, 7))
	played := map[string]func(n Played) []Played{
		"as written": func(n Played) []Played { return []Played{n} },
		"spread 20 ms": func(n Played) []Played {
			n.Time += time.Duration(chance.NormFloat64() * float64(20*time.Millisecond))
			return []Played{n}
		},
		"110 ms late": func(n Played) []Played { n.Time += 110 * time.Millisecond; return []Played{n} },
		"2 % fast":    func(n Played) []Played { n.Time = time.Duration(float64(n.Time) / 1.02); return []Played{n} },
		"3 % slow":    func(n Played) []Played { n.Time = time.Duration(float64(n.Time) / 0.97); return []Played{n} },
		"with chords": func(n Played) []Played {
			all := []Played{n}
			for i, up := range []int{10, 16, 19} {
				all = append(all, Played{Time: n.Time + time.Duration(5*(i+1))*time.Millisecond, MIDI: n.MIDI + up})
			}
			return all
		},
	}
	for what, play := range played {
		bars, clear := 0, 0
		for _, name := range content.TuneNames() {
			for seed := range uint64(2) {
				tn, line := composed(t, name, walk.Approaches, seed)
				var notes []Played
				for _, n := range line {
					notes = append(notes, play(n)...)
				}
				free := freeOf(tn, notes)
				bars, clear = bars+len(free.Bars), clear+free.Clear
			}
		}
		require.GreaterOrEqual(t, float64(clear)/float64(bars), 0.95, "%s: %d of %d", what, clear, bars)
	}
}

// A stop, rests and a bar that is off cost nothing after them; chords struck off
// the beat are no bass.
func TestFreeSpoilsNothing(t *testing.T) {
	tn, line := composed(t, "tin-kettle-blues", walk.Approaches, 1)
	bar := 4 * time.Duration(60/tn.Tempo*float64(time.Second))
	in := func(n Played) int { return int((n.Time + 10*time.Millisecond) / bar) } // from 0
	whole := freeOf(tn, line)
	require.GreaterOrEqual(t, whole.Clear, 11)

	var rested, stopped, struck []Played
	for _, n := range line {
		if b := in(n); b != 3 && b != 4 {
			rested = append(rested, n)
		}
		if in(n) < 5 {
			stopped = append(stopped, n)
		}
		struck = append(struck, n)
	}
	for b := range 12 { // an "and" in each bar
		at := time.Duration(b)*bar + bar/4 + bar/6
		for _, midi := range []int{51, 57, 62} {
			struck = append(struck, Played{Time: at, MIDI: midi})
		}
	}
	free := freeOf(tn, rested)
	for i, b := range free.Bars {
		if i == 3 || i == 4 {
			require.Equal(t, walk.Silent, b.Verdict)
		} else {
			require.Equal(t, whole.Bars[i].Verdict, b.Verdict, "bar %d: %s", i+1, b.Says)
		}
	}
	free = freeOf(tn, stopped)
	for i, b := range free.Bars {
		if i < 5 {
			require.Equal(t, whole.Bars[i].Verdict, b.Verdict)
		} else {
			require.Equal(t, walk.Silent, b.Verdict)
		}
	}
	require.Equal(t, whole.Bars, freeOf(tn, struck).Bars)
	require.Zero(t, freeOf(tn, nil).Clear)
	require.Contains(t, freeOf(tn, nil).Report(), "no bass note was heard")
}

func TestFreeTells(t *testing.T) {
	tn, line := composed(t, "tin-kettle-blues", walk.ChordTones, 2)
	for i := range line {
		line[i].Time += 15 * time.Millisecond
	}
	free := freeOf(tn, line)
	require.InDelta(t, 15, free.Offset.Seconds()*1000, 1)
	require.InDelta(t, 0, free.Timing.Spread.Seconds()*1000, 2)
	require.Equal(t, 12, free.Clear)
	require.Contains(t, free.Report()[0], "12 of 12 bars clear")
}

// A line that an ear is a little unsure of is judged by what was heard, one that it rather
// did not hear is not there.
func TestFreeByEar(t *testing.T) {
	tn, line := composed(t, "tin-kettle-blues", walk.ChordTones, 2)
	for doubt, clear := range map[float64]int{0.51: 12, 0.7: 0} {
		for i := range line {
			line[i].Doubt = doubt
		}
		require.Equal(t, clear, freeOf(tn, line).Clear, "doubt %g", doubt)
	}
}

// A beat dropped or a bar too long in the middle, and a bar late from the start, cost at
// most the bar where it happens, with two notes a bar too, which are as clear on 2 and 4 as
// on 1 and 3; and a line that was walked over another tune is not made
// clear by looking elsewhere.
func TestFreeFollowsSlips(t *testing.T) {
	for what, beats := range map[string]float64{"a beat dropped": -1, "a beat late": 1, "a bar late": 4} {
		bars, clear, told, takes := 0, 0, 0, 0
		for _, style := range []walk.Style{walk.Approaches, walk.TwoFeel} {
			for _, name := range []string{"key-ring", "lantern-street", "bicycle-bell", "harbour-wall-at-six"} {
				tn, line := composed(t, name, style, 3)
				beat := time.Duration(60 / tn.Tempo * float64(time.Second))
				middle := line[len(line)/2].Time.Round(4 * beat)
				var notes []Played
				for _, n := range line {
					if beats == 4 || n.Time >= middle {
						if beats < 0 && n.Time < middle+beat {
							continue
						}
						n.Time += time.Duration(beats * float64(beat))
					}
					notes = append(notes, n)
				}
				free := freeOf(tn, notes)
				bars, clear, takes = bars+len(free.Bars), clear+free.Clear, takes+1
				if len(free.Slips) == 1 && free.Slips[0].Beats == beats {
					told++
				}
			}
		}
		require.GreaterOrEqual(t, float64(clear), 0.85*float64(bars), what)
		require.GreaterOrEqual(t, told, takes-1, what)
	}
	tn, _ := composed(t, "lantern-street", walk.Approaches, 3)
	_, other := composed(t, "bicycle-bell", walk.Approaches, 3)
	for i := range other { // the other tune's line in this tune's time
		other[i].Time = time.Duration(float64(other[i].Time) * 160 / tn.Tempo)
	}
	free := freeOf(tn, other)
	require.Less(t, float64(free.Clear), 0.4*float64(len(free.Bars)), "slips %v", free.Slips)
}

// Whoever stops for a beat or two in a short form, and goes on where they were, is judged
// where they are: the gap tells, where the bars that are left are too few to.
func TestFreeAfterAStop(t *testing.T) {
	after, clear := 0, 0
	for _, name := range []string{"tin-kettle-blues", "key-ring", "seven-crates", "coal-shed-minor", "pump-house-vamp"} {
		tn, ok := content.Tune(name)
		require.True(t, ok)
		beats := tn.Meter.Beats()
		bars := len(tn.Unroll())
		for seed := range uint64(3) {
			l, err := walk.Compose(tn, walk.Options{Range: fretboard.StandardNeck().BassRange(), Seed: seed, Style: walk.Style(seed), Fill: func(string, int) bool { return true }})
			require.NoError(t, err)
			beat := time.Duration(float64(time.Minute) / tn.Tempo)
			stop := bars - 4
			for _, by := range []int{1, 2, beats} {
				var played []Played
				for _, n := range l.Notes {
					at := (n.At.Bar-1)*beats + n.At.Beat - 1
					if n.At.Bar > stop {
						at += by
					}
					played = append(played, Played{Time: time.Duration(at) * beat, MIDI: n.Pitch.MIDI()})
				}
				f := Free(tn, 0, Bars{}, Heard{Notes: played}, fretboard.StandardNeck(), DefaultSettings())
				for _, b := range f.Bars[stop:] {
					after++
					if b.Verdict == walk.Clear {
						clear++
					}
				}
			}
		}
	}
	t.Logf("%d of %d bars after the stop are clear", clear, after)
	require.GreaterOrEqual(t, clear, after*9/10)
}
