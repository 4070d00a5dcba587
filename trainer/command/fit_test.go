package command

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/drills/take"
)

// performed is a note of a performance, in seconds.
type performed struct {
	at   float64
	midi int
}

// inMIDI writes a performance in ticks of a millisecond.
func inMIDI(t *testing.T, notes []performed) []byte {
	t.Helper()
	s := smf.New()
	s.TimeFormat = smf.MetricTicks(500) // at the 120 a minute that a file has unless it says otherwise
	var track smf.Track
	last := 0
	put := func(at int, m midi.Message) {
		track.Add(uint32(at-last), m)
		last = at
	}
	for _, n := range notes {
		at := max(last, int(1000*n.at+0.5))
		put(at, midi.NoteOn(0, uint8(n.midi), 90))
		put(at+1, midi.NoteOff(0, uint8(n.midi)))
	}
	track.Close(0)
	require.NoError(t, s.Add(track))
	var file bytes.Buffer
	_, err := s.WriteTo(&file)
	require.NoError(t, err)
	return file.Bytes()
}

// eightBars has a note on each beat and one on the offbeats of beats 2 and 4. They are
// played four times.
const eightBars = `tune   Eight Bars
key    C
meter  4/4
tempo  %g
swing  2:1
form   A A A A

[A]
chords | C6 | Am7 | Dm7 | G7 | C6 | Am7 | Dm7 | G7 |
bass   | 1 3,5 5 6,5 | 1 b3,1 \5 b3,1 | 1 b3,4 \5 b3,/1 | 1 3,4 \5 b7,5 | 1 5,4 3 /1,7 | 1 b3,1 \5 b7,5 | /1 \5,4 b3 /1,b7 | \1 3,4 5 3,1 |
`

// playedAsAsked are the notes of eightBars by the beat they are due on, as the command itself
// lists them for a perfect take; the offbeats at two thirds.
func playedAsAsked(t *testing.T, tune string, tempo float64) (beats []float64, midis []int) {
	sc := score(t, inMIDI(t, []performed{{0, 40}}), tune, "--take", "-", "--layer", "bass")
	for _, e := range sc.Events {
		beat := 4*float64(e.Bar-1) + e.Beat - 1
		if int(2*beat)%2 == 1 {
			beat += 2.0/3 - 0.5
		}
		assert.InDelta(t, beat*60/tempo, e.At, 1e-6)
		beats, midis = append(beats, beat), append(midis, e.MIDI)
	}
	return beats, midis
}

// What is one thing all through a take is told once, with its figure, and the notes
// are right. Times are made here by arithmetic, each note 15 ms (standard deviation)
// off by chance.
func TestScoreTellsTheOneCause(t *testing.T) {
	for _, c := range []struct {
		name    string
		at      func(beat float64) (later float64, left bool) // in beats
		late    float64                                       // s
		faster  float64
		offset  float64
		slips   []take.Slip
		stopped int
		swing   float64
		says    string
	}{
		{name: "late", late: 0.1, offset: 100, says: " throughout: is that the input's delay?"},
		{name: "early", late: -0.15, offset: -150, says: " throughout: is that the input's delay?"},
		{name: "fast", faster: 1.02, says: " % fast."},
		{name: "a beat dropped", at: func(b float64) (float64, bool) {
			if b >= 19 {
				return -1, false
			}
			return 0, b >= 18
		}, slips: []take.Slip{{Bar: 5, Beats: -1}}, says: "You dropped a beat in bar 5; from there all right."},
		{name: "a bar late", at: func(float64) (float64, bool) { return 4, false }, slips: []take.Slip{{Bar: 1, Beats: 4}}, says: "You came in a bar late; from there all right."},
		{name: "straight", at: func(b float64) (float64, bool) {
			if b != float64(int(b)) {
				return 0.5 - 2.0/3, false
			}
			return 0, false
		}, swing: 1, says: "You swing 1."},
		{name: "stopped", at: func(b float64) (float64, bool) { return 0, b >= 20 }, stopped: 5, says: "Stopped after bar 5."},
	} {
		for _, tempo := range []float64{66, 104, 160, 200} {
			r := rand.New(rand.NewPCG(uint64(tempo), 1))
			file := filepath.Join(t.TempDir(), "eight.tune")
			require.NoError(t, os.WriteFile(file, fmt.Appendf(nil, eightBars, tempo), 0o600))
			beats, midis := playedAsAsked(t, file, tempo)
			require.Len(t, beats, 4*48)
			var notes []performed
			for i, b := range beats {
				later := 0.0
				if c.at != nil {
					var left bool
					if later, left = c.at(b); left {
						continue
					}
				}
				at := (b + later) * 60 / tempo
				if c.faster > 0 {
					at /= c.faster
				}
				if at += c.late; at >= 0 { // a file begins at 0
					notes = append(notes, performed{max(0, at+0.015*r.NormFloat64()), midis[i]})
				}
			}
			sc := score(t, inMIDI(t, notes), file, "--take", "-", "--layer", "bass")
			what := fmt.Sprintf("%s at %g: %+v", c.name, tempo, sc.Causes)
			assert.GreaterOrEqual(t, float64(sc.Matched), 0.97*float64(len(notes)), what)
			if c.faster > 0 {
				assert.InDelta(t, c.faster, sc.TempoRatio, 0.004, what)
			} else {
				assert.InDelta(t, 1, sc.TempoRatio, 0.004, what)
				assert.InDelta(t, c.offset, sc.OffsetMS, 8, what)
			}
			require.Len(t, sc.Slips, len(c.slips), what)
			for i, s := range c.slips {
				assert.InDelta(t, s.Bar, sc.Slips[i].Bar, 1, what)
				assert.Equal(t, s.Beats, sc.Slips[i].Beats, what)
			}
			if c.stopped > 0 {
				if assert.NotNil(t, sc.StoppedBar, what) {
					assert.Equal(t, c.stopped, *sc.StoppedBar)
				}
			} else {
				assert.Nil(t, sc.StoppedBar, what)
			}
			if c.swing > 0 {
				assert.InDelta(t, c.swing, sc.Offbeat.SwingPlayed, 0.1, what)
			}
			assert.Contains(t, strings.Join(sc.Causes, "\n"), c.says, what)
		}
	}
}
