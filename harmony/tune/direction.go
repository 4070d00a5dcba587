package tune

// From returns the MIDI note number of a pitch class (0 for C to 11) that the
// direction leads to from another note number.
func (d Direction) From(midi, class int) int { return move(midi, class, d) }
