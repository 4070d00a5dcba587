package fretboard_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
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
