package fretboard_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"
)

// Every tune of the house fits one hand: no shift of more than five frets
// inside a bar, no shape past four fingers or the reach, and the bass note of a
// hit is the shape's lowest (common practice, no source).
func TestBuiltInTunesFitTheHand(t *testing.T) {
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	for _, name := range content.TuneNames() {
		tn, ok := content.Tune(name)
		require.True(t, ok, name)
		for _, layer := range []fretboard.Layer{fretboard.Bass, fretboard.BassChanges, fretboard.BassHalves} {
			a, err := fretboard.Arrange(tn, neck, hand, layer)
			if err != nil {
				t.Errorf("%s %s: %v", name, layer, err)
				continue
			}
			requireFits(t, name, a, hand, false)
		}
	}
}

func requireFits(t *testing.T, name string, a *fretboard.Arrangement, hand fretboard.Hand, leaps bool) {
	t.Helper()
	var before *fretboard.Event
	for i := range a.Events {
		e := &a.Events[i]
		if !leaps && before != nil && before.At.Bar == e.At.Bar && before.Place.Fret > 0 && e.Place.Fret > 0 {
			if shift := e.Place.Fret - before.Place.Fret; shift > 5 || shift < -5 {
				t.Errorf("%s in %s, %s: bar %d beat %d: from fret %d to fret %d", name, a.Tune.Key, a.Layer, e.At.Bar, e.At.Beat, before.Place.Fret, e.Place.Fret)
			}
		}
		before = e
		require.Equal(t, e.Note.MIDI(), a.Neck.MIDI(e.Place))
		if e.Kind != fretboard.ShapeEvent {
			continue
		}
		f, ok := a.Neck.Fingering(hand, e.Frets)
		require.True(t, ok, "%s bar %d: %v", name, e.At.Bar, e.Frets)
		require.LessOrEqual(t, f.SpanMM, hand.ReachMM)
		lowest := 999
		for s, fret := range e.Frets {
			if fret >= 0 {
				lowest = min(lowest, a.Neck.MIDI(fretboard.Place{String: len(e.Frets) - s, Fret: fret}))
			}
		}
		require.Equal(t, lowest, e.Note.MIDI(), "%s bar %d beat %d", name, e.At.Bar, e.At.Beat)
	}
}

// In every other key a tune fits the hand too, its line folded where it would
// leave the two strings.
func TestBuiltInTunesInEveryKey(t *testing.T) {
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	for _, name := range content.TuneNames() {
		written, _ := content.Tune(name)
		for up := 1; up < 12; up++ {
			for _, layer := range []fretboard.Layer{fretboard.Bass, fretboard.BassChanges, fretboard.BassHalves} {
				a, folded, err := fretboard.ArrangeInKey(written, written.Key.Up(up), neck, hand, layer)
				if err != nil {
					t.Errorf("%s in %s, %s: %v", name, written.Key.Up(up), layer, err)
					continue
				}
				// A folded line leaps where the written one did not.
				requireFits(t, name, a, hand, folded > 0)
			}
		}
	}
}

// Every rhythm can be played over every tune, in all its meters.
func TestEveryRhythmOverEveryTune(t *testing.T) {
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	for _, name := range content.TuneNames() {
		written, _ := content.Tune(name)
		for c := tune.Charleston; c <= tune.Ballad; c++ {
			tn := written.WithComping(c)
			a, err := fretboard.Arrange(tn, neck, hand, tune.BassHalves)
			if err != nil {
				t.Errorf("%s, %s: %v", name, c, err)
				continue
			}
			requireFits(t, name, a, hand, true)
			shapes := 0
			for _, e := range a.Events {
				if e.Kind == fretboard.ShapeEvent {
					require.Equal(t, tune.ByComping, e.By)
					shapes++
				}
			}
			require.Len(t, tn.Strikes(tune.BassHalves), shapes)
		}
	}
}

// A push is struck above the bass note that follows it, which lies where the hand
// is already; where the line rests on that beat the shape is all its own.
func TestAPushHangsOnTheComingBassNote(t *testing.T) {
	tn, faults := tune.Read(`tune T
key C
meter 4/4
tempo 100

[A]
chords | Dm7           | G7           | Cmaj7     | Fmaj7      |
bass   | 1 /b3 /5 \b5  | \1 /3 \5 /b2 | . 3 5 - | - - \3 \1  |
hits   | on . . push   | on . . push- | . . . push | . . . push |
`)
	require.Empty(t, faults)
	a, err := fretboard.Arrange(tn, fretboard.StandardNeck(), fretboard.DefaultHand(), fretboard.BassHalves)
	require.NoError(t, err)
	var pushes []fretboard.Event
	bass := map[tune.Position]fretboard.Event{}
	for _, e := range a.Events {
		switch {
		case e.Hit == tune.HitPush:
			pushes = append(pushes, e)
		case e.Kind == fretboard.BassEvent:
			bass[e.At] = e
		}
	}
	require.Len(t, pushes, 4)
	for i, chord := range []string{"G7", "Cmaj7", "Fmaj7", "Dm7"} {
		e := pushes[i]
		require.Equal(t, chord, e.Chord.Symbol)
		require.Equal(t, tune.Position{Bar: i + 1, Beat: 4}, e.At)
		require.Equal(t, []tune.Position{{Bar: i + 1, Beat: 4, Off: true}}, e.Times)
		require.Equal(t, i == 1, e.Held)
		require.Equal(t, i == 1, e.Free, "bar 3 rests on its first beat")
	}
	next := bass[tune.Position{Bar: 2, Beat: 1}]
	require.Equal(t, []any{next.Place, next.Note, next.Degree}, []any{pushes[0].Place, pushes[0].Note, pushes[0].Degree})
	held := bass[tune.Position{Bar: 3, Beat: 3}]
	require.Equal(t, held.Place, pushes[2].Place, "the bass note that goes on")
	require.Equal(t, "9", pushes[2].Degree.String(), "G over Fmaj7")
	first := bass[tune.Position{Bar: 1, Beat: 1}]
	require.Equal(t, []any{first.Note, first.Place}, []any{pushes[3].Note, pushes[3].Place}, "after the last bar comes the first")
}

// Whatever the tune: its line is played whole, each note once; what is written is
// struck, all of it; and a push lies where its bass note comes.
func TestArrangementsOfAnyTune(t *testing.T) {
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	arranged := 0
	rapid.Check(t, func(t *rapid.T) {
		tn := tunetest.Tune().Draw(t, "tune")
		layer := tune.Layer(rapid.IntRange(0, 2).Draw(t, "layer"))
		a, err := fretboard.Arrange(tn, neck, hand, layer)
		if err != nil {
			return
		}
		arranged++
		line, err := tn.Line(neck.BassRange())
		require.NoError(t, err)
		grid := tn.Grid()
		bass := map[int]*fretboard.Event{}
		var struck []tune.Position
		for i := range a.Events {
			e := &a.Events[i]
			if e.Kind == fretboard.BassEvent {
				require.Less(t, len(bass), len(line))
				n := line[len(bass)]
				require.Equal(t, []any{n.At, n.Pitch, n.Degree, n.Halves}, []any{e.At, e.Note, e.Degree, e.Halves})
				if n.Pin != 0 {
					require.Equal(t, n.Pin, e.Place.String)
				}
				bass[grid.Half(e.At)] = e
			} else if e.By != tune.ByLayer {
				struck = append(struck, e.Times...)
			}
		}
		require.Len(t, bass, len(line))
		var want []tune.Position
		for _, s := range tn.Strikes(layer) {
			if s.By != tune.ByLayer {
				want = append(want, s.Times...)
			}
		}
		require.Equal(t, want, struck)
		for i := range a.Events {
			e := &a.Events[i]
			if e.Hit != tune.HitPush {
				continue
			}
			if b := bass[grid.Half(e.Times[0])+1]; b != nil {
				require.Equal(t, []any{b.Place, b.Note, b.Degree}, []any{e.Place, e.Note, e.Degree})
			}
		}
	})
	require.NotZero(t, arranged)
}
