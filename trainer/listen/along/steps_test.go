package along

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// score is a clock that a test winds: bars that were begun, on the wall clock.
type score struct {
	epoch time.Time
	bars  []sound.Played
}

func (s *score) When(t time.Time) sound.Now {
	return sound.Now{At: take.InstantOf(t.Sub(s.epoch))}
}

func (s *score) Since(n uint64) ([]sound.Played, uint64) {
	return s.bars[n:], uint64(len(s.bars))
}

// always is an input that always hears.
type always struct{ listen.Input }

func (always) Strums() <-chan listen.Strum { return nil }

func (always) Absent(_, _ time.Duration) []listen.Span { return nil }

// The transport counts bars from one origin, so a bar may begin an instant away
// from where the bar before ends by itself. What was asked for ahead still holds,
// so that a note on the bar line is marked once and nothing is missed.
func TestBarLinesThatAreRounded(t *testing.T) {
	tn, ok := content.Tune("short-ladder")
	require.True(t, ok)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	for _, off := range []take.Instant{-2, 0, 1} {
		for _, second := range []int{2, 5, 1} { // the next bar, and jumps
			clock := &score{epoch: time.Now()}
			s := newSteps(Options{Input: always{}, Epoch: clock.epoch, Clock: clock, Task: Task{Arrangement: a}, Settings: take.DefaultSettings()})
			bar := take.Bar{Meter: tn.Meter, Tempo: 120, Swing: take.Swing{Ratio: tn.Swing}}
			clock.bars = append(clock.bars, sound.Played{State: sound.Playing, Pass: 1, Number: 1, Bar: bar})
			assert.Empty(t, s.look(clock.epoch))
			start := take.Place(bar, 0).End() + off
			clock.bars = append(clock.bars, sound.Played{State: sound.Playing, Pass: 1, Number: second, Start: start, Bar: bar})
			var first fretboard.Event
			for _, e := range a.Events {
				if e.At.Bar == second && e.At.Beat == 1 {
					first = e
				}
			}
			at := start.Duration() + 10*time.Millisecond
			news := s.hear(listen.Note{At: at, On: true, MIDI: first.Note.MIDI(), Confidence: 1})
			require.Len(t, news, 1)
			m := news[0].(Marked)
			assert.False(t, m.Extra)
			assert.Equal(t, take.Matched, m.Verdict)
			assert.Equal(t, first.At, m.Expected.At)
			for _, n := range s.look(clock.epoch.Add(at + 100*time.Millisecond)) {
				if missed, ok := n.(Missed); ok {
					assert.Equal(t, 1, missed.Expected.At.Bar, "off %d: bar %d beat %d was played", off, missed.Expected.At.Bar, missed.Expected.At.Beat)
				}
			}
		}
	}
}
