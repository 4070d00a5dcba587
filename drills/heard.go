package drills

import (
	"footfall/fretboard"
	"footfall/harmony"
)

// Where a chord sounds that is heard with an answer, above the bass strings: MIDI note
// numbers from E3 up.
const heardFrom = 52

// lowestHeard is the lowest note of an answer that lies nowhere on the neck, E2.
const lowestHeard = 40

// Heard is how the answer of a question sounds: its note, then the chord with it; of a
// question about a shape, the shape. Each is MIDI note numbers, low to high; it is nil
// where there is nothing to hear.
func Heard(q Question, neck fretboard.Neck) [][]int {
	ask := q.Ask()
	if ask.Sounds != nil {
		return ask.Sounds
	}
	if ask.Frets != nil {
		var shape []int
		for i, fret := range ask.Frets {
			if fret >= 0 && i < len(neck.Tuning) {
				shape = append(shape, neck.Tuning[i]+fret)
			}
		}
		return [][]int{shape}
	}
	chord, err := harmony.ParseChord(ask.Chord)
	degree, fault := harmony.ParseDegree(ask.Degree)
	if err != nil || fault != nil || chord.None {
		return nil
	}
	note := lowestHeard + mod12(degree.Of(chord.Root).Semitone()-lowestHeard)
	if ask.Place.String > 0 {
		note = neck.MIDI(ask.Place)
	}
	with := []int{note}
	for _, d := range chord.Degrees {
		with = append(with, heardFrom+mod12(d.Of(chord.Root).Semitone()-heardFrom))
	}
	return [][]int{{note}, with}
}
