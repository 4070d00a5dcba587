package sheet

import (
	"fmt"
	"io"

	"footfall/fretboard"
)

// Choices writes for each hit of an arrangement what its shape does, and the best
// shapes that could be struck there, most of them at most: what each costs the hand
// and the voice leading, in millimetres of hand movement or what is felt as much, and
// what the whole costs more with it.
func Choices(w io.Writer, a *fretboard.Arrangement, most int) error {
	for i := range a.Events {
		e := &a.Events[i]
		if e.Kind != fretboard.ShapeEvent {
			continue
		}
		beat := fmt.Sprint(e.At.Beat)
		if e.At.Off {
			beat += " and"
		}
		if _, err := fmt.Fprintf(w, "bar %d beat %s  %s: %s\n", e.At.Bar, beat, e.Chord, a.Says(i)); err != nil {
			return err
		}
		choices := a.Choices(i)
		for k, c := range choices[:min(most, len(choices))] {
			if _, err := fmt.Fprintf(w, "  %d  %-16s hand %4.0f  voices %4.0f  %+.0f\n", k+1, fretboard.FormatFrets(c.Frets), c.Hand, c.Voices, c.More); err != nil {
				return err
			}
		}
	}
	return nil
}
