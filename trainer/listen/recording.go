package listen

import (
	"cmp"
	"io"
	"slices"

	"footfall/trainer/listen/hearing"
	"footfall/trainer/listen/wav"
)

// ReadRecording reads the notes heard in a WAV recording of a guitar in order of
// time, the file's beginning being time 0. Strings are not known. The error says
// what is wrong with a file that cannot be read; warnings say what was wrong
// with one that could.
func ReadRecording(r io.Reader) (notes []Note, warnings []string, err error) {
	rec, err := wav.Read(r)
	if err != nil {
		return nil, nil, err
	}
	heard, err := hearing.Hear(rec.Rate, rec.Samples)
	if err != nil {
		return nil, rec.Warnings, err
	}
	for _, n := range heard {
		notes = append(notes, noteHeard(n, true), noteHeard(n, false))
	}
	slices.SortStableFunc(notes, func(a, b Note) int { return cmp.Compare(a.At, b.At) })
	return notes, rec.Warnings, nil
}
