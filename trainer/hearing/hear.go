package hearing

import "io"

// Hear returns the notes of a whole recording in the order of their onsets.
func Hear(rate int, samples []float32) ([]Note, error) {
	return HearAll(rate, func() ([]float32, error) {
		if samples == nil {
			return nil, io.EOF
		}
		all := samples
		samples = nil
		return all, nil
	})
}

// HearAll is Hear of a recording that next hands over piece by piece, and io.EOF at its
// end.
func HearAll(rate int, next func() ([]float32, error)) ([]Note, error) {
	var notes []Note
	ids := map[int]int{}
	err := Follow(rate, next, func(e Event) {
		switch e.Kind {
		case Settled:
			ids[e.ID] = len(notes)
			notes = append(notes, e.Note)
		case Ended:
			notes[ids[e.ID]].Duration, notes[ids[e.ID]].Cents = e.Note.Duration, e.Note.Cents
		}
	})
	if err != nil {
		return nil, err
	}
	sortNotes(notes)
	return notes, nil
}

// Follow tells the events of a recording that next hands over piece by piece, and io.EOF
// at its end.
func Follow(rate int, next func() ([]float32, error), tell func(Event)) error {
	a, err := New(rate)
	if err != nil {
		return err
	}
	var events []Event
	for {
		samples, err := next()
		if err != nil && err != io.EOF {
			return err
		}
		if err == io.EOF {
			events = a.Flush(events[:0])
		} else {
			events = a.Push(samples, events[:0])
		}
		for _, e := range events {
			tell(e)
		}
		if err == io.EOF {
			return nil
		}
	}
}
