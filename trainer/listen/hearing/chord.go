package hearing

// maxChord is how many notes of a chord are told apart above the bass.
const maxChord = 5

// chordHeard are the notes that a pluck brought above its bass note.
type chordHeard struct {
	n     int
	notes [maxChord]struct {
		midi int
		part float64 // of the strongest novel pitch
	}
}

const (
	// chordPart is the least strength of a chord's note against the strongest.
	chordPart = 0.3
	// chordGap is how far a chord's notes lie above the bass, in semitones.
	chordGap = 3
)

// hear picks the notes that a pluck brought, lowest first.
func (c *chordHeard) hear(e *evidence, bass int) {
	c.n = 0
	lowest := max(bass+chordGap, BassLow+chordGap)
	top := 0.0
	for p := lowestPitch; p <= highestPitch; p++ {
		top = max(top, e.novelAt(p-lowestPitch))
	}
	for p := lowest; p <= highestPitch && c.n < maxChord; p++ {
		if overtone(p - bass) {
			continue
		}
		v := e.novelAt(p - lowestPitch)
		if v >= chordPart*top && v > e.novelAt(p-1-lowestPitch) && v >= e.novelAt(p+1-lowestPitch) {
			c.notes[c.n].midi, c.notes[c.n].part = p, v/top
			c.n++
		}
	}
}

// overtone tells whether an interval above the bass is one of its partials, to
// the ninth: such a note is not told from the bass's own sound.
func overtone(semitones int) bool {
	switch semitones {
	case 12, 19, 24, 28, 31, 34, 36, 38:
		return true
	}
	return false
}

// settleChord tells the notes above the bass. One note alone is more often an
// overtone than a chord.
func (a *Analyser) settleChord(w *waiting) {
	if w.chord.n < 2 {
		return
	}
	for _, c := range w.chord.notes[:w.chord.n] {
		n := Note{Onset: a.seconds(w.onset), MIDI: c.midi, Part: Chord, Confidence: min(1, c.part), Level: a.level(w.onset), Told: a.seconds(a.n)}
		id := a.nextID
		a.nextID++
		a.emit(Began, id, n)
		a.emit(Settled, id, n)
		a.sound(id, n, w.onset)
	}
}
