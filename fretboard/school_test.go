package fretboard_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/fretboard"
	"footfall/harmony/tune"
)

// Every tune of the house arranges in every school, layer, key and rhythm: each of them
// in every tune, and each pair of them in some. A shell has two notes over its bass, a
// drop voicing or three notes three, or two where a shell stands for it.
func TestBuiltInTunesInEverySchool(t *testing.T) {
	neck, hand := fretboard.StandardNeck(), fretboard.DefaultHand()
	ups := []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}
	if testing.Short() {
		ups = []int{0, 5}
	}
	const layers, rhythms = int(tune.BassHalves) + 1, int(tune.Ballad) + 1 // the first rhythm is the written one
	for n, name := range content.TuneNames() {
		written, _ := content.Tune(name)
		for _, up := range ups {
			for school := fretboard.Mixed; school <= fretboard.Drop3s; school++ {
				layer := tune.Layer((n + up + int(school)) % layers)
				rhythm := tune.Comping((n + 3*up + int(school)) % rhythms)
				tn := written
				if rhythm != tune.NoComping {
					tn = written.WithComping(rhythm)
				}
				a, _, err := fretboard.ArrangeInKey(tn, tn.Key.Up(up), neck, hand, layer, fretboard.InSchool(school))
				require.NoError(t, err, "%s up %d, %s, %s, %s", name, up, school, layer, rhythm)
				for i := range a.Events {
					e := &a.Events[i]
					if e.Kind != fretboard.ShapeEvent || given(e, written) {
						continue
					}
					voices := 0
					for _, fret := range e.Frets {
						if fret >= 0 {
							voices++
						}
					}
					switch school {
					case fretboard.Shells:
						assert.True(t, heard(a, e), "%s up %d bar %d beat %d: %s over %s", name, up, e.At.Bar, e.At.Beat, fretboard.FormatFrets(e.Frets), e.Chord.Symbol)
						assert.Equal(t, 3, voices, "%s up %d bar %d beat %d: %s", name, up, e.At.Bar, e.At.Beat, fretboard.FormatFrets(e.Frets))
					case fretboard.Mixed:
					default:
						assert.Contains(t, []int{3, 4}, voices, "%s up %d bar %d beat %d: %s", name, up, e.At.Bar, e.At.Beat, fretboard.FormatFrets(e.Frets))
					}
				}
			}
		}
	}
}

// heard reports whether a shape on the root sounds the chord's third and seventh, or
// sixth, as a shell does.
func heard(a *fretboard.Arrangement, e *fretboard.Event) bool {
	for _, d := range e.Chord.Degrees {
		if e.Degree.Number != 1 || d.Number != 3 && d.Number != 7 && (d.Number != 6 || len(e.Chord.Degrees) > 4) {
			continue
		}
		there := false
		for s, fret := range e.Frets {
			there = there || fret >= 0 && (e.Chord.DegreeOf(a.Neck.Tuning[s]+fret).Semitones()-d.Semitones())%12 == 0
		}
		if !there {
			return false
		}
	}
	return true
}

// given reports whether the shapes row has the shape.
func given(e *fretboard.Event, t *tune.Tune) bool {
	shapes := t.Section(e.Section).Bars[e.SectionBar-1].Shapes
	return len(shapes) >= e.At.Beat && shapes[e.At.Beat-1].Frets != nil
}

func TestSchoolsByName(t *testing.T) {
	for school := fretboard.Mixed; school <= fretboard.Drop3s; school++ {
		got, err := fretboard.ParseSchool(school.String())
		require.NoError(t, err)
		assert.Equal(t, school, got)
	}
	_, err := fretboard.ParseSchool("quartal")
	assert.EqualError(t, err, `there is no school "quartal"; write one of mixed, shells, three-note, drop2, drop3`)
}
