package take

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/walk"
)

// FreeTake is a pass that the player walked as they liked.
type FreeTake struct {
	*walk.FreeWalk
	// Timing is how the bass notes lie against the nearest half beats, with a delay
	// or a tempo that all of them share taken off. Drift is not told.
	Timing Timing
	// Offset is the delay that they share at the beginning.
	Offset time.Duration
	// Slips are the bars from which on the player was whole beats elsewhere, in order;
	// the bars after are judged where the player was.
	Slips []Slip
}

// The follower of a free walk: how much of a note's distance from its half beat
// moves the pulse, and how much of it the tempo; how many notes tell a delay that
// all share, and how closely their places in the beat must agree for one.
const (
	pulseGain     = 0.15
	tempoGain     = 0.02
	delayNotes    = 16
	delayAgree    = 0.6
	offbeatWeight = 1.3 // a note rather stands on a beat than off it
)

// Free judges a pass of some bars of the tune's form at a tempo, in quarter notes a
// minute, the tune's own if 0: the player makes the line up, and the program follows
// the form. Time 0 of what was heard is the first bar's beat 1. Of notes struck
// together the lowest that the neck's bass strings have is the bass; chords off the
// beat have none. A stop and bars of rest cost nothing after them.
func Free(t *tune.Tune, tempo float64, bars Bars, heard Heard, neck fretboard.Neck, s Settings) *FreeTake {
	if tempo == 0 {
		tempo = t.Tempo
	}
	form := t.Unroll()
	if bars.Last > 0 {
		form = form[:min(bars.Last, len(form))]
	}
	form = form[min(max(0, bars.First-1), len(form)):]
	t = unrolled(t, form)
	p := pulseOf(t, tempo)
	notes := bassOf(heard, neck, s)
	offset := p.delay(notes)
	out := &FreeTake{Offset: inDuration(offset)}
	var walked placed
	var late offsets
	ratio := 0.0 // of the tempo's error
	last := 0.0
	for _, n := range notes {
		at := n.Time.Seconds()
		offset += ratio * (at - last)
		last = at
		half, away := p.nearest(at - offset)
		if half < 0 {
			continue
		}
		if n.chord && half%2 == 1 {
			continue
		}
		if k := len(walked.halves); k > 0 && walked.halves[k-1] == half {
			continue // a second note on one place is a grace note's or a strum's
		}
		walked.halves, walked.notes = append(walked.halves, half), append(walked.notes, n.MIDI)
		late.add(n.Time, inDuration(away))
		offset += pulseGain * away
		ratio += tempoGain * away
		ratio = between(-loosest, ratio, loosest)
	}
	out.FreeWalk, out.Slips = walked.judgeFollowed(t, p.grid)
	for i := range out.Bars {
		out.Bars[i].Bar = form[i]
	}
	for i := range out.Slips {
		out.Slips[i].Bar = form[out.Slips[i].Bar-1].Number
	}
	out.Timing.Mean, out.Timing.Spread = late.mean(), late.spread()
	return out
}

// LateAt is how many beats late the player was in a bar of the form, early below 0.
func (f *FreeTake) LateAt(bar int) (beats float64) {
	for _, s := range f.Slips {
		if s.Bar <= bar {
			beats += s.Beats
		}
	}
	return beats
}

// unrolled is a tune of some bars of the form, each a section of its own.
func unrolled(t *tune.Tune, form []tune.FormBar) *tune.Tune {
	out := *t
	out.Form, out.Sections = nil, nil
	for i, fb := range form {
		out.Sections = append(out.Sections, tune.Section{Name: fmt.Sprintf("X%d", i+1), Meter: fb.Meter, Bars: []tune.Bar{*fb.Bar}})
	}
	return &out
}

// cleanFree is the share of bars that must be clear for a free walk to be clean.
const cleanFree = 0.9

// Clean says whether a free walk was clean: nine bars of ten clear (common practice,
// no source). If not, why names what to practise.
func (f *FreeTake) Clean() (clean bool, why string) {
	if float64(f.Clear) >= cleanFree*float64(len(f.Bars)) {
		return true, ""
	}
	return false, f.Next()
}

// Count counts the bars with a verdict.
func (f *FreeTake) Count(v walk.Verdict) int {
	n := 0
	for _, b := range f.Bars {
		if b.Verdict == v {
			n++
		}
	}
	return n
}

// Between returns the notes that the tape has from one time to another, those from
// a little before on, with their times from start.
func (t *Tape) Between(start, end time.Duration, s Settings) []Played {
	var all []Played
	for _, n := range t.notes {
		if n.Time >= start-s.Window && n.Time < end {
			n.Time -= start
			all = append(all, n)
		}
	}
	return all
}

// mostDoubtFree is the most doubt of a note that a free walk is judged by: a line that nobody
// wrote asks for no proof of each note, and what is a little unsure is mostly right.
const mostDoubtFree = 0.6

// bassNote is a note of the bass; chord is set where others were struck with it.
type bassNote struct {
	Played
	chord bool
}

// bassOf picks the bass out of what was heard, in order of time.
func bassOf(heard Heard, neck fretboard.Neck, s Settings) []bassNote {
	notes := slices.Clone(heard.Notes)
	slices.SortStableFunc(notes, func(a, b Played) int { return cmp.Or(cmp.Compare(a.Time, b.Time), cmp.Compare(a.MIDI, b.MIDI)) })
	bass := neck.BassRange()
	var out []bassNote
	for i := 0; i < len(notes); {
		end := i
		for end < len(notes) && notes[end].Time-notes[i].Time <= s.Spread {
			end++
		}
		lowest := -1
		for k := i; k < end; k++ {
			n := &notes[k]
			switch {
			case n.Doubt > mostDoubtFree || n.MIDI < bass.Low || n.MIDI > bass.High:
			case n.String != 0 && !slices.Contains(neck.BassStrings, n.String):
			case lowest < 0 || n.MIDI < notes[lowest].MIDI:
				lowest = k
			}
		}
		if lowest >= 0 {
			out = append(out, bassNote{notes[lowest], end-i > 1 && notes[lowest].String == 0})
		}
		i = end
	}
	return out
}

// pulse is the half beats of a pass as times.
type pulse struct {
	grid harmony.Grid
	at   []float64 // seconds of each half beat, those of a player who is late included
}

func pulseOf(t *tune.Tune, tempo float64) pulse {
	p := pulse{grid: t.Grid()}
	now := 0.0
	form := t.Unroll()
	for i, fb := range form {
		beat, beats := fb.Meter.BeatQuarters()*60/tempo, fb.Meter.Beats()
		long := float64(harmony.Bar{Meter: fb.Meter, Tempo: tempo, Swing: t.Swing}.OffPart()) / harmony.Parts
		if i+1 == len(form) {
			beats += latestFree
		}
		for range beats {
			p.at = append(p.at, now, now+long*beat)
			now += beat
		}
	}
	p.at = append(p.at, now)
	return p
}

// nearest returns the half beat nearest to a time, and how late the time is; −1
// where it lies outside the pass.
func (p *pulse) nearest(seconds float64) (half int, late float64) {
	i, _ := slices.BinarySearch(p.at, seconds)
	half, away := -1, math.Inf(1)
	for k := max(0, i-2); k <= min(i+1, len(p.at)-1); k++ {
		far := math.Abs(seconds - p.at[k])
		if k%2 == 1 {
			far *= offbeatWeight
		}
		if far < away {
			half, away = k, far
		}
	}
	// What comes long before the first beat, or after the last of a player who is late,
	// is nobody's.
	if half == len(p.at)-1 || half < 0 || half == 0 && len(p.at) > 1 && seconds < -(p.at[1]-p.at[0]) {
		return -1, 0
	}
	return half, seconds - p.at[half]
}

// delay returns how late the first notes are all alike, against the beats, in
// seconds; 0 where they do not agree.
func (p *pulse) delay(notes []bassNote) float64 {
	if len(p.at) < 3 || len(notes) < 4 {
		return 0
	}
	beat := p.at[2] - p.at[0]
	x, y, n := 0.0, 0.0, 0.0
	for _, note := range notes[:min(delayNotes, len(notes))] {
		angle := 2 * math.Pi * note.Time.Seconds() / beat
		x, y, n = x+math.Cos(angle), y+math.Sin(angle), n+1
	}
	if math.Hypot(x, y) < delayAgree*n {
		return 0
	}
	return math.Atan2(y, x) / (2 * math.Pi) * beat
}

// Report sums a free walk up for a player, a line each: bars clear, degrees,
// approaches, time, and what to practise next.
func (f *FreeTake) Report() []string {
	lines := []string{fmt.Sprintf("%d of %d bars clear", f.Clear, len(f.Bars))}
	for _, s := range f.Slips {
		said := s.words(s.Bar == f.Bars[0].Bar.Number)
		lines = append(lines, strings.ToLower(said[:1])+said[1:])
	}
	var used []string
	for _, d := range f.Used {
		used = append(used, fmt.Sprintf("%s %d", d.Degree, d.Count))
	}
	if len(used) == 0 {
		return append(lines, "no bass note was heard")
	}
	lines = append(lines, "degrees played: "+strings.Join(used, ", "))
	if len(f.Unused) > 0 {
		lines = append(lines, "chord tones never played: "+strings.Join(harmony.Spelled(f.Unused), " "))
	}
	if f.Led > 0 {
		lines = append(lines, fmt.Sprintf("%d of %d changes reached by a step", f.Resolved, f.Led))
	}
	lines = append(lines, fmt.Sprintf("time: %s on average, give or take %.0f ms", lateWord(f.Offset+f.Timing.Mean), f.Timing.Spread.Seconds()*1000))
	return append(lines, "next: "+f.Next())
}

func lateWord(d time.Duration) string {
	switch ms := d.Round(time.Millisecond).Milliseconds(); {
	case ms < 0:
		return fmt.Sprintf("%d ms early", -ms)
	case ms > 0:
		return fmt.Sprintf("%d ms late", ms)
	}
	return "on the beat"
}

// Next says what to practise after a free walk.
func (f *FreeTake) Next() string {
	var worst *walk.FreeBar
	for i := range f.Bars {
		if b := &f.Bars[i]; b.Verdict != walk.Clear && b.Verdict != walk.Silent && (worst == nil || b.Verdict < worst.Verdict) {
			worst = b
		}
	}
	switch {
	case worst != nil:
		return fmt.Sprintf("bar %d, where %s", worst.Bar.Number, worst.Says)
	case f.Clear < len(f.Bars):
		return "the bars that had no note"
	case 2*f.Resolved < f.Led:
		return "coming to each root by a half step"
	case len(f.Unused) > 0:
		return fmt.Sprintf("the %s, wherever a chord has one", f.Unused[0])
	}
	return "the same, faster"
}
