package hearing

import "math"

// noteBefore returns the bass note before a waiting pluck.
func (a *Analyser) noteBefore(i int) before {
	if a.study != nil {
		p, ago := a.study.played(a.seconds(a.waiting[i].onset))
		return before{p, math.Exp(-ago / recentFall), true}
	}
	b, at := a.last, a.lastOnset
	for j := range a.sounding {
		b.sounds = b.sounds || a.sounding[j].onset == at
	}
	for j := range a.waiting[:i] {
		if p := a.waiting[j].chances.bass(); p != 0 && a.waiting[j].stage > 0 {
			b.pitch, at, b.sounds = p, a.waiting[j].onset, true
		}
	}
	if b.pitch != 0 {
		b.recent = math.Exp(-float64(a.waiting[i].onset-at) / (recentFall * analysisRate))
	}
	return b
}

// againFeatures are those by which a note is told to have been struck again: the chance of a
// chord, its continuity, and what speaks for it and for none.
const againFeatures = 2 + continuityFeatures + 2*features

// againWeights turn them into the chance of that by logistic regression.
type againWeights [againFeatures]float64

func (w *againWeights) chance(f *[againFeatures]float64) float64 {
	return 1 / (1 + math.Exp(-dot(w[:], f[:])))
}

// again tells whether the note before was struck again, by weights that were fitted on such
// notes, and gives a pluck to it that was rather none.
func (a *Analyser) again(w *waiting, b4 before) {
	e := &a.evidence
	e.before, w.again, w.lifted = 0, false, false
	midi := w.chances.bass()
	if !b4.sounds || w.stage < againStage {
		return
	}
	if midi != 0 && midi != b4.pitch {
		w.struck = false
		return
	}
	b := b4.pitch - BassLow
	f, ok := a.continues.look(a, w, w.onset-lead+stages[w.stage])
	if !ok {
		return
	}
	e.before = b4.pitch
	e.again[0], e.again[1] = 1, w.chord.chance
	rest := e.again[2+copy(e.again[2:], f[:]):]
	copy(rest[copy(rest, e.of[b][:]):], e.none[:])
	chance := againFitted[w.stage-againStage].chance(&e.again)
	w.maybe = math.Max(w.maybe, chance)
	least := surelyAgain
	if w.chord.chance >= 0.5 && f[continuityOnly] < littleElse { // rather a chord over the note that rings on
		least = againUnderChord
	}
	if w.again = w.struck || chance >= least; !w.again {
		return
	}
	w.struck = w.stage < len(stages)-1
	if chance = math.Max(chance, surelyAgain); w.chances[b] < chance {
		w.lifted = midi == 0
		others := (1 - chance) / (1 - w.chances[b])
		for i := range w.chances {
			w.chances[i] *= others
		}
		w.chances[b] = chance
	}
}

const (
	// surelyAgain is the least chance that the note before was struck again to be taken,
	// and againStage the first stage, 75 ms, at which it is: a chord's first moment
	// is like it.
	surelyAgain     = 0.6
	againUnderChord = 0.95
	againStage      = 7
	// littleElse, of the feature, is where so little else sounds than the note before that no
	// chord can.
	littleElse = 0.4
	// maybeAgain is the least by which it is told as a doubt, for a score in which the note
	// before stands again; below it goes on as if it had not been.
	maybeAgain = 0.05
)

// doubt takes back a note that only something else than a pluck can have stirred: the note
// before, which goes on as if it had not been struck, or where the lows did not rise and
// that note still rang or the program's click sounded just then. One that was surely struck
// again is none of those.
func (a *Analyser) doubt(w *waiting, b4 before) {
	midi := w.chances.bass()
	if midi == 0 || w.again {
		return
	}
	same := midi == b4.pitch
	goesOn := same && w.maybe > 0 && w.maybe < maybeAgain
	if !goesOn && (a.evidence.rise >= leastRise || !same && !a.clicked(w.onset)) {
		return
	}
	b := midi - BassLow
	w.chances[basses] += w.chances[b]
	w.chances[b] = 0
}

// leastRise of the lows' power at a pluck, as a logarithm: 0.4 dB.
const leastRise = 0.1
