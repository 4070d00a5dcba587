package tune

// Unplaced returns the notes of the bass row over one pass of the form without
// their registers: the octave of each pitch means nothing yet. Line places them.
func (t *Tune) Unplaced() []LineNote {
	notes, _ := t.lineNotes()
	return notes
}

// Next returns where a note leads to, by its direction and its pin, from the note
// before, a MIDI note number, or as the first of a line where that is nil. It may
// lie outside the range.
func (r Range) Next(before *int, n LineNote) int {
	if before == nil {
		return r.first(&n)
	}
	return r.from(*before, &n, n.Direction)
}
