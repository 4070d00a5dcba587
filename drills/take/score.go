package take

import (
	"cmp"
	"iter"
	"math"
	"slices"
	"time"

	"footfall/fretboard"
)

// Played is a note that was heard to begin. Time is from the start of the pass;
// MIDI is 0 to 127; String is 0 where it is not known.
type Played struct {
	Time   time.Duration
	MIDI   int
	String int
	// Doubt is the chance, 0 to 1, that there was no such note; 0 for inputs that
	// are sure, as MIDI is.
	Doubt float64
	// Velocity is how hard it was struck, over 0 to 1; 0 where that is not known.
	Velocity float64
	// Rival is another pitch that the sound may as well be, 0 for none. Where that
	// is what was asked for, the note is not called wrong; right it is only called
	// by MIDI.
	Rival int
	// Again is the chance, 0 to 1, that an unsure note is the one before struck again.
	// Where just that was asked for it counts as played: the score says whether there was
	// a pluck, never which note it was.
	Again float64
}

// Unsure says whether a note proves nothing: it is never right, wrong or extra.
func (p Played) Unsure() bool { return p.Doubt > 0.5 }

// Heard is what an input heard of a pass.
type Heard struct {
	// Notes and Strums are in any order.
	Notes  []Played
	Strums []Strum
	// ByEar is set where the input listens to sound: Strums then judge the strikes,
	// and Notes tell the bass alone.
	ByEar bool
	// Absent are the spans in which the input was away, in order.
	Absent []Span
}

// Span is a stretch of the pass, its end not included.
type Span struct{ From, To time.Duration }

// Verdict says how an expected note or event went.
type Verdict uint8

// The verdicts. Matched, WrongString, WrongOctave and WrongPitch have been
// played within the window; a wrong string is known only of inputs that tell
// strings, and counts as matched, set apart.
const (
	Missed Verdict = iota
	// NotHeard was due while the input was away, and Unsure while all that was
	// heard proves nothing: whether it was played is not known, and it is not
	// counted as missed.
	NotHeard
	Unsure
	Matched
	WrongString
	WrongOctave
	WrongPitch
	// Skipped stood in a beat that the player dropped: the slip is told, once, and
	// the note is not asked for.
	Skipped
)

// String names the verdict as players read it.
func (v Verdict) String() string {
	return [...]string{"missed", "not heard", "unsure", "matched", "wrong string", "wrong octave", "wrong pitch", "skipped"}[v]
}

// Right says whether the verdict counts as matched.
func (v Verdict) Right() bool { return v == Matched || v == WrongString }

// Known says whether the verdict tells how it went.
func (v Verdict) Known() bool { return v != NotHeard && v != Unsure && v != Skipped }

// Wrong says whether something else was played in its place.
func (v Verdict) Wrong() bool { return v == WrongOctave || v == WrongPitch }

// Mark is how one expected note went. Played is the index of the note played
// for it, −1 for none; Offset is how late that was, early below 0.
type Mark struct {
	Verdict Verdict
	Played  int
	Offset  time.Duration
}

// Outcome is how one expected event went.
type Outcome struct {
	Verdict Verdict
	// Offset is how late it was played, early below 0, by the first of its notes
	// to sound. It is 0 and means nothing where nothing was played.
	Offset time.Duration
	// Confidence is how sure it is, 0 to 1, that what Verdict goes by was played:
	// of a note its own, of a strike heard by ear the likelihood of the shape. It
	// is 0 where nothing was heard.
	Confidence float64
	// Notes go with the event's Notes, Free with its Free.
	Notes, Free []Mark
	// Whole is set where an ear judged a strike as a whole: of its Notes nothing is
	// said but which were told as notes of the bass.
	Whole bool
	// Absent and Foreign are the pitch classes, 0 (C) to 11 (B), that spoke against a
	// strike heard by ear: of its own that was hardly there, and of others that sounded.
	Absent, Foreign []int
	// Added are the indices of played notes that sounded with a strike and do not
	// belong to it. They count as extra too.
	Added []int
	// Outside is how late the note was played that would have served had it been
	// inside the window, 0 if there was none. That note does not count as extra.
	Outside time.Duration
}

// Percent returns the offset in percent of the event's beat.
func (o Outcome) Percent(e Expected) float64 {
	return 100 * float64(o.Offset) / float64(e.Beat)
}

// LeftOut returns the notes of the event that were not played though others of
// it were.
func (o Outcome) LeftOut(e Expected) []Want {
	if o.Whole || !o.Verdict.Right() && !o.Verdict.Wrong() {
		return nil
	}
	var out []Want
	for i, m := range o.Notes {
		if m.Played < 0 {
			out = append(out, e.Notes[i])
		}
	}
	return out
}

// Counts are the totals of a take, in events but those that were skipped; Extra is
// in played notes.
// Expected = Matched + Missed + Wrong + NotHeard + Unsure.
type Counts struct {
	Expected int `json:"expected"`
	Matched  int `json:"matched"`
	Missed   int `json:"missed"`
	Extra    int `json:"extra"`
	Wrong    int `json:"wrong"`
	NotHeard int `json:"not_heard"`
	Unsure   int `json:"unsure"`
	// WrongString is a part of Matched; WrongOctave and WrongPitch make up Wrong.
	WrongString int `json:"wrong_string"`
	WrongOctave int `json:"wrong_octave"`
	WrongPitch  int `json:"wrong_pitch"`
}

// Score is how a take went.
type Score struct {
	Counts
	// Events and Played are what was compared, Played in order of time.
	Events   []Expected
	Played   []Played
	Outcomes []Outcome // one for each of Events
	// Extras are the indices of the played notes that nothing asked for.
	Extras []int
	// StringsKnown says whether any played note told its string; where none did,
	// nothing is said of strings.
	StringsKnown bool
	Timing       Timing
	Offbeats     Offbeats
	// Bars and Degrees tally the events by bar of the form and by degree, the
	// worst first.
	Bars, Degrees []Tally
	Settings      Settings
	// Fit is how the take lies as a whole; offsets are what is left after it.
	Fit Fit
	due []time.Duration // when each event falls by the fit
}

// Raw returns how late an event was played against the time asked, with nothing
// fitted; early below 0.
func (sc *Score) Raw(i int) time.Duration {
	return sc.Outcomes[i].Offset + sc.due[i] - sc.Events[i].Time
}

// Grade compares what was heard with what was expected, which must be in order
// of time, as Expect gives it.
//
// Notes are paired in rounds over the whole pass, each giving the most pairs
// there can be and among those the least distance in time: the same pitch in
// the window; the free notes under strikes; the same pitch class (wrong octave);
// any pitch (wrong pitch). The count of right notes is thereby the maximum
// bipartite matching of expected and played notes in the window, which is the
// definition of mir_eval (Raffel et al. 2014). Strikes heard by ear are
// judged by their strums.
func Grade(expected []Expected, heard Heard, s Settings) *Score {
	heard.Notes = inTime(heard.Notes)
	plain := grade(expected, heard, s, asAsked(expected))
	al := fitted(expected, heard.Notes, heard.Strums)
	if al.TempoRatio == 1 && al.Offset == 0 && len(al.Slips) == 0 {
		return plain
	}
	if sc := grade(expected, heard, s, al); sc.explains(plain) {
		return sc
	}
	return plain
}

// A note struck more softly than ghostFloor, or than ghostShare of the take's median, is
// none that the player meant: a pickup hears a finger that lifts. About 20 of MIDI's
// 127, and a third (common practice, no source).
const (
	ghostFloor = 0.16
	ghostShare = 1.0 / 3
)

// ghosts are the notes that were hardly struck.
func ghosts(played []Played) iter.Seq[int] {
	var known []float64
	for _, p := range played {
		if p.Velocity > 0 {
			known = append(known, p.Velocity)
		}
	}
	slices.Sort(known)
	return func(yield func(int) bool) {
		for j, p := range played {
			if p.Velocity > 0 && p.Velocity < max(ghostFloor, ghostShare*known[len(known)/2]) && !yield(j) {
				return
			}
		}
	}
}

// inTime returns notes in order of time, and of pitch where they come together.
func inTime(notes []Played) []Played {
	notes = slices.Clone(notes)
	slices.SortStableFunc(notes, func(a, b Played) int {
		return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(a.MIDI, b.MIDI))
	})
	return notes
}

// explains says whether a fit makes enough of a take right to be told: what is lost
// by it is more than a chance.
func (sc *Score) explains(plain *Score) bool {
	least := leastRight
	if len(sc.Fit.Slips) > 0 {
		least = leastSlipped
	}
	return sc.Matched >= plain.Matched+slipGain*len(sc.Fit.Slips) &&
		float64(sc.Matched) >= least*float64(min(sc.Expected, len(sc.Played)))
}

// grade is Grade under one fit.
func grade(expected []Expected, heard Heard, s Settings, al aligned) *Score {
	played := heard.Notes
	sc := &Score{Events: expected, Played: played, Outcomes: make([]Outcome, len(expected)), Settings: s, Fit: al.Fit, due: al.due}
	for i := range expected {
		o := &sc.Outcomes[i]
		marks := make([]Mark, len(expected[i].Notes)+len(expected[i].Free))
		for k := range marks {
			marks[k].Played = -1
		}
		o.Notes, o.Free = marks[:len(expected[i].Notes):len(expected[i].Notes)], marks[len(expected[i].Notes):]
		if al.skipped[i] {
			o.Verdict = Skipped
		}
	}
	for _, p := range played {
		sc.StringsKnown = sc.StringsKnown || p.String != 0
	}

	notes, free, strikes := s.slots(expected, al, heard.ByEar)
	pairs := &aligner{played: played, taken: make([]bool, len(played))}
	for j, p := range played {
		pairs.taken[j] = p.Unsure()
	}
	found := make([]bool, len(notes))
	mark := func(v Verdict) func(slot, played int) {
		return func(i, p int) {
			sl := &notes[i]
			m := Mark{Verdict: v, Played: p, Offset: played[p].Time - sl.due}
			m.Verdict = played[p].against(sl.want, v)
			*sc.Outcomes[sl.event].markOf(sl) = m
		}
	}
	pairs.align(notes, found, byPitch, apart, mark(Matched))
	sc.pairAgain(pairs, notes, found, mark(Matched))
	pairs.align(free, make([]bool, len(free)), byPitch, apart, func(i, p int) {
		sl := &free[i]
		*sc.Outcomes[sl.event].markOf(sl) = Mark{Verdict: Matched, Played: p, Offset: played[p].Time - sl.due}
	})
	for j := range ghosts(played) {
		pairs.taken[j] = true // right it may be, but not wrong and not too much
	}
	pairs.align(notes, found, byPitchClass, apart, mark(WrongOctave))
	pairs.align(notes, found, byNothing, apart, mark(WrongPitch))

	sc.judge()
	sc.judgeStrums(heard.Strums, strikes)
	sc.doubt(heard.Absent)
	sc.lookOutside(pairs, notes, found)
	for j := range played {
		if !pairs.taken[j] {
			sc.Extras = append(sc.Extras, j)
		}
	}
	sc.addToStrikes(notes)
	sc.count()
	sc.measure()
	sc.findStop()
	return sc
}

func inOrder(slots []slot) {
	slices.SortStableFunc(slots, func(a, b slot) int {
		return cmp.Or(cmp.Compare(a.lo, b.lo), cmp.Compare(a.hi, b.hi), cmp.Compare(a.want.MIDI, b.want.MIDI))
	})
}

// addToStrikes gives each extra note that sounded within a strike of which
// something was heard to that strike.
func (sc *Score) addToStrikes(notes []slot) {
	k := 0
	for _, j := range sc.Extras {
		at := sc.Played[j].Time
		for k < len(notes) && notes[k].hi < at {
			k++
		}
		for i := k; i < len(notes) && notes[i].lo <= at; i++ {
			o := &sc.Outcomes[notes[i].event]
			if sc.Events[notes[i].event].Kind == fretboard.ShapeEvent && at <= notes[i].hi && o.heard() > 0 {
				o.Added = append(o.Added, j)
				break
			}
		}
	}
}

// heard counts the notes for which something was played.
func (o *Outcome) heard() int {
	n := 0
	for _, m := range o.Notes {
		if m.Played >= 0 {
			n++
		}
	}
	return n
}

// judge gives each event its verdict and offset from those of its notes.
func (sc *Score) judge() {
	for i := range sc.Outcomes {
		e, o := &sc.Events[i], &sc.Outcomes[i]
		var right, wrongString, octave, pitch, unsure int
		first := time.Duration(math.MaxInt64)
		least := 1.0
		for _, m := range o.Notes {
			switch m.Verdict {
			case Matched:
				right++
			case WrongString:
				right++
				wrongString++
			case WrongOctave:
				octave++
			case WrongPitch:
				pitch++
			case Unsure:
				unsure++
			}
			if m.Played >= 0 {
				first = min(first, m.Offset)
				least = min(least, 1-sc.Played[m.Played].Doubt)
			}
		}
		for _, m := range o.Free {
			if m.Played >= 0 {
				first = min(first, m.Offset)
			}
		}
		need := max(1, int(math.Ceil(sc.Settings.StrikeShare*float64(len(e.Notes))-1e-9)))
		switch {
		case right >= need && wrongString > 0:
			o.Verdict = WrongString
		case right >= need:
			o.Verdict = Matched
		case right+octave+pitch >= need && octave >= pitch:
			o.Verdict = WrongOctave
		case right+octave+pitch >= need:
			o.Verdict = WrongPitch
		case right+octave+pitch+unsure >= need:
			o.Verdict = Unsure
		}
		if o.Verdict != Missed {
			o.Offset, o.Confidence = first, least
		}
	}
}

// doubt takes back that an event was missed where that is not known: the input
// was away, or it heard a note then that proves nothing.
func (sc *Score) doubt(absent []Span) {
	gap, unsure := 0, 0
	saysNothing := func(p Played) bool { return !p.Unsure() || p.Again > 0 && p.Again < restruckWithStrike }
	for i := range sc.Outcomes {
		e, o := &sc.Events[i], &sc.Outcomes[i]
		if o.Verdict != Missed {
			continue
		}
		window, due := sc.Settings.WindowOf(e.Beat), sc.due[i]
		for gap < len(absent) && absent[gap].To <= due-window {
			gap++
		}
		if gap < len(absent) && absent[gap].From <= due+window {
			o.Verdict = NotHeard
			continue
		}
		if o.Whole {
			continue
		}
		for unsure < len(sc.Played) && (saysNothing(sc.Played[unsure]) || sc.Played[unsure].Time < due-window) {
			unsure++
		}
		if unsure < len(sc.Played) && sc.Played[unsure].Time <= due+window {
			o.Verdict, o.Confidence = Unsure, 1-sc.Played[unsure].Doubt
		}
	}
}

// lookOutside finds for missed bass notes the note that would have served had it
// come inside the window, up to half a beat away: it tells the player that the note
// was there, but late or early. That is one fault, and the note is not extra too.
func (sc *Score) lookOutside(al *aligner, notes []slot, found []bool) {
	wide := make([]slot, 0, len(notes))
	for i, sl := range notes {
		e := &sc.Events[sl.event]
		if !found[i] && e.Kind == fretboard.BassEvent && sc.Outcomes[sl.event].Verdict == Missed {
			sl.lo, sl.hi = sl.due-e.Beat/2, sl.due+e.Beat/2
			wide = append(wide, sl)
		}
	}
	inOrder(wide)
	al.align(wide, make([]bool, len(wide)), byPitch, apart, func(i, p int) {
		sc.Outcomes[wide[i].event].Outside = sc.Played[p].Time - wide[i].due
	})
}

func (sc *Score) count() {
	for i := range sc.Outcomes {
		sc.addVerdict(sc.Outcomes[i].Verdict)
	}
	sc.Extra = len(sc.Extras)
}
