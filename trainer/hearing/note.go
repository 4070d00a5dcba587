package hearing

// The bass notes that are told apart, as MIDI note numbers: E2 to C4, from the
// open low string to the fifteenth fret of the A string.
const (
	BassLow  = 40
	BassHigh = 60
)

// Part says whether a note is the line or the chord above it.
type Part uint8

// The parts.
const (
	Bass Part = iota
	Chord
)

// String returns "bass" or "chord".
func (p Part) String() string {
	if p == Chord {
		return "chord"
	}
	return "bass"
}

// Note is one note heard.
type Note struct {
	// Onset is when it was plucked, in seconds from the first sample.
	Onset float64
	// Duration is how long it was heard, in seconds: until it was damped, had
	// died away or gave way to the next note of its part. 0 while it sounds.
	Duration float64
	// MIDI is the note number (69 is A4).
	MIDI int
	// Cents is how far the sound lies from MIDI at A4 = 440 Hz, −50 to 50: of the ring,
	// once it is settled, not of the attack.
	Cents float64
	Part  Part
	// Confidence is the chance that this note was plucked there, over 0 to 1.
	Confidence float64
	// Rival is the next likeliest pitch and its chance: a MIDI number, 0 where
	// that is no note.
	Rival       int
	RivalChance float64
	// Again is, of a note that is Doubted, the chance that it is the note before struck
	// again, over 0 to 1; 0 where it is rather another.
	Again float64
	// Level is the loudness just after the pluck in dB of full scale.
	Level float64
	// Told is when a listener is handed the note, in seconds from the first sample: when
	// it began or was revised with SureToTell, became Surer, or settled; if it was unsure by
	// then and is sure once it is settled, then.
	Told float64
	ring bool // whether Cents are those of the ring
}

// SureToTell is the confidence from which a note is handed on before all of it has been
// heard; fewer than 1 in 200 of those change afterwards.
const SureToTell = 0.9

// Kind is what an Event says of a note.
type Kind uint8

// The kinds of events.
const (
	// Began: a note is heard. More sound may still revise it.
	Began Kind = iota
	// Revised: more sound showed another pitch.
	Revised
	// Surer: it is sure enough to be handed on: SureToTell, or less where more of it has
	// been heard, and after 144 ms as sure as it is.
	Surer
	// Withdrawn: more sound showed that there was no note.
	Withdrawn
	// Settled: the pitch and confidence are final.
	Settled
	// Rang: a quarter of a second on it still rings, as a plucked string does: at a steady
	// pitch, from an instant attack and dying away. What is no string never gets there.
	Rang
	// Ended: the note stopped sounding; Duration is set.
	Ended
	// Doubted: there was a pluck, and rather no note of the bass than this one, but it may
	// have been. Such a note has an ID of its own and no other event.
	Doubted
	// Strummed: what sounds above the bass has been judged; Strum is set.
	Strummed
)

// Event is news of a note. The events of one note share its ID and come in the
// order Began, Revised and Surer as often as need be, then either Withdrawn alone or
// Settled, Rang if it does, and Ended.
type Event struct {
	Kind  Kind
	ID    int
	Note  Note
	Strum Strum
}
