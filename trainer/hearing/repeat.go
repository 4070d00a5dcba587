package hearing

import "math"

// noteBefore returns the bass note before a waiting pluck.
func (a *Analyser) noteBefore(i int) before {
	if a.study != nil {
		p, ago := a.study.played(a.seconds(a.waiting[i].onset))
		return before{p, math.Exp(-ago / recentFall)}
	}
	b, at := a.last, a.lastOnset
	for j := range a.waiting[:i] {
		if p := a.waiting[j].chances.bass(); p != 0 && a.waiting[j].stage > 0 {
			b.pitch, at = p, a.waiting[j].onset
		}
	}
	if b.pitch != 0 {
		b.recent = math.Exp(-float64(a.waiting[i].onset-at) / (recentFall * analysisRate))
	}
	return b
}

// again tells whether the note before was struck again, by the weights that were fitted
// on such notes, and gives a pluck to it that was rather none.
func (a *Analyser) again(w *waiting, b4 before) {
	w.again = false
	midi := w.chances.bass()
	if b4.pitch == 0 || w.stage < againStage {
		return
	}
	var c chances
	c.judge(&a.evidence, &againFitted[w.stage])
	best, chance := c.best()
	w.maybe = math.Max(w.maybe, c[b4.pitch-BassLow])
	if midi != 0 && midi != b4.pitch || a.evidence.broken < ringsUnbroken {
		return
	}
	least := surelyAgain
	if w.chord.chance >= 0.5 { // rather a chord over the note that rings on
		least = againUnderChord
	}
	w.again = best == b4.pitch && chance >= least
	if w.again && midi == 0 {
		w.chances = c
	}
}

const (
	// surelyAgain is the least chance that the note before was struck again to be taken,
	// and againStage the first stage, 75 ms, at which it is: a chord's first moment
	// is like it.
	surelyAgain = 0.7
	// maybeAgain is the least by which it is told as a doubt, for a score in which the note
	// before stands again.
	maybeAgain      = 0.05
	againUnderChord = 0.95
	againStage      = 7
)

// doubt takes back a note that only something else than a pluck can have
// stirred: the lows did not rise, and the same note still rang or the program's
// click sounded just then. One that was surely struck again is none of those.
func (a *Analyser) doubt(w *waiting, b4 before) {
	midi := w.chances.bass()
	if midi == 0 || w.again || a.evidence.rise >= leastRise || midi != b4.pitch && !a.clicked(w.onset) {
		return
	}
	b := midi - BassLow
	w.chances[basses] += w.chances[b]
	w.chances[b] = 0
}

const (
	// leastRise of the lows' power at a pluck, as a logarithm: 0.4 dB.
	leastRise = 0.1
	// ringsUnbroken is the most that is not as foretold, as a logarithm of its part,
	// where a note rings on.
	ringsUnbroken = -1
)
