package sound

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/fretboard/playing"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

// Whatever tune can be arranged, in bars of whatever length: what is heard, what is
// written as MIDI and what scoring expects are the same notes at the same time.
func TestAnyTuneSoundsAsItIsScored(t *testing.T) {
	arranged := 0
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), tune.BassHalves)
		if err != nil {
			return
		}
		arranged++
		s, err := playing.Of(a, false)
		require.NoError(t, err)
		start, err := tn.Placed(1, 0)
		require.NoError(t, err)
		type note struct {
			milli int64
			midi  int
		}
		want, heard, written := map[note]bool{}, map[note]bool{}, map[note]bool{}
		for _, e := range take.Expect(a, start, take.Bars{}) {
			for _, w := range e.Notes {
				want[note{e.Time.Round(1e6).Milliseconds(), w.MIDI}] = true
			}
		}
		bar := start
		for i, b := range s.Bars {
			timed := bar.Bar
			if timed.Meter = b.Meter; i > 0 {
				bar = bar.Next(timed)
			}
			for _, n := range b.Notes {
				heard[note{bar.Beat(n.Beat, n.Off).Duration().Round(1e6).Milliseconds(), n.MIDI}] = true
			}
		}
		require.Equal(t, want, heard)
		var file bytes.Buffer
		require.NoError(t, WriteSMF(&file, s, Export{}))
		read, err := smf.ReadFrom(&file)
		require.NoError(t, err)
		quarter := 60 / tn.Tempo
		for _, track := range read.Tracks {
			tick, on := uint32(0), map[uint8]bool{}
			for _, e := range track {
				tick += e.Delta
				var channel, key, velocity uint8
				switch {
				case e.Message.GetNoteStart(&channel, &key, &velocity) && channel != percussion:
					require.False(t, on[key], "a note starts that still sounds")
					on[key] = true
					written[note{int64(float64(tick)/ticksPerQuarter*quarter*1000 + 0.5), int(key)}] = true
				case e.Message.GetNoteEnd(&channel, &key):
					on[key] = false
				}
			}
		}
		for n := range want { // a strum takes up to 14 ms, and a tick is 2 ms at 30
			late := int64(-1)
			for late < 16 && !written[note{n.milli + late, n.midi}] {
				late++
			}
			require.Less(t, late, int64(16), "%v of %v", n, written)
		}
		require.Len(t, written, len(want))
	})
	require.NotZero(t, arranged)
}
