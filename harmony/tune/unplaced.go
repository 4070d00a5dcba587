package tune

// Unplaced returns the notes of the bass row over one pass of the form without
// their registers: the octave of each pitch means nothing yet. Line places them.
func (t *Tune) Unplaced() []LineNote {
	notes, _ := t.lineNotes()
	return notes
}
