package hearing

import "math"

const (
	// A settled note's pitch is measured from 60 ms after the pluck on, when its attack is
	// over, and again from 100 ms on when it has rung for 250 ms, in analysis samples.
	settledFrom = 720
	ringFrom    = 1200
	ringFor     = 3000
	// leastRing is the shortest stretch that is measured: 50 ms.
	leastRing = 600
	// ringClarity is the least that a ring must repeat after one period to have a pitch,
	// farClarity after more of them to be measured by those, and ringSteady how far, in
	// cents, its halves may lie apart: of 376 notes of guitars none more than 6.
	ringClarity = 0.7
	farClarity  = 0.6
	ringSteady  = 8
	// ringAgree is how far the whole may lie from its first half.
	ringAgree = 4
	// ringSwell and ringFall are how much louder and softer its second half may be, as
	// logarithms of power: a string falls slowly, a vowel ends.
	ringSwell = 0.0
	ringFall  = -1.1
	// partialSwell is the same for any of its first ringTones partials that holds tonePart
	// of their power: a vowel's move.
	partialSwell = 0.6
	ringTones    = 8
	tonePart     = 0.02
	// fewestCents are the notes by which a tuning is taken to be another, mostCents those
	// that are remembered, and offTune how far off, in semitones, it must be.
	fewestCents, mostCents = 6, 15
	offTune                = 0.08
)

// ringCents measures how far a stretch lies from a note, in cents, and whether it has
// its pitch at all: over as many periods as fit, as the tuner does.
func (a *Analyser) ringCents(midi, from, to int) (cents float64, ok bool) {
	if to-from < leastRing {
		return 0, false
	}
	x := a.lowAt(from, to)
	lag := analysisRate / frequency(float64(midi)+a.tuning)
	clarity := 0.0
	for times := 1.0; 2*times*lag <= float64(len(x)); times *= 2 {
		place, value := repeats(x, lag*times)
		if times == 1 {
			clarity = value
		} else if value < farClarity { // a stiff string's partials drift apart
			break
		}
		lag = place / times
	}
	cents = 100 * (pitchOf(analysisRate/lag) - float64(midi))
	return cents, clarity >= ringClarity && math.Abs(cents-100*a.tuning) < 50
}

// ringOf looks at a note that has sounded for a quarter of a second: whether it rings as
// a string does, and at which pitch.
func (a *Analyser) ringOf(s *sounding) {
	from, to := s.onset+ringFrom, min(a.n, s.onset+ringFor)
	for i := range a.waiting {
		if next := a.waiting[i].onset; next > s.onset {
			to = min(to, next)
		}
	}
	half := (from + to) / 2
	cents, ok := a.ringCents(s.note.MIDI, from, to)
	if !ok {
		return
	}
	s.note.Cents, s.note.ring = cents, true
	if s.note.Confidence >= sureBass {
		a.tuneBy(cents / 100)
	}
	first, ok1 := a.ringCents(s.note.MIDI, from, half)
	second, ok2 := a.ringCents(s.note.MIDI, half, to)
	swell := math.Log((energy(a.lowAt(half, to)) + 1e-9) / (energy(a.lowAt(from, half)) + 1e-9))
	if ok1 && ok2 && math.Abs(first-second) <= ringSteady && math.Abs(first-cents) <= ringAgree && swell <= ringSwell && swell >= ringFall && !a.moves(frequency(float64(s.note.MIDI)+cents/100), from, half, to) {
		s.rings = true
		a.emit(Rang, s.id, s.note)
	}
}

// moves says whether one of the stronger partials of f0, in Hz, grows from one stretch to
// the next.
func (a *Analyser) moves(f0 float64, from, half, to int) bool {
	var first, second [ringTones]float64
	all := 1e-12
	for k := range first {
		f := f0 * float64(k+1)
		first[k], second[k] = powerAt(a.at(from, half), f), powerAt(a.at(half, to), f)
		all += first[k] + second[k]
	}
	for k, v := range first {
		if v+second[k] >= tonePart*all && second[k] > v*math.Exp(partialSwell) {
			return true
		}
	}
	return false
}

// tuned remembers how far off the last notes were, in semitones.
type tuned struct {
	off  [mostCents]float64
	n    int
	sort [mostCents]float64
}

// tuneBy takes in how far off a note was: where the last ones agree on another tuning,
// it is taken to be the guitar's.
func (a *Analyser) tuneBy(off float64) {
	t := &a.heard
	t.off[t.n%mostCents] = off
	t.n++
	n := min(t.n, mostCents)
	if n < fewestCents {
		return
	}
	x := t.sort[:n]
	copy(x, t.off[:n])
	for i := 1; i < n; i++ { // a few, and nothing may be allocated here
		for j := i; j > 0 && x[j] < x[j-1]; j-- {
			x[j], x[j-1] = x[j-1], x[j]
		}
	}
	if by := (x[n/2] + x[(n-1)/2]) / 2; math.Abs(by-a.tuning) > offTune && x[3*n/4]-x[n/4] < offTune {
		a.tuneTo(math.Round(20*by) / 20)
	}
}

// tuneTo makes the analyser expect a guitar tuned some semitones off.
func (a *Analyser) tuneTo(semitones float64) {
	a.tuning = semitones
	t := tablesOf(semitones)
	for i, m := range a.mix {
		m.templates = t.templates[i]
	}
	a.harmonics = t.harmonics
}
