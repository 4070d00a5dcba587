package sheet

import (
	"fmt"
	"io"

	"footfall/fretboard"
)

// Choices writes for each hit of an arrangement what its shape does, and the best
// shapes that could be struck there, most of them at most: what each asks of the hand and
// of the voice leading beside the one that is played.
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
			says := "played"
			if k > 0 {
				says = c.Beside(choices[0])
			}
			if _, err := fmt.Fprintf(w, "  %d  %-16s  %s\n", k+1, fretboard.FormatFrets(c.Frets), says); err != nil {
				return err
			}
		}
	}
	return nil
}
