package hearing

import "math"

// maxChord is how many notes of a chord are told apart above the bass.
const maxChord = 8

// chordHeard is what a pluck brought above its bass note.
type chordHeard struct {
	chance float64 // that a chord was struck
	length float64 // of the sound that was judged, s
	fresh  [pitches]float32
	now    [pitches]float32
	n      int
	notes  [maxChord]struct {
		midi int
		part float64 // of the strongest
	}
}

const (
	// chordPart is the least strength of a chord's note against the strongest.
	chordPart = 0.15
	// freePart is the same for a note that counts as one more than the bass.
	freePart = 0.3
	// chordGap is how far a chord's notes lie above the bass, in semitones.
	chordGap = 3
	// chordTold is the chance from which a chord's notes are told. It is low: what
	// is expected decides, and a single note of a chord proves nothing.
	chordTold = 0.2

	// overtonePart is what a note counts that may as well be the bass's overtone.
	overtonePart = 0.5
	// alone is the most that a single note of a chord can be sure of: less than
	// what proves anything. A chord is heard by several.
	alone = 0.49

	chordFeatures = 9
)

// chordWeights turn chordEvidence into the chance of a chord by logistic
// regression.
type chordWeights [chordFeatures]float64

// chordEvidence says how much what a pluck brought looks like several notes.
func (e *evidence) chordEvidence(bass int) [chordFeatures]float64 {
	free, above, shared := 0.0, 0.0, 0.0
	top := 1e-9
	for _, v := range e.novel {
		top = math.Max(top, v)
	}
	for p, v := range e.novel {
		midi := p + lowestPitch
		switch {
		case bass == 0 || midi < bass+chordGap:
		case overtone(midi - bass):
			shared += v
		default:
			above += v
			if v > freePart*top {
				free++
			}
		}
	}
	return [chordFeatures]float64{
		1, e.none[noneSecond], e.none[noneThird], e.none[noneHigh], math.Min(4, free) / 4, math.Min(3, above/top), math.Min(3, shared/top),
		math.Min(8, e.none[noneFlux]) / 8, e.none[noneGain],
	}
}

func (w *chordWeights) chance(f *[chordFeatures]float64) float64 {
	s := 0.0
	for i, v := range f {
		s += w[i] * v
	}
	return 1 / (1 + math.Exp(-s))
}

// hear picks what a pluck brought above its bass note, lowest first.
func (c *chordHeard) hear(e *evidence, bass int) {
	f := e.chordEvidence(bass)
	if chance := chordFitted[e.stage].chance(&f); e.stage <= lastHarmonic+1 {
		c.chance = chance
	} else {
		c.chance = math.Max(c.chance, chance)
	}
	c.n = 0
	c.length = float64(stages[e.stage]) / analysisRate
	for p := range c.now {
		c.fresh[p], c.now[p] = float32(e.novel[p]), float32(e.strength[p])
	}
	lowest := max(bass+chordGap, BassLow+chordGap)
	top := 1e-9
	for p := lowest; p <= highestPitch; p++ {
		if !overtone(p - bass) {
			top = math.Max(top, e.novelAt(p-lowestPitch))
		}
	}
	for p := lowest; p <= highestPitch; p++ {
		v := e.novelAt(p - lowestPitch)
		if v <= e.novelAt(p-1-lowestPitch) || v < e.novelAt(p+1-lowestPitch) {
			continue // the slope of a neighbour
		}
		part := math.Min(1, v/top)
		told := part >= chordPart && p <= highestChord && c.n < maxChord
		if overtone(p - bass) {
			part *= overtonePart
		}
		if told {
			c.notes[c.n].midi, c.notes[c.n].part = p, part
			c.n++
		}
	}
}

// highestChord is the highest note told of a chord, C#5: the ninth fret of the
// high E string. Above it overtones are taken for notes.
const highestChord = 73

// overtone tells whether an interval above the bass is one of its partials, to
// the ninth: such a note is not told from the bass's own sound.
func overtone(semitones int) bool {
	switch semitones {
	case 12, 19, 24, 28, 31, 34, 36, 38:
		return true
	}
	return false
}

// settleChord tells the notes above the bass.
func (a *Analyser) settleChord(w *waiting) {
	c := &w.chord
	if w.stage < chordStage {
		return
	}
	at, bass := a.seconds(w.onset), w.chances.bass()
	if bass == 0 {
		bass = w.before
	}
	a.events = append(a.events, Event{Kind: Strummed, ID: w.id, Strum: Strum{at, bass, c.chance, c.length, c.fresh, c.now}})
	if c.chance < chordTold {
		return
	}
	for _, h := range c.notes[:c.n] {
		n := Note{Onset: at, MIDI: h.midi, Part: Chord, Confidence: alone * c.chance * h.part, Level: a.level(w.onset), Told: float64(a.n) / analysisRate}
		id := a.nextID
		a.nextID++
		a.emit(Began, id, n)
		a.emit(Settled, id, n)
		a.sound(id, n, w.onset, false)
	}
}

// chordStage is the least number of stages, 44 ms, from which a chord is judged.
const chordStage = 5
