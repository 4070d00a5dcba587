package hearing

import (
	"fmt"
	"math"
)

const (
	// past is how much cleaned sound is kept, in analysis samples: 0.68 s.
	past = 8192

	// judgeStep is how often, in samples, plucks are looked at: each 1.3 ms.
	judgeStep = hop / 4

	// pluckFlux is the flux from which an onset is a pluck beyond doubt, which
	// ends the judging of the one before.
	pluckFlux = 2.5

	// tellAt is the chance from which a note is told before all is heard. Over
	// unseen lines without chords 3 in 100 first tellings are revised and 6
	// withdrawn, most of those for what was no pluck.
	tellAt = 0.5
	// tellLate is the same after lateStage, where it is told as unsure.
	tellLate = 0.4

	// In the first stages, to 29 ms, a note from hasty (G3) on is told from the
	// chance sureHigh on: of those less likely one in seven is a chord's, whose bass
	// has sounded for no more than two periods by then.
	hastyStages = 2
	hasty       = 55
	sureHigh    = 0.85

	// maxWaiting plucks are judged at once; 200 ms hold no more.
	maxWaiting = 8

	// recentFall is the time in which a note before is forgotten by e, in s.
	recentFall = 0.12
)

// MinRate and MaxRate are the sampling rates an Analyser takes, in Hz.
const (
	MinRate = 8000
	MaxRate = 192000
)

// Analyser hears the notes in a stream of sound. Use one for each stream, from
// one goroutine at a time. Pushing allocates nothing as long as the caller's
// event slice has room.
type Analyser struct {
	resampler *resampler
	cleaner   cleaner
	low       [2]biquad // below these the period is measured
	clean     []float64 // the last cleaned samples
	lowed     []float64 // and the same without highs
	start     int       // number of clean[0], counted in analysis samples
	n         int       // analysis samples so far
	onsets    *onsetDetector
	period    period
	fresh     period
	half      period
	alone     [2400]float64
	mix       [len(stages)]*mixture
	harmonics [lastHarmonic + 1]*harmonics
	ring      ringer
	continues continuity
	evidence  evidence
	waiting   []waiting
	sounding  []sounding
	last      before
	lastOnset int
	nextID    int
	gate      float64     // level below which nothing is a pluck, dB
	tuning    float64     // of the guitar above A4 = 440 Hz, semitones
	heard     tuned       // what the last notes say of it
	clicks    [16]float64 // known times of the click, in the stream
	click     int
	events    []Event
	study     *study // nil but where the weights are fitted
}

// study looks on while a recording whose notes are known is heard, to fit the
// weights: played returns the bass note before an onset and how long before, in
// seconds, and saw takes the evidence.
type study struct {
	played func(onset float64) (midi int, ago float64)
	saw    func(onset float64, e *evidence)
}

// waiting is a pluck that is being judged.
type waiting struct {
	onset   int
	flux    float64
	sharp   float64 // how steeply its attack rises
	stage   int     // stages judged so far
	chances chances
	earlier [len(stages)]chances // those of each stage judged
	note    Note                 // as told so far, MIDI 0 if not told
	id      int
	chord   chordHeard
	before  int     // the bass note before, 0 for none
	held    float64 // how much of it rings on
	next    int     // the pluck after it, 0 for none
	handed  bool    // whether its note has been handed on
	again   bool    // whether it is the note before struck again
	lifted  bool    // and would be none else
	struck  bool    // whether it was at a stage but the last, when a short chord may have ended
	maybe   float64 // the chance of that, the most of all stages
}

// ends is where a pluck's own sound ends, as far as it has come.
func (a *Analyser) ends(w *waiting) int {
	if w.next != 0 {
		return min(w.next, a.n)
	}
	return min(w.onset+stages[len(stages)-1], a.n)
}

// New returns an analyser for one channel of sound at a sampling rate in Hz.
func New(rate int) (*Analyser, error) {
	if rate < MinRate || rate > MaxRate {
		return nil, fmt.Errorf("%d samples a second: %d to %d would do", rate, MinRate, MaxRate)
	}
	a := &Analyser{
		resampler: newResampler(rate),
		cleaner:   newCleaner(),
		// a fourth-order Butterworth low-pass
		low:     [2]biquad{lowPass(900, 0.541), lowPass(900, 1.307)},
		clean:   make([]float64, past, 2*past),
		lowed:   make([]float64, past, 2*past),
		start:   -past,
		onsets:  newOnsetDetector(),
		gate:    leastLevel,
		waiting: make([]waiting, 0, maxWaiting),
	}
	a.sounding = make([]sounding, 0, 1+maxChord)
	for i := range a.clicks {
		a.clicks[i] = math.Inf(-1)
	}
	t := tablesOf(0)
	for i, size := range stages {
		a.mix[i] = newMixture(size, t.templates[i])
	}
	a.harmonics = t.harmonics
	a.ring.onset = -1
	return a, nil
}

// Push takes the next block of samples, of any length, full scale −1 to 1, and
// appends what is heard by then to events, which it returns.
func (a *Analyser) Push(block []float32, events []Event) []Event {
	a.events = events
	for _, v := range block {
		a.resampler.push(float64(v), a.take)
	}
	events, a.events = a.events, nil
	return events
}

// Flush ends the stream: what is still being judged is settled and what still
// sounds ends.
func (a *Analyser) Flush(events []Event) []Event {
	a.events = events
	for range stages[len(stages)-1] + guard + frame {
		a.take(0)
	}
	for i := range a.waiting {
		a.settle(&a.waiting[i])
	}
	a.waiting = a.waiting[:0]
	for i := range a.sounding {
		a.end(&a.sounding[i], a.n)
	}
	a.sounding = a.sounding[:0]
	events, a.events = a.events, nil
	return events
}

// at returns cleaned samples by their numbers.
func (a *Analyser) at(from, to int) []float64 { return a.clean[from-a.start : to-a.start] }

// lowAt returns them without highs.
func (a *Analyser) lowAt(from, to int) []float64 { return a.lowed[from-a.start : to-a.start] }

// seconds is the time in the stream of an analysis sample.
func (a *Analyser) seconds(n int) float64 { return float64(n)/analysisRate - a.resampler.delay }

// take takes one analysis sample.
func (a *Analyser) take(v float64) {
	if len(a.clean) == cap(a.clean) {
		copy(a.clean, a.clean[past:])
		copy(a.lowed, a.lowed[past:])
		a.clean, a.lowed = a.clean[:past], a.lowed[:past]
		a.start += past
	}
	v = a.cleaner.step(v)
	a.clean = append(a.clean, v)
	a.lowed = append(a.lowed, a.low[1].step(a.low[0].step(v)))
	a.n++
	if a.n%judgeStep != 0 {
		return
	}
	if a.n%hop != 0 {
		a.judge()
		return
	}
	flux, ok := a.onsets.step(a.at(a.n-frame, a.n))
	if ok && decibels(energy(a.at(a.n-frame, a.n))) > a.gate {
		onset, sharp := a.attack(a.n - hop - frame/2)
		a.plucked(onset, flux, sharp)
	}
	a.judge()
	a.follow()
}

// plucked begins the judging of an onset.
func (a *Analyser) plucked(onset int, flux, sharp float64) {
	if i := len(a.waiting) - 1; i >= 0 && onset-a.waiting[i].onset <= leastGap*hop {
		if w := &a.waiting[i]; w.note.MIDI != 0 { // it was the stir before this pluck
			a.emit(Withdrawn, w.id, w.note)
		}
		a.waiting = a.waiting[:i]
	}
	full := len(a.waiting) == maxWaiting
	if flux > pluckFlux || full {
		for i := range a.waiting {
			a.waiting[i].cut(onset)
			a.waiting[i].next = onset
			a.settle(&a.waiting[i])
		}
		a.waiting = a.waiting[:0]
	}
	a.waiting = append(a.waiting, waiting{onset: onset, flux: flux, sharp: sharp})
}

// cut takes back what was judged from sound beyond the next pluck, which was seen
// only some time after it came.
func (w *waiting) cut(next int) {
	for w.stage > 1 && w.onset-lead+stages[w.stage-1] > next+lead {
		w.stage--
		w.chances = w.earlier[w.stage-1]
	}
}

// judge weighs the waiting plucks for which enough has been heard.
func (a *Analyser) judge() {
	kept := 0
	for i := range a.waiting {
		w := &a.waiting[i]
		for w.stage < len(stages) && a.n >= w.onset-lead+stages[w.stage] {
			b4 := a.noteBefore(i)
			a.weigh(&a.evidence, w.stage, w, b4)
			w.chances.judge(&a.evidence, &fitted[w.stage])
			a.again(w, b4)
			if a.study != nil {
				a.study.saw(a.seconds(w.onset), &a.evidence)
			}
			a.doubt(w, b4)
			w.earlier[w.stage] = w.chances
			w.stage++
			w.chord.hear(&a.evidence, w.chances.bass())
			w.before, w.held = b4.pitch, a.evidence.held
			a.tell(w)
		}
		if w.stage == len(stages) {
			a.settle(w)
			continue
		}
		if kept != i {
			a.waiting[kept] = *w
		}
		kept++
	}
	a.waiting = a.waiting[:kept]
}

// Click tells the analyser that the program's own click sounds at a time in the
// stream, in seconds, as soon as it is known. The last few are remembered.
func (a *Analyser) Click(at float64) {
	a.clicks[a.click] = at
	a.click = (a.click + 1) % len(a.clicks)
}

// clicked tells whether an onset lies where a click is known to sound: from 10
// ms before, for the onset's own spread, to 40 ms after, for the way through
// the air and the device.
func (a *Analyser) clicked(onset int) bool {
	at := a.seconds(onset)
	for _, c := range a.clicks {
		if at > c-0.010 && at < c+0.040 {
			return true
		}
	}
	return false
}

// tell sends news of a pluck that has been judged once more.
func (a *Analyser) tell(w *waiting) {
	midi, chance := w.chances.best()
	told := w.note.MIDI
	if midi != told {
		if chance < w.tellable(midi) {
			return
		}
		if told == 0 && w.stage <= hastyStages && midi >= hasty && chance < sureHigh {
			return
		}
		kind := Began
		switch {
		case midi == 0:
			kind = Withdrawn
		case told != 0:
			kind = Revised
		default:
			a.name(w)
		}
		a.note(w, midi)
		a.emit(kind, w.id, w.note)
		w.handed = kind != Withdrawn && w.note.Confidence >= SureToTell
		if kind == Withdrawn {
			w.note = Note{}
		}
	}
	if midi != 0 && !w.handed && chance >= w.sureEnough(midi) {
		w.handed = true
		a.note(w, midi)
		a.emit(Surer, w.id, w.note)
	}
}

// tellable is the chance from which a note, or that there was none, is told.
func (w *waiting) tellable(midi int) float64 {
	late := w.stage > lateStage && midi != 0
	switch {
	case w.strums(midi) && late:
		return likelyBass
	case w.strums(midi):
		return sureBass
	case late:
		return tellLate
	}
	return tellAt
}

// sureEnough is the chance from which a note is handed on: less the more has been heard,
// since what is heard later seldom changes it.
func (w *waiting) sureEnough(midi int) float64 {
	switch {
	case w.stage > lateStage:
		return 0
	case w.strums(midi) && w.stage < lateStage:
		return 1
	case w.strums(midi):
		return sureBass
	case w.stage < lateStage:
		return SureToTell
	case w.chord.chance >= 0.5:
		return lateUnderChord
	}
	return likelyBass
}

// certain is how sure a note is at a chance: one that may as well be a chord's proves
// nothing alone.
func (w *waiting) certain(midi int, chance float64) float64 {
	least := lateUnderChord
	if w.stage == len(stages) {
		least = sureUnderChord
	}
	if w.strums(midi) && chance < sureBass || w.chord.chance >= 0.5 && chance < least {
		return math.Min(chance, alone)
	}
	return chance
}

const (
	// lateStage is the number of stages, 107 ms, from which less is enough: likelyBass, or
	// lateUnderChord where a chord sounds too. One stage later a note is handed on as sure
	// as it is.
	lateStage      = 9
	lateUnderChord = 0.65
	// sureUnderChord is the chance below which a note under a chord is unsure when all of it
	// has been heard.
	sureUnderChord = 0.75
)

// name gives a pluck its number.
func (a *Analyser) name(w *waiting) {
	w.id = a.nextID
	a.nextID++
}

// note writes down what is known of a pluck's bass note.
func (a *Analyser) note(w *waiting, midi int) {
	w.note.Onset = a.seconds(w.onset)
	w.note.Told = float64(a.n) / analysisRate
	w.note.Level = a.level(w.onset)
	if midi != 0 {
		b := midi - BassLow
		w.note.MIDI, w.note.Confidence, w.note.Cents = midi, w.certain(midi, w.chances[b]), a.evidence.cents[b]
	}
}

// settle makes what is known of a pluck final.
func (a *Analyser) settle(w *waiting) {
	if w.stage == 0 {
		return
	}
	midi, chance := w.chances.best()
	strum := w.strums(midi)
	if strum && chance < likelyBass {
		midi = 0
	}
	switch {
	case midi == 0:
		if w.note.MIDI != 0 {
			a.emit(Withdrawn, w.id, w.note)
		}
		if b, chance := w.chances.bestNote(); w.maybe >= maybeAgain && (w.maybe >= chance || b == w.before) {
			a.name(w)
			a.note(w, w.before)
			w.note.Confidence, w.note.Again = math.Min(w.maybe, alone), w.maybe
			a.emit(Doubted, w.id, w.note)
		} else if chance >= doubtAt {
			a.name(w)
			a.note(w, b)
			w.note.Confidence = math.Min(chance, alone)
			a.emit(Doubted, w.id, w.note)
		}
	default:
		if w.note.MIDI == 0 {
			a.name(w)
			a.note(w, midi)
			a.emit(Began, w.id, w.note)
		} else if w.note.MIDI != midi {
			a.note(w, midi)
			a.emit(Revised, w.id, w.note)
		}
		certain := w.certain(midi, chance)
		if !w.handed || w.note.Confidence < sure && certain >= sure {
			w.note.Told = float64(a.n) / analysisRate
		}
		w.note.Confidence = certain
		w.note.Rival, w.note.RivalChance = w.chances.rival(midi)
		if cents, ok := a.ringCents(midi, w.onset+settledFrom, a.ends(w)); ok {
			w.note.Cents, w.note.ring = cents, true
		}
		a.emit(Settled, w.id, w.note)
		a.last.pitch, a.lastOnset = midi, w.onset
		a.sound(w.id, w.note, w.onset, w.lifted)
	}
	a.settleChord(w)
}

// strums tells whether a note may as well be the lowest of a chord struck over
// the bass note before, which rings on below it as if nothing had been plucked.
func (w *waiting) strums(midi int) bool {
	return w.before != 0 && midi > w.before && w.held >= ringsOn && w.chord.chance >= 0.5
}

const (
	// ringsOn is the part of a note that is found to ring on from which it does.
	ringsOn = 0.4
	// doubtAt is the chance from which a note that is none is told as a doubt.
	doubtAt = 0.1
	// likelyBass is the chance below which a note over one that rings on, with a
	// chord, is none of the bass, and sureBass that below which it is unsure.
	// Over lines with chords off the beat that takes or doubts half of what was
	// heard too much, and one in two hundred of what was played.
	likelyBass = 0.6
	sureBass   = 0.8
)

func (a *Analyser) emit(k Kind, id int, n Note) {
	a.events = append(a.events, Event{Kind: k, ID: id, Note: n})
}

// level is the loudness of the 53 ms from a sample on, in dB of full scale.
func (a *Analyser) level(from int) float64 {
	return decibels(energy(a.at(from, min(from+10*hop, a.n))))
}

// bass returns the likeliest bass note, 0 for none.
func (c *chances) bass() int {
	midi, _ := c.best()
	return midi
}
