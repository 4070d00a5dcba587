package take

import (
	"cmp"
	"math"
	"slices"
	"time"

	"footfall/fretboard"
)

// Fit is how a take lies against what was asked as a whole: what is one thing
// all through it is told once, and what is left is graded note by note.
type Fit struct {
	// Offset is how late the take is, early below 0: all through it, or at its
	// beginning where the tempo is another. It stays within half a beat.
	Offset time.Duration
	// TempoRatio is the tempo played to the tempo asked: 1.02 is 2 % fast.
	TempoRatio float64
	// Slips are the places from which on the player was whole beats elsewhere, in
	// order.
	Slips []Slip
	// Swing is how much later than asked the offbeats are, as a part of the beat.
	Swing float64
	// StoppedBar is the last bar that was played, 0 if the take goes on to the end.
	StoppedBar int
}

// Slip is a place from which on a player was some beats elsewhere.
type Slip struct {
	// Bar, through the form, is the first that is moved.
	Bar int `json:"bar"`
	// Beats is how many were dropped, below 0, or how many late the player was. It
	// is whole but where a player stopped and went on at a time of their own.
	Beats float64 `json:"beats"`
	// bar is how many beats the bar has, 0 where that is not known.
	perBar float64
}

// noFit is that of a take too short to tell, or played as asked.
var noFit = Fit{TempoRatio: 1}

const (
	// fewestAnchors are the notes that a delay is told from, and fewestForTempo
	// those for a tempo; fewestOff those on the offbeat for a swing ratio.
	fewestAnchors  = 6
	fewestForTempo = 12
	fewestOff      = 4
	// loosest is how far a tempo may be off to be followed, as a part of it, and
	// steady how far it may waver once that is taken off.
	loosest = 0.12
	steady  = 0.03
	// goodRow is the part of a take that must be found at about the tempo asked for
	// no other to be looked for.
	goodRow = 0.7
	// nearTempo is how far a tempo may be off for a row found at the one asked for.
	nearTempo = 0.01
	// tempoBeats is how many beats from the beginning the tempo is first sought in.
	tempoBeats = 128
	// nearBeat is how far from its place, in beats, a note may lie to tell of delay,
	// tempo and swing: farther off it is rather another.
	nearBeat = 0.35
	// A slip is told to be of whole beats by fewestAround to mostAround notes on either
	// side, where they lie within ownTime of that, in beats.
	fewestAround, mostAround = 4, 12
	ownTime                  = 0.25
	// slipGain is how many more notes must be right for each slip that is told.
	slipGain = 3
	// leastRight is the least part of a take that must be right for a fit to be told.
	leastRight = 0.3
	// leastSlipped is the same where there are slips.
	leastSlipped = 0.5
)

// aligned is a fit applied to what was expected.
type aligned struct {
	Fit
	// due is when each event falls in the player's own time, and skipped says which
	// stood in beats that were dropped.
	due     []time.Duration
	skipped []bool
}

// asAsked is what was expected at its own time.
func asAsked(expected []Expected) aligned {
	al := aligned{Fit: noFit, due: make([]time.Duration, len(expected)), skipped: make([]bool, len(expected))}
	for i := range expected {
		al.due[i] = expected[i].Time
	}
	return al
}

// fitted finds the one delay, tempo, swing and row of slips under which most of
// what was played is what was expected. Both are in order of time.
//
// Notes are chained as seeds are in aligning sequences (Li, "Minimap2", 2018):
// pairs of the same pitch class, each with a lag, are put in the row that gives the
// most pairs, where a lag that changes by whole beats has a price. The lags of
// that row are then fitted by least squares with Huber's weights ("Robust
// Estimation of a Location Parameter", 1964).
func fitted(expected []Expected, played []Played, strums []Strum) aligned {
	al := asAsked(expected)
	points := pointsOf(expected)
	if len(points) < fewestAnchors || len(played)+len(strums) < fewestAnchors {
		return al
	}
	m := model{stretch: 1}
	row := chain(points, played, 1, steady)
	if float64(len(row)) < goodRow*float64(min(len(points), len(played))) { // rather another tempo
		first, _ := slices.BinarySearchFunc(points, points[0].x+tempoBeats*points[0].beat, func(p point, x float64) int { return cmp.Compare(p.x, x) })
		if loose := chain(points[:first], played, 1, loosest); len(loose) >= fewestForTempo {
			other, anchors := model{stretch: 1}, anchorsOf(loose, points, played)
			slipsOf(loose, anchors, 0)
			other.solve(anchors, true)
			if again := chain(points, played, other.stretch, steady); len(again) > len(row) {
				m.stretch, row = other.stretch, again
			}
		}
	}
	if len(row) < fewestAnchors {
		return al
	}
	m.follow(row, points, played)
	if stretch := m.stretch; math.Abs(stretch-1) > nearTempo { // what was far off may have been out of reach
		again := chain(points, played, stretch, steady)
		m = model{stretch: stretch}
		m.follow(again, points, played)
	}
	m.place(expected, played)
	for range 2 { // the second time by what the first has moved
		anchors := m.anchors(expected, played, strums)
		if len(anchors) < fewestAnchors {
			return al
		}
		m.solve(anchors, len(anchors) >= fewestForTempo)
	}
	m.halfBeats(points[0].beat)
	for i := len(expected) - 1; i >= 0; i-- {
		al.due[i], al.skipped[i] = inDuration(m.timeOf(&expected[i])), m.skips(&expected[i])
		if i+1 < len(expected) {
			al.due[i] = min(al.due[i], al.due[i+1])
		}
	}
	al.Fit = m.fit(expected)
	return al
}

// follow fits a row that was found at the model's stretch.
func (m *model) follow(row []link, points []point, played []Played) []anchor {
	anchors := anchorsOf(row, points, played)
	*m = model{slips: slipsOf(row, anchors, m.stretch)}
	m.solve(anchors, len(row) >= fewestForTempo)
	return anchors
}

// point is an expected note that is looked for: that of the bass or, where there
// is hardly a bass, the lowest of each strike. x is its time in seconds, beat the
// length of its beat.
type point struct {
	event   int
	x, beat float64
	off     float64 // 1 on the offbeat, else 0
	midi    int
}

func pointsOf(expected []Expected) (points []point) {
	strikes := false
	for {
		for i := range expected {
			e := &expected[i]
			if e.Beat <= 0 || (e.Kind == fretboard.ShapeEvent) != strikes {
				continue
			}
			lowest := math.MaxInt
			for _, w := range append(slices.Clip(e.Free), e.Notes...) {
				lowest = min(lowest, w.MIDI)
			}
			points = append(points, point{i, e.Time.Seconds(), e.Beat.Seconds(), offOf(e), lowest})
		}
		if strikes || len(points) >= fewestAnchors {
			return points
		}
		points, strikes = points[:0], true
	}
}

// anchor is something played that tells of the fit: x is where it was asked for,
// slips counted in, and at when it came, in seconds.
type anchor struct {
	event       int
	x, at, beat float64
	off         float64 // 1 on the offbeat, else 0
	weight      float64
}

// model is the fit in seconds: what was asked for at x comes at
// delay + stretch·(x + slips) + swing·beat on the offbeat, and the bend.
type model struct {
	delay, stretch, swing float64
	slips                 []slip
	bendAt, bends         []float64
}

// slip is a Slip in seconds of the time asked: what was asked for from from on comes
// shift later, and what was asked for from skip to from is left out. The first event
// that is moved is known to lie after after.
type slip struct {
	after, from, skip float64
	shift, beat       float64
}

func (m *model) shifted(x float64) float64 {
	y := x
	for _, s := range m.slips {
		if x >= s.from-1e-6 {
			y += s.shift
		}
	}
	return y
}

func (m *model) timeOf(e *Expected) float64 {
	y := m.shifted(e.Time.Seconds())
	return m.delay + m.stretch*y + m.bendOf(y) + m.swing*offOf(e)*e.Beat.Seconds()
}

func (m *model) skips(e *Expected) bool {
	x := e.Time.Seconds()
	for _, s := range m.slips {
		if x >= s.skip-1e-6 && x < s.from-1e-6 {
			return true
		}
	}
	return false
}

// offOf is 1 for an event that lies where the swing ratio puts it, else 0.
func offOf(e *Expected) float64 {
	if e.At.Off {
		return 1
	}
	return 0
}

// anchorsOf are the pairs of a row.
func anchorsOf(row []link, points []point, played []Played) []anchor {
	anchors := make([]anchor, len(row))
	for i, l := range row {
		p := points[l.point]
		anchors[i] = anchor{event: p.event, x: p.x, at: played[l.played].Time.Seconds(), beat: p.beat, off: p.off}
	}
	return anchors
}

// slipsOf are the slips of a row, their places still between two pairs; anchors are
// moved by them. Where, at a known stretch, what comes before and after a slip agrees
// with no whole number of beats, the player went on at a time of their own.
func slipsOf(row []link, anchors []anchor, stretch float64) (slips []slip) {
	var at []int // where in the row
	for i, l := range row {
		if l.slip != 0 {
			at = append(at, i)
		}
	}
	for k, i := range at {
		a := &anchors[i]
		s := slip{after: math.Inf(-1), from: a.x, skip: a.x, shift: row[i].slip, beat: a.beat}
		if i > 0 {
			s.after = anchors[i-1].x
		}
		if i > 0 && stretch > 0 {
			first, last := 0, len(row)
			if k > 0 {
				first = at[k-1]
			}
			if k+1 < len(at) {
				last = at[k+1]
			}
			before, ok1 := lagOf(anchors[max(first, i-mostAround):i], stretch)
			after, ok2 := lagOf(anchors[i:min(last, i+mostAround)], stretch)
			if d := (after - before) / stretch; ok1 && ok2 && math.Abs(d-s.shift) > ownTime*s.beat {
				s.shift = d
			}
		}
		slips = append(slips, s)
	}
	for k, i := range at {
		for j := i; j < len(anchors); j++ {
			anchors[j].x += slips[k].shift
		}
	}
	return slips
}

// lagOf is the median lag of anchors on the beat, if they are enough to tell.
func lagOf(anchors []anchor, stretch float64) (lag float64, ok bool) {
	var lags []float64
	for _, a := range anchors {
		if a.off == 0 {
			lags = append(lags, a.at-stretch*a.x)
		}
	}
	if len(lags) < fewestAround {
		return 0, false
	}
	slices.Sort(lags)
	return lags[len(lags)/2], true
}

// anchors pairs all that was expected with what was played near where the model
// has it, at whatever pitch class it is asked for.
func (m *model) anchors(expected []Expected, played []Played, strums []Strum) []anchor {
	var slots []slot
	var struck []int
	for i := range expected {
		e := &expected[i]
		if e.Beat <= 0 || m.skips(e) {
			continue
		}
		due, far := m.timeOf(e), nearBeat*e.Beat.Seconds()
		at := slot{event: i, due: inDuration(due), lo: inDuration(due - far), hi: inDuration(due + far)}
		if e.Kind == fretboard.ShapeEvent && len(strums) > 0 {
			struck = append(struck, i)
			continue
		}
		for _, w := range e.Notes {
			at.want = w
			slots = append(slots, at)
		}
	}
	inOrder(slots)
	pairs := &aligner{played: played, taken: make([]bool, len(played))}
	for j, p := range played {
		pairs.taken[j] = p.Unsure()
	}
	var anchors []anchor
	add := func(event int, at time.Duration) {
		e := &expected[event]
		anchors = append(anchors, anchor{event: event, x: m.shifted(e.Time.Seconds()), at: at.Seconds(), beat: e.Beat.Seconds(), off: offOf(e)})
	}
	pairs.align(slots, make([]bool, len(slots)), byPitch, apart, func(s, p int) { add(slots[s].event, played[p].Time) })
	for _, i := range struck {
		if offOf(&expected[i]) == 0 {
			continue // the bass note there says as much
		}
		due := inDuration(m.timeOf(&expected[i]))
		best := time.Duration(nearBeat * float64(expected[i].Beat))
		var at time.Duration
		found := false
		for _, s := range strums {
			if d := (s.Time - due).Abs(); d < best {
				best, at, found = d, s.Time, true
			}
		}
		if found {
			add(i, at)
		}
	}
	slices.SortStableFunc(anchors, func(a, b anchor) int { return a.event - b.event })
	return anchors
}

// place finds, between the pairs that tell of each slip, the first event that is
// moved: the one from which on most of what was played lies where it is due.
func (m *model) place(expected []Expected, played []Played) {
	near := func(t, beat float64) bool {
		d := inDuration(t)
		i, _ := slices.BinarySearchFunc(played, d, before)
		reach := inDuration(min(0.05, 0.2*beat))
		return i < len(played) && played[i].Time-d <= reach || i > 0 && d-played[i-1].Time <= reach
	}
	for k := range m.slips {
		s := &m.slips[k]
		dropped := max(0, -s.shift)
		best, last, bestFrom := -1, s.from, s.from
		for c := range expected {
			from := expected[c].Time.Seconds()
			if from <= s.after+dropped+1e-6 || from > last+1e-6 {
				continue
			}
			s.from, s.skip = from, from-dropped
			count := 0
			for i := range expected {
				e := &expected[i]
				if x := e.Time.Seconds(); x > s.after && x < last && e.Kind == fretboard.BassEvent && !m.skips(e) && near(m.timeOf(e), s.beat) {
					count++
				}
			}
			if count >= best {
				best, bestFrom = count, from
			}
		}
		s.from, s.skip = bestFrom, bestFrom-dropped
	}
}

// halfBeats keeps the delay within half a beat: whole beats beyond are a slip at
// the beginning.
func (m *model) halfBeats(beat float64) {
	n := math.Round(m.delay / beat)
	if n == 0 {
		return
	}
	m.delay -= n * beat * m.stretch
	for i := range m.bendAt {
		m.bendAt[i] += n * beat
	}
	if len(m.slips) > 0 && math.IsInf(m.slips[0].after, -1) {
		m.slips[0].shift += n * beat
		if m.slips[0].shift == 0 {
			m.slips = m.slips[1:]
		}
		return
	}
	first := slip{after: math.Inf(-1), from: math.Inf(-1), skip: math.Inf(-1), shift: n * beat, beat: beat}
	m.slips = append([]slip{first}, m.slips...)
}

// fit tells the model as it is read.
func (m *model) fit(expected []Expected) Fit {
	f := Fit{Offset: inDuration(m.delay), TempoRatio: 1 / m.stretch, Swing: m.swing}
	for _, s := range m.slips {
		at := slices.IndexFunc(expected, func(e Expected) bool { return e.Time.Seconds() >= s.from-1e-6 })
		if at < 0 {
			continue
		}
		beats := math.Round(10*s.shift/s.beat) / 10
		f.Slips = append(f.Slips, Slip{Bar: expected[at].At.Bar, Beats: beats, perBar: beatsOfBar(expected, at)})
	}
	return f
}

// beatsOfBar counts the beats of the bar of an event by what is expected in it and
// on the first beat of a bar after it; 0 where that does not tell.
func beatsOfBar(expected []Expected, at int) float64 {
	e := &expected[at]
	start := e.Time - e.Into - time.Duration(e.At.Beat-1)*e.Beat
	for _, next := range expected[at:] {
		if next.At.Bar > e.At.Bar && e.Beat > 0 {
			line := next.Time - next.Into - time.Duration(next.At.Beat-1)*next.Beat
			return math.Round(float64(line-start) / float64(e.Beat) / float64(next.At.Bar-e.At.Bar))
		}
	}
	return 0
}

func inDuration(seconds float64) time.Duration {
	return time.Duration(math.Round(seconds * float64(time.Second)))
}

// findStop tells where a player stopped: after the last event that was played, if a
// bar or more is left of which nothing was.
func (sc *Score) findStop() {
	last := -1
	for i, o := range sc.Outcomes {
		if o.Verdict.Right() || o.Verdict.Wrong() || o.Verdict == Unsure || o.Outside != 0 {
			last = i
		}
	}
	if last < 0 || last+1 >= len(sc.Events) {
		return
	}
	e := &sc.Events[last]
	over := sc.due[last] + e.Beat
	for _, o := range sc.Outcomes[last+1:] {
		if o.Verdict != Missed {
			return
		}
	}
	for _, p := range sc.Played {
		if p.Time > over {
			return
		}
	}
	if end := sc.Events[len(sc.Events)-1].At; end.Bar > e.At.Bar+1 || end.Bar > e.At.Bar && end.Beat > 2 {
		sc.Fit.StoppedBar = e.At.Bar
	}
}
