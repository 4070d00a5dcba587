package hearing

import "math"

const (
	basses   = BassHigh - BassLow + 1
	features = 31
	// laterNone is the first feature of none that againFitted alone goes by.
	laterNone = 18
)

// stages are the lengths of sound after a pluck, in analysis samples, at which
// its note is judged: from 25 ms, for a first guess, to 200 ms.
var stages = [...]int{300, 348, 396, 456, 552, 592, 696, 896, 1280, 1728, 2400}

const (
	// lead is how far before an onset's place the spectrum's window begins, whose
	// edge counts for little: 2 ms.
	lead = 24
	// guard is how far after it the period is measured from: 1.3 ms.
	guard = 16
)

// before is what came before a pluck.
type before struct {
	pitch  int     // the bass note before, 0 for none
	recent float64 // how recent it is: 1 at once, falling by e in 120 ms
	sounds bool    // whether it has not ended
}

// evidence is what a stretch of sound after a pluck says about each bass note.
type evidence struct {
	stage    int
	of       [basses][features]float64
	none     [features]float64 // that no bass note was plucked
	cents    [basses]float64   // from the period
	was      [pitches]float64  // strengths before the pluck
	strength [pitches]float64  // and after it
	novel    [pitches]float64  // what the pluck brought
	all      float64           // sum of strength
	likely   likelihoods
	fresh    likelihoods // where what rang before rings on
	held     float64     // how much of the note before rings on as foretold
	rise     float64     // of the lows' power over what was before, as a logarithm
	broken   float64     // how much of the lows is not as foretold, as a logarithm
	before   int         // the note before if it was asked whether it was struck again, else 0
	again    [againFeatures]float64
}

const (
	// lastHarmonic is the last stage at which the likelihoods are taken: 58 ms.
	lastHarmonic = 6
	// mostHarmonic samples they are taken of.
	mostHarmonic = 660
)

// ringing is the part of a strength before a pluck that is taken to ring on.
const ringing = 0.7

// longestBefore is the stage whose length is the most that is looked back: what
// sounded long before a pluck has died away by then.
const longestBefore = 7

// weigh fills e from the sound around a pluck.
func (a *Analyser) weigh(e *evidence, stage int, w *waiting, b4 before) {
	onset, flux := w.onset, w.flux
	size := stages[stage]
	e.stage = stage
	old := min(stage, longestBefore)
	m := a.mix[old]
	m.explain(a.at(onset-stages[old], onset))
	wasFirst := e.firstPartials(m)
	for p := range e.was {
		e.was[p] = m.strength(lowestPitch + p)
	}
	m = a.mix[stage]
	from, to := onset-lead, onset-lead+size
	m.explain(a.at(from, to))
	first := e.firstPartials(m)
	e.all = 1e-9
	top, novel := 0.0, 0.0
	for p := range e.novel {
		s := m.strength(lowestPitch + p)
		e.strength[p] = s
		e.novel[p] = math.Max(0, s-ringing*e.was[p])
		top = math.Max(top, e.novel[p])
		novel += e.novel[p]
		e.all += s
	}
	a.ring.foretell(a, onset, b4.pitch)
	e.held = a.ring.leave(a.lowAt(onset+guard, to), a.alone[:to-onset-guard])
	e.broken = between(-3, math.Log((energy(a.alone[:to-onset-guard])+1e-9)/(energy(a.lowAt(onset+guard, to))+1e-9)), 1)
	a.fresh.fill(a.alone[:to-onset-guard])
	freshBest := math.Max(a.fresh.best, 0.05)
	a.period.fill(a.lowAt(onset+guard, to))
	best := math.Max(a.period.best, 0.05)
	a.likely(e, stage, onset, to)
	eps := 0.02*top + 1e-9
	lower, held := 0.0, 0.0
	second, third, high := e.chordal()
	strong := math.Min(4, flux) / 4
	sharp := between(-1, math.Log(w.sharp+1e-3), 5) / 5
	for p := range BassHigh - lowestPitch + 1 {
		if b := p + lowestPitch - BassLow; b >= 0 {
			n := e.novel[p]
			repeat, pitch := a.period.near(float64(BassLow+b) + a.tuning)
			half, _ := a.period.near(float64(BassLow+b+12) + a.tuning)
			e.cents[b] = 100 * (pitch - float64(BassLow+b))
			alone, _ := a.fresh.near(float64(BassLow+b) + a.tuning)
			again := 0.0
			if BassLow+b == b4.pitch {
				again = b4.recent
			}
			above := math.Min(1, (novel-lower-n)/(top+eps)/4)
			holds, over := 0.0, 0.0
			if b4.pitch != 0 && b4.pitch < BassLow+b {
				over = e.held
				q := b4.pitch - lowestPitch
				holds = math.Min(1.5, (e.strength[q]+eps)/(e.was[q]+eps))
			}
			e.of[b] = [features]float64{
				math.Log((n + eps) / (top + eps)),                             // how new, against the newest pitch
				e.strength[p] / e.all,                                         // its share of the sound
				between(-1, math.Log((e.strength[p]+eps)/(e.was[p]+eps)), 2),  // its rise
				lower / (top + eps),                                           // what is new below it
				math.Min(2, math.Max(e.novelAt(p-1), e.novelAt(p+1))/(n+eps)), // its neighbours
				math.Min(2, e.novelAt(p-12)/(n+eps)),                          // the octave below
				math.Min(2, e.novelAt(p+12)/(n+eps)),                          // the octave above
				between(-2, math.Log((first[b]+1e-7)/(wasFirst[b]+1e-7)), 3),  // rise of its first partial
				repeat,          // how well its period repeats
				repeat / best,   // against the best period
				half / best,     // half its period against the best
				float64(b) / 12, // its height
				between(0, math.Log((first[b]+1e-7)/(strongest(m, BassLow+b)+1e-7))+4, 4), // its first partial against its strongest
				held / e.all,  // what rings on below it
				again,         // it was plucked just now
				above,         // what is new above it
				holds,         // whether a lower bass note rings on
				holds * above, // with new notes above: an offbeat chord
				math.Min(2, holds*e.strength[max(0, b4.pitch-lowestPitch)]/(e.strength[p]+eps)), // how strongly it does
				above * float64(b) / 12, // high, with notes above: a chord's lowest
				alone,                   // its period without what rang before
				alone / freshBest,       // against the best of those
				oddness(m, BassLow+b),   // odd against even partials
				e.likely.chance[b],      // how likely it is a harmonic tone
				e.fresh.chance[b],       // with what rang before ringing on
				e.fresh.far[b],
				over,                                // whether the note before rings on as foretold, below this one
				over * above,                        // with new notes above
				e.fresh.chance[b] * float64(b) / 12, // a high note's period is heard sooner
				alone * float64(b) / 12,
				repeat / best * float64(b) / 12,
			}
		}
		lower += e.novel[p]
		held += math.Min(e.was[p], e.strength[p])
	}
	e.rise = between(-1, math.Log((energy(a.lowAt(from, to))+1e-9)/(energy(a.lowAt(onset-frame, onset))+1e-9)), 3)
	swell, glide := a.unlikeAPluck(onset, to)
	e.none = [features]float64{
		1,
		flux,
		math.Min(3, flux) * novel / e.all,
		novel / e.all,
		best,
		held / e.all,
		b4.recent,
		noneSecond: second / (top + eps),
		noneThird:  third / (top + eps),
		noneGain:   between(-1, math.Log((energy(a.at(from, to))+1e-9)/(energy(a.at(onset-frame, onset))+1e-9)), 3),
		e.rise,
		strong * e.rise,
		strong * (1 - second/(top+eps)),
		noneHigh: high / (novel + 1e-9),
		e.held,
		e.held * high / (novel + 1e-9),
		e.held * strong,
		e.held * e.rise,
		e.broken,
		e.broken * strong,
		sharp,
		sharp * strong,
		swell,
		glide,
	}
}

// unlikeAPluck says how a sound differs from a plucked string: by how much its second
// half is louder than its first, as a logarithm, and how much of a semitone its pitch
// glides from the one to the other, 2 where one of them has none.
func (a *Analyser) unlikeAPluck(onset, to int) (swell, glide float64) {
	x := a.lowAt(onset+guard, to)
	half := len(x) / 2
	swell = between(-2, math.Log((energy(x[half:])+1e-9)/(energy(x[:half])+1e-9)), 2)
	if half < glideLength {
		return swell, 0
	}
	a.half.fill(x[:half])
	first := a.half.lag()
	a.half.fill(x[half:])
	second := a.half.lag()
	if first == 0 || second == 0 {
		return swell, 2
	}
	return swell, math.Min(2, math.Abs(12*math.Log2(float64(first)/float64(second))))
}

// glideLength is the least half, in analysis samples, in which a glide is measured: 58
// ms.
const glideLength = 700

// The places in evidence.none that say something of chords too.
const (
	noneFlux   = 1
	noneSecond = 7 // the second newest pitch that is no overtone, against the newest
	noneThird  = 8
	noneGain   = 9  // rise of the whole sound
	noneHigh   = 13 // what is new above the bass's range
)

// energy is the mean square of x.
func energy(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v * v
	}
	return s / float64(len(x))
}

// chordal returns the strengths of the second and third strongest novel pitches
// that are no overtones or neighbours of a stronger one, and of all above the bass.
func (e *evidence) chordal() (second, third, high float64) {
	var picked [3]int
	var v [3]float64
	for k := range picked {
		picked[k] = -1
		for p, n := range e.novel {
			if n <= v[k] {
				continue
			}
			free := true
			for _, q := range picked[:k] {
				d := p - q
				if d < 0 {
					d = -d
				}
				if d <= 1 || overtone(d) {
					free = false
				}
			}
			if free {
				picked[k], v[k] = p, n
			}
		}
		if picked[k] < 0 {
			break
		}
	}
	for _, n := range e.novel[BassHigh+1-lowestPitch:] {
		high += n
	}
	return v[1], v[2], high
}

func (e *evidence) novelAt(p int) float64 {
	if p < 0 || p >= pitches {
		return 0
	}
	return e.novel[p]
}

// firstPartials returns the amplitude at each bass note's own frequency.
func (e *evidence) firstPartials(m *mixture) (f [basses]float64) {
	for b := range f {
		f[b] = m.amplitude(frequency(float64(BassLow + b)))
	}
	return f
}

// oddness compares a pitch's odd partials with its even ones, as a logarithm:
// far below 0 for a pitch that is only the octave below another.
func oddness(m *mixture, pitch int) float64 {
	f, odd, even := frequency(float64(pitch)), 1e-7, 1e-7
	for k := 1; k <= 5; k += 2 {
		odd += m.amplitude(float64(k) * f)
		even += m.amplitude(float64(k+1) * f)
	}
	return between(-2.5, math.Log(odd/even), 2.5)
}

// strongest is the highest amplitude of a pitch's first five partials.
func strongest(m *mixture, pitch int) float64 {
	f, v := frequency(float64(pitch)), 0.0
	for k := 1; k <= 5; k++ {
		v = math.Max(v, m.amplitude(float64(k)*f))
	}
	return v
}

func between(low, x, high float64) float64 { return math.Max(low, math.Min(high, x)) }

// likely fills in the likelihoods, as long as the sound is mostly one note's: a
// chord's notes together look like a note far below them.
func (a *Analyser) likely(e *evidence, stage, onset, to int) {
	if stage > lastHarmonic {
		e.likely, e.fresh = likelihoods{}, likelihoods{}
		return
	}
	h := a.harmonics[stage]
	heard := a.lowAt(onset+guard, to)
	x := a.alone[:h.size]
	for i := range x {
		x[i] = heard[i*thinned]
	}
	h.likely(x, nil, &e.likely)
	if e.fresh = e.likely; a.ring.partials == 0 {
		return
	}
	for i := range x {
		x[i] = heard[i*thinned]
	}
	h.likely(x, a.ring.from(x), &e.fresh)
}
