package listen

import (
	"cmp"
	"io"
	"slices"

	"footfall/trainer/hearing"
	"footfall/trainer/hearing/wav"
)

// Recording is what was heard in a recording of a guitar, its beginning being
// time 0. Strings are not known.
type Recording struct {
	// Notes are those of the bass, and Strums what sounded above it, in order of
	// time.
	Notes  []Note
	Strums []Strum
	// Warnings say what was wrong with a file that could be read all the same.
	Warnings []string
}

// ReadRecording hears a WAV recording. The error says what is wrong with a file
// that cannot be read.
func ReadRecording(r io.ReadSeeker) (*Recording, error) {
	file, err := wav.Open(r)
	if err != nil {
		return nil, err
	}
	rec := &Recording{Warnings: file.Warnings}
	err = hearing.Follow(file.Rate, file.Pieces(), func(e hearing.Event) {
		switch {
		case e.Kind == hearing.Strummed:
			rec.Strums = append(rec.Strums, Strum{At: seconds(e.Strum.Onset), Heard: e.Strum})
		case e.Note.Part != hearing.Bass:
		case e.Kind == hearing.Settled || e.Kind == hearing.Doubted:
			rec.Notes = append(rec.Notes, noteHeard(e.Note, true))
		case e.Kind == hearing.Ended:
			rec.Notes = append(rec.Notes, noteHeard(e.Note, false))
		}
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(rec.Notes, func(a, b Note) int { return cmp.Compare(a.At, b.At) })
	slices.SortStableFunc(rec.Strums, func(a, b Strum) int { return cmp.Compare(a.At, b.At) })
	return rec, nil
}
