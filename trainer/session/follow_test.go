package session

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills/take"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/hearing"
	"footfall/trainer/listen"
	"footfall/trainer/sound"
)

// score is a clock that a test winds: bars that were begun, on the wall clock.
type score struct {
	epoch time.Time
	bars  []sound.Played
}

func (s *score) When(t time.Time) sound.Now {
	return sound.Now{At: harmony.InstantOf(t.Sub(s.epoch))}
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
	for _, off := range []harmony.Instant{-2, 0, 1} {
		for _, second := range []int{2, 5, 1} { // the next bar, and jumps
			clock := &score{epoch: time.Now()}
			s := newFollower(always{}, clock.epoch, clock, task{arrangement: a}, take.DefaultSettings())
			bar := harmony.Bar{Meter: tn.Meter, Tempo: 120, Swing: tn.Swing}
			clock.bars = append(clock.bars, sound.Played{State: sound.Playing, Pass: 1, Number: 1, Bar: bar})
			assert.Equal(t, []Event{begun{1, 120}}, s.look(clock.epoch))
			start := harmony.Place(bar, 0).End() + off
			clock.bars = append(clock.bars, sound.Played{State: sound.Playing, Pass: 1, Number: second, Start: start, Bar: bar})
			var first fretboard.Event
			for _, e := range a.Events {
				if e.At.Bar == second && e.At.Beat == 1 {
					first = e
				}
			}
			at := start.Duration() + 10*time.Millisecond
			news := s.hear(listen.Note{At: at, On: true, MIDI: first.Note.MIDI(), Confidence: 1})
			m := news[len(news)-1].(Marked)
			if second == 1 {
				require.IsType(t, begun{}, news[0], "a pass begins before its note is marked")
			} else {
				require.Len(t, news, 1)
			}
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

// Music that was stopped before its first bar has a rest of no bar.
func TestARestBeforeTheFirstBar(t *testing.T) {
	tn, ok := content.Tune("short-ladder")
	require.True(t, ok)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.Bass)
	require.NoError(t, err)
	clock := &score{epoch: time.Now(), bars: []sound.Played{{State: sound.Paused, Pass: 1, Number: 1}}}
	s := newFollower(always{}, clock.epoch, clock, task{arrangement: a}, take.DefaultSettings())
	assert.Empty(t, s.look(clock.epoch))
	assert.True(t, s.idle())
}

// sounding is an input that listens to sound.
type sounding struct {
	always
	strums chan listen.Strum
}

func (s sounding) Strums() <-chan listen.Strum { return s.strums }

// What an ear hears of a bar: a strum marks its strike, heard or not; a note of
// little confidence is unsure; nothing is called missed before the ear has had
// its time; and the pass waits for its last word.
func TestMarksByEar(t *testing.T) {
	text, ok := content.TuneText("key-ring")
	require.True(t, ok)
	tn, faults := tune.Read(strings.Replace(text, "on and . .", "on and on .", 1))
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
	require.NoError(t, err)
	clock := &score{epoch: time.Now()}
	in := sounding{strums: make(chan listen.Strum)}
	s := newFollower(in, clock.epoch, clock, task{arrangement: a, bars: take.Bars{First: 1, Last: 1}}, take.DefaultSettings())
	bar := harmony.Bar{Meter: tn.Meter, Tempo: 120, Swing: tn.Swing}
	clock.bars = append(clock.bars, sound.Played{State: sound.Playing, Pass: 1, Number: 1, Bar: bar})
	require.Equal(t, []Event{begun{1, 120}}, s.look(clock.epoch))

	// Bar 1 is Dm7: D F A A♭, with shapes on beat 1, on the offbeat of 2, and on 3.
	marks := map[take.Verdict]int{}
	count := func(news []Event) {
		for _, n := range news {
			if m, ok := n.(Marked); ok {
				require.False(t, m.Extra)
				marks[m.Verdict]++
			}
		}
	}
	shapes := slices.DeleteFunc(take.Expect(a, harmony.Place(bar, 0), take.Bars{Last: 1}), func(e take.Expected) bool {
		return e.Kind != fretboard.ShapeEvent
	})
	strum := func(shape, by int) hearing.Strum { // as if it was struck some half steps off
		s := hearing.Strum{Chance: 0.9, Length: 0.2}
		for _, w := range shapes[shape].Notes {
			s.New[w.MIDI+by-hearing.LowestPitch], s.Now[w.MIDI+by-hearing.LowestPitch] = 1, 1
		}
		return s
	}
	ms := time.Millisecond
	count(s.hear(listen.Note{At: 10 * ms, On: true, MIDI: 50, Confidence: 0.9}))
	count(s.strum(listen.Strum{At: 10 * ms, Heard: strum(0, 0)}))
	assert.Equal(t, map[take.Verdict]int{take.Matched: 2}, marks)
	count(s.hear(listen.Note{At: 510 * ms, On: true, MIDI: 52, Confidence: 0.3}))
	count(s.strum(listen.Strum{At: 840 * ms, Heard: strum(1, 1)}))
	assert.Equal(t, map[take.Verdict]int{take.Matched: 2, take.Unsure: 1, take.Missed: 1}, marks)

	for _, at := range []time.Duration{1100 * ms, 1350 * ms} {
		assert.Empty(t, s.look(clock.epoch.Add(at)), "the note and the shape of beat 3 may still be told of")
	}
	missed := s.look(clock.epoch.Add(1500 * ms))
	require.Len(t, missed, 2)
	for _, n := range missed {
		assert.Equal(t, 3, n.(Missed).Expected.At.Beat)
	}

	clock.bars = append(clock.bars, sound.Played{State: sound.Finished, Start: harmony.InstantOf(2 * time.Second), Bar: bar})
	for _, n := range s.look(clock.epoch.Add(2200 * ms)) {
		_, graded := n.(ended)
		assert.False(t, graded, "the last note may still be told of")
	}
	count(s.hear(listen.Note{At: 1510 * ms, On: true, MIDI: 56, Confidence: 0.9}))
	news := s.look(clock.epoch.Add(2500 * ms))
	graded := news[len(news)-1].(ended)
	assert.Equal(t, take.Counts{Expected: 7, Matched: 3, Missed: 3, Unsure: 1}, graded.score.Counts)
}

// A push is marked when it is struck, by the chord that it leads to, and its bass
// note on its own beat; in sections of two meters each at its own time.
func TestAPushIsMarkedAsItIsPlayed(t *testing.T) {
	tn, faults := tune.Read("tune T\nkey C\nmeter 4/4\ntempo 60\n[A]\nchords | Dm7 |\nbass | 1 /b3 /5 \\b5 |\nhits | . . . push |\n" +
		"[B]\nmeter 6/8\nchords | G7 |\nbass | \\1 /3 |\nhits | . . |\n")
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), tune.BassHalves)
	require.NoError(t, err)
	clock := &score{epoch: time.Now()}
	s := newFollower(always{}, clock.epoch, clock, task{arrangement: a, bars: take.Bars{First: 1, Last: 2}}, take.DefaultSettings())
	first, err := tn.Placed(1, 60)
	require.NoError(t, err)
	next := first.Bar
	next.Meter = tune.Meter{Upper: 6, Lower: 8}
	second := first.Next(next)
	clock.bars = append(clock.bars, sound.Played{State: sound.Playing, Pass: 1, Number: 1, Bar: first.Bar})
	s.look(clock.epoch)
	var marked []Marked
	play := func(at time.Duration, midi int) {
		for _, e := range s.hear(listen.Note{At: at, On: true, MIDI: midi, Confidence: 1}) {
			if m, ok := e.(Marked); ok {
				marked = append(marked, m)
			}
		}
	}
	push := a.Events[len(a.Events)-3]
	require.Equal(t, tune.HitPush, push.Hit)
	for i, fret := range push.Frets {
		if place := (fretboard.Place{String: 6 - i, Fret: fret}); fret >= 0 && place != push.Place {
			play(3500*time.Millisecond, a.Neck.MIDI(place))
		}
	}
	require.NotEmpty(t, marked)
	for _, m := range marked {
		assert.Equal(t, take.Matched, m.Verdict)
		assert.Equal(t, []any{"G7", tune.Position{Bar: 1, Beat: 4, Off: true}}, []any{m.Expected.Chord.Symbol, m.Expected.At})
	}
	clock.bars = append(clock.bars, sound.Played{State: sound.Playing, Pass: 1, Number: 2, Bar: next, Start: second.Start()})
	marked = nil
	play(4*time.Second, push.Note.MIDI())
	play(5500*time.Millisecond, push.Note.MIDI()+4) // the third, a dotted beat later
	require.Len(t, marked, 2)
	assert.Equal(t, []tune.Position{{Bar: 2, Beat: 1}, {Bar: 2, Beat: 2}}, []tune.Position{marked[0].Expected.At, marked[1].Expected.At})
	for _, m := range marked {
		assert.Equal(t, take.Matched, m.Verdict)
		assert.Zero(t, m.Offset.Round(time.Millisecond))
	}
}
