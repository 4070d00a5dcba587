package playing_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

// played plays a tune's rows in the layer bass+halves, in 4/4 unless they say more.
func played(t *testing.T, rows string, ghosts bool) *playing.Score {
	t.Helper()
	tn, faults := tune.Read("tune Gravel Lane\nkey F\nmeter 4/4\ntempo 120\nswing 2:1\n" + rows)
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), tune.BassHalves)
	require.NoError(t, err)
	s, err := playing.Of(a, ghosts)
	require.NoError(t, err)
	return s
}

// sounding is a note in seconds from the beginning of the pass.
type sounding struct {
	playing.Note
	from, to float64
}

func inTime(s *playing.Score) (all []sounding) {
	bar := harmony.Place(s.Timed(0), 0)
	for i, b := range s.Bars {
		if i > 0 {
			bar = bar.Next(s.Timed(i))
		}
		for _, n := range b.Notes {
			x := sounding{Note: n, from: n.Start(bar).Duration().Seconds(), to: 1e9}
			if end, ok := n.End(bar, s.Bars[i+1:]); ok {
				x.to = end.Duration().Seconds()
			}
			all = append(all, x)
		}
	}
	return all
}

// velocities returns those of a bar's notes of a part, by the half beat.
func velocities(b playing.Bar, part playing.Part) map[int]uint8 {
	of := map[int]uint8{}
	for _, n := range b.Notes {
		if n.Part == part {
			half := harmony.HalfOf(n.Beat, n.Off)
			of[half] = max(of[half], n.Velocity)
		}
	}
	return of
}

// The line is light on 1 and 3, firmer on 2 and 4; what lies between the beats is
// stronger than what lies on them, and a push is the strongest. Common practice, no
// source.
func TestDynamics(t *testing.T) {
	s := played(t, "[A]\nchords | F | Bb7 |\nbass | 1 /3 /5,\\3 1 | 1 3 5 1 |\nhits | on on and push | on . . . |\n", false)
	bass, hits := velocities(s.Bars[0], playing.PartBass), velocities(s.Bars[0], playing.PartShapes)
	assert.Equal(t, bass[0], bass[4])
	assert.Equal(t, bass[2], bass[6])
	assert.Less(t, bass[0], bass[2])
	assert.Less(t, bass[2], bass[5])
	assert.Less(t, hits[0], hits[2])
	assert.Less(t, hits[2], hits[5])
	assert.Less(t, hits[5], hits[7])

	waltz := played(t, "[A]\nmeter 3/4\nchords | F |\nbass | 1 /3 /5 |\n", false)
	three := velocities(waltz.Bars[0], playing.PartBass)
	assert.Greater(t, three[0], three[2], "in three the first is firm")
	assert.Equal(t, three[2], three[4])
}

// A short hit is damped well before the next beat, one on the offbeat just before it;
// a held one rings until the next hit or chord.
func TestShortAndHeldHits(t *testing.T) {
	s := played(t, "[A]\nchords | F | % |\nbass | 1 - - - | 1 - - - |\nhits | on . and . | on- . . on |\n", false)
	lengths := map[float64]float64{} // in beats, by the beat they start on
	for _, n := range inTime(s) {
		if n.Part == playing.PartShapes && n.Late < 5*time.Millisecond {
			lengths[float64(int(n.from*2*24+0.5))/24] = (n.to - n.from) * 2
		}
	}
	assert.InDelta(t, 5.0/8, lengths[0], 0.02)
	assert.InDelta(t, 1.0/3-1.0/8, lengths[2+2.0/3], 0.02)
	assert.InDelta(t, 3, lengths[4], 0.02, "held from 1 to 4")
}

// The strings of a strike sound one after the other, low to high, over 5 to 15 ms
// with the bass note and without it.
func TestStrum(t *testing.T) {
	s := played(t, "[A]\nchords | F7 | Gm7 |\nbass | 1 - - - | 1 - . . |\nhits | on and . on- | . and . on |\n", false)
	strikes := map[[2]int][]sounding{}
	for _, n := range inTime(s) {
		at := [2]int{int(n.from / 2), harmony.HalfOf(n.Beat, n.Off)}
		strikes[at] = append(strikes[at], n)
	}
	chords := 0
	for at, notes := range strikes {
		if len(notes) < 3 {
			continue
		}
		chords++
		for i := 1; i < len(notes); i++ {
			assert.Less(t, notes[i].String, notes[i-1].String, at)
			assert.Greater(t, notes[i].from, notes[i-1].from, at)
		}
		spread := notes[len(notes)-1].from - notes[0].from
		above := spread
		if notes[0].Part == playing.PartBass {
			above = notes[len(notes)-1].from - notes[1].from
		}
		assert.GreaterOrEqual(t, above, 0.005, at)
		assert.LessOrEqual(t, spread, 0.015, at)
		assert.Greater(t, notes[len(notes)-1].Velocity, notes[len(notes)-2].Velocity, "the top voice is heard")
	}
	assert.Equal(t, 5, chords)
}

// A held shape rings on under a walking line only on the strings whose fingers can
// stay: the finger that the line needs ends its note, as does a hand that moves away.
func TestANoteEndsWhereItsFingerLeaves(t *testing.T) {
	// G7 in root position at the third fret, held; the line then needs fret 10.
	s := played(t, "[A]\nchords | G7 |\nbass | 1@6 - /5@5 /1@5 |\nhits | on- . . . |\nshapes | 3-x-3-4-3-x . . . |\n", false)
	for _, n := range inTime(s) {
		if n.Part == playing.PartShapes {
			assert.LessOrEqual(t, n.to, 1.5, "the hand is at fret 10 on beat 4: string %d", n.String)
			assert.Greater(t, n.to, 0.9, "the whole note before it can stay: string %d", n.String)
		}
	}
	// The same shape, and a line that stays under it: all of it rings on.
	s = played(t, "[A]\nchords | G7 |\nbass | 1@6 - - - |\nhits | on- . . . |\nshapes | 3-x-3-4-3-x . . . |\n", false)
	for _, n := range inTime(s) {
		assert.InDelta(t, 2, n.to, 0.01)
	}
}

// Dead notes come on the offbeats of 2 and 4 that are free, on the string of the line.
func TestGhosts(t *testing.T) {
	const rows = "[A]\nchords | F | % |\nbass | 1 /3 /5 \\3 | 1 3 5,3 1 |\nhits | . . . and | . . . . |\n"
	var dead []string
	for i, b := range played(t, rows, true).Bars {
		for _, n := range b.Notes {
			if n.Dead {
				dead = append(dead, strings.Repeat("|", i+1)+string(rune('0'+n.Beat)))
				assert.True(t, n.Off)
				assert.Less(t, n.Velocity, uint8(50))
				assert.Equal(t, playing.PartBass, n.Part)
			}
		}
	}
	assert.Equal(t, []string{"|2", "||2", "||4"}, dead, "a hit lies on the offbeat of the first bar's 4")
	for _, b := range played(t, rows, false).Bars {
		assert.False(t, slices.ContainsFunc(b.Notes, func(n playing.Note) bool { return n.Dead }))
	}
}

// Whatever tune can be arranged: one note at a time on each string, whole strikes
// within 15 ms, nothing longer than it is written, and more than one level.
func TestAnyTuneIsPlayedByTwoHands(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), tune.BassHalves)
		if err != nil {
			return
		}
		s, err := playing.Of(a, rapid.Bool().Draw(t, "ghosts"))
		require.NoError(t, err)
		last := map[int]sounding{}
		for _, n := range inTime(s) {
			require.Greater(t, n.to, n.from)
			if before, ok := last[n.String]; ok {
				require.LessOrEqual(t, before.to, n.from+1e-9, "string %d sounds when %v is struck", n.String, n.Note)
			}
			last[n.String] = n
			require.LessOrEqual(t, n.Late, 15*time.Millisecond)
		}
	})
}

func TestWhatKeepsTime(t *testing.T) {
	pattern := func(k playing.Timekeeping, meter string, tempo float64, played int) (out string) {
		m, ok := harmony.ParseMeter(meter)
		require.True(t, ok)
		for half := range m.Halves() {
			b := harmony.Bar{Meter: m, Tempo: tempo}
			d := k.At(b, half, played).Drum
			out += string(".AthtS"[d])
			assert.Equal(t, k.At(b, half, 0).Drum != playing.Silence, k.Sounds(b, half))
		}
		return out
	}
	auto := playing.Timekeeping{}
	assert.Equal(t, "A.t.t.t.", pattern(auto, "4/4", 100, 3))
	assert.Equal(t, "..h...h.", pattern(auto, "4/4", 101, 3), "the hi-hat on two and four above 100")
	assert.Equal(t, "..h.h.", pattern(auto, "3/4", 180, 0))
	assert.Equal(t, "A.t.t.t.", pattern(auto, "12/8", 150, 0), "100 dotted quarters")
	assert.Equal(t, "..h...h.", pattern(auto, "12/8", 152, 0))
	first := playing.Timekeeping{Click: playing.ClickFirst}
	assert.Equal(t, "A.......", pattern(first, "4/4", 200, 0), "who chose the beats of the click keeps it")
	assert.Equal(t, "..h...h.", pattern(playing.Timekeeping{Background: playing.HiHat}, "4/4", 60, 0))
	assert.Equal(t, "S.ttS.tt", pattern(playing.Timekeeping{Background: playing.Brushes}, "4/4", 60, 0))
	other := playing.Timekeeping{Background: playing.ClickSound, Click: playing.ClickAlternate}
	assert.Equal(t, "A.t.t.t.", pattern(other, "4/4", 200, 2))
	assert.Equal(t, "..t...t.", pattern(playing.Timekeeping{Background: playing.ClickSound, Click: playing.ClickTwoFour}, "4/4", 200, 1))
	for half, want := range []playing.Drum{playing.Accent, playing.Silence, playing.Tick, playing.Silence} {
		assert.Equal(t, want, playing.CountIn(half).Drum)
	}
	for _, name := range playing.BackgroundNames {
		b, err := playing.BackgroundOf(name)
		require.NoError(t, err)
		assert.Equal(t, name, b.String())
	}
	_, err := playing.BackgroundOf("drums")
	assert.EqualError(t, err, `background "drums": give one of ["auto" "click" "hi-hat" "brushes"]`)
	_, err = playing.ClickOf("3")
	assert.Error(t, err)
}
