package take

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Tapping is what is asked of somebody who taps a rhythm: so many bars of it, the
// figure repeated, the first at a time of 0.
type Tapping struct {
	Rhythm harmony.Rhythm
	Bars   int
	// Tempo is in quarter notes a minute.
	Tempo float64
	Swing tune.Ratio
}

// Tapped is how it was tapped.
type Tapped struct {
	*Score
	Asked Tapping
	// Late is how late the taps are on the mean, early below 0.
	Late time.Duration
	// Swing is the ratio that was tapped, long to short, 0 where no offbeat was.
	Swing float64
	// OtherSwing is set where that is not what was asked for.
	OtherSwing bool
}

const (
	// anyPitch stands for a tap, which has none.
	anyPitch = 60
	// lateTold is the least steady lead or lag that is told: so far the mean of a dozen
	// taps wanders by chance (a spread of 27 to 49 ms between players, Rasch 1979, over
	// the root of twelve).
	lateTold = 12 * time.Millisecond
	// tempoOff is how far off a tempo, as a part of it, is another one.
	tempoOff = 0.01
)

// expect lists the taps at a swing ratio, all of them later by some time.
func (a Tapping) expect(swing tune.Ratio, later time.Duration) []Expected {
	placed := harmony.Place(harmony.Bar{Meter: a.Rhythm.Meter, Tempo: a.Tempo, Swing: harmony.Swing{Ratio: swing}}, 0)
	var all []Expected
	for bar := 1; bar <= a.Bars; bar++ {
		for _, half := range a.Rhythm.Bars[(bar-1)%len(a.Rhythm.Bars)] {
			beat, off := harmony.BeatOf(half)
			on, due := placed.Beat(beat, false), placed.Beat(beat, off)
			all = append(all, Expected{
				SectionBar: bar, At: tune.Position{Bar: bar, Beat: beat, Off: off}, Kind: fretboard.BassEvent, Degree: harmony.Degree{Number: 1},
				Time: due.Duration() + later, Into: (due - on).Duration(), Beat: (placed.Beat(beat+1, false) - on).Duration(), Notes: []Want{{MIDI: anyPitch}},
			})
		}
		placed = placed.Next(placed.Bar)
	}
	return all
}

// straight is no swing, and swung the usual one (common practice, no source).
var (
	straight = tune.Ratio{Long: 1, Short: 1}
	swung    = tune.Ratio{Long: 2, Short: 1}
)

// GradeTaps compares taps, in order of time, with a rhythm. Taps that lie at another
// swing ratio than the one asked for are taken at theirs, so that a rhythm that is right
// but for that is told to be. Where all hits are offbeats, a lag and a swing ratio cannot
// be told apart: the one of straight and swung whose places are nearer is taken.
func GradeTaps(a Tapping, taps []time.Duration, s Settings) *Tapped {
	played := make([]Played, len(taps))
	for i, at := range taps {
		played[i] = Played{Time: at, MIDI: anyPitch}
	}
	other := straight
	if a.Swing == straight {
		other = swung
	}
	ratios := []tune.Ratio{a.Swing}
	if a.Rhythm.Swings() {
		ratios = append(ratios, other)
	}
	var best *Tapped
	for _, ratio := range ratios {
		expected := a.expect(ratio, 0)
		laters := []time.Duration{0}
		if by := lag(expected, taps); by.Abs() < expected[0].Beat/4 {
			laters = append(laters, by)
		}
		for _, later := range laters {
			sc := Grade(a.expect(ratio, later), Heard{Notes: played}, s)
			sc.onTheGrid()
			t := &Tapped{Score: sc, Asked: a, Late: sc.Lead() + later, Swing: sc.Offbeats.Heard}
			if best == nil || t.betterThan(best) {
				best = t
			}
		}
	}
	if best.Swing > 0 {
		part := func(r float64) float64 { return r / (r + 1) }
		asked := float64(a.Swing.Long) / float64(a.Swing.Short)
		off := time.Duration((part(best.Swing) - part(asked)) * float64(best.Events[0].Beat))
		best.OtherSwing = math.Abs(best.Swing-asked) >= swingTold && off.Abs() > s.Window/2
	}
	return best
}

// onTheGrid takes a tap that lies nearer to another half beat than to the hit that it
// would have served for one too many, and that hit for missing.
func (sc *Score) onTheGrid() {
	for i := range sc.Outcomes {
		e, o := &sc.Events[i], &sc.Outcomes[i]
		room := e.Beat / 3 // to the half beats beside it, where that is swung
		if e.At.Off {
			room = min(e.Into, e.Beat-e.Into)
		}
		if o.Outside.Abs() <= room/2 {
			continue
		}
		for j, p := range sc.Played {
			if p.Time == sc.due[i]+o.Outside {
				sc.Extras = append(sc.Extras, j)
				sc.Extra++
			}
		}
		o.Outside = 0
	}
}

// betterThan says whether this reading of the taps makes more of them right or, with as
// many, moves them less.
func (t *Tapped) betterThan(u *Tapped) bool {
	const tie = 5 * time.Millisecond
	if t.Matched != u.Matched {
		return t.Matched > u.Matched
	}
	moved := func(x *Tapped) time.Duration { return x.Late.Abs() + x.Offbeats.Late.Abs() }
	return moved(t) < moved(u)-tie
}

// lag is the median of how late each tap is against the hit that it is nearest to.
func lag(expected []Expected, taps []time.Duration) time.Duration {
	var all []time.Duration
	for _, at := range taps {
		nearest := expected[0].Time
		for i := range expected {
			if (at - expected[i].Time).Abs() < (at - nearest).Abs() {
				nearest = expected[i].Time
			}
		}
		all = append(all, at-nearest)
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// Faults counts what is not right: hits early, late or missing, and taps too many.
func (t *Tapped) Faults() int { return t.Expected - t.Matched + t.Extra }

// OtherPlace says whether the taps lie so far off, steadily, that they are on other parts
// of the beat.
func (t *Tapped) OtherPlace() bool { return t.Late.Abs() > t.Events[0].Beat/4 }

// OtherTempo says whether the taps go at another tempo than the bass.
func (t *Tapped) OtherTempo() bool { return math.Abs(t.Fit.TempoRatio-1) >= tempoOff }

// Says tells how it went in sentences, the sum first.
func (t *Tapped) Says() string {
	said := []string{t.sumUp()}
	if t.OtherSwing {
		how := fmt.Sprintf("You swing %s to 1", trimmed(t.Swing))
		if t.Swing < 1+swingTold {
			how = "You play it straight"
		}
		asked := fmt.Sprintf("%s to 1 was asked", trimmed(float64(t.Asked.Swing.Long)/float64(t.Asked.Swing.Short)))
		if t.Asked.Swing == straight {
			asked = "straight was asked"
		}
		said = append(said, how+"; "+asked+".")
	}
	if t.OtherTempo() {
		said = append(said, upper(tempoWords(t.Fit.TempoRatio))+".")
	}
	for _, s := range t.Fit.Slips {
		said = append(said, s.words(s.Bar == t.Events[0].At.Bar)+".")
	}
	var apart, extra []string
	for i := range t.Outcomes {
		e, o := &t.Events[i], &t.Outcomes[i]
		switch {
		case o.Verdict.Right() || o.Verdict == Skipped:
		case o.Outside != 0:
			apart = append(apart, placeOf(e.At)+" "+lateness(o.Outside))
		default:
			apart = append(apart, placeOf(e.At)+" missing")
		}
	}
	for _, j := range t.Extras {
		extra = append(extra, placeOf(t.placeOf(j)))
	}
	if t.Matched > 0 {
		said = append(said, some("", apart)...)
	}
	return strings.Join(append(said, some("too many: ", extra)...), " ")
}

// some is a sentence that lists the first of some words, none for no words.
func some(what string, words []string) []string {
	const most = 4
	rest := ""
	switch n := len(words) - most; {
	case len(words) == 0:
		return nil
	case n > 0:
		words, rest = words[:most], fmt.Sprintf(" and %d more", n)
	}
	return []string{upper(what+strings.Join(words, ", ")) + rest + "."}
}

// placeOf is the beat or offbeat that a tap is nearest to, the steady lag taken off.
func (t *Tapped) placeOf(tap int) tune.Position {
	halves := t.Asked.Rhythm.Meter.Halves()
	beats := (t.Played[tap].Time - t.Late).Seconds() / t.Events[0].Beat.Seconds()
	half := min(t.Asked.Bars*halves-1, max(0, int(math.Round(2*beats))))
	beat, off := harmony.BeatOf(half % halves)
	return tune.Position{Bar: half/halves + 1, Beat: beat, Off: off}
}

// sumUp counts, and tells a steady lead or lag.
func (t *Tapped) sumUp() string {
	sum := fmt.Sprintf("%d of %d hits", t.Matched, t.Expected)
	if t.Matched == t.Expected {
		sum = fmt.Sprintf("All %d hits", t.Expected)
	}
	if t.Extra > 0 {
		sum += fmt.Sprintf(", %d too many", t.Extra)
	}
	switch late := t.Late.Round(time.Millisecond); {
	case t.Matched == 0:
	case late.Abs() >= lateTold:
		sum += ", " + lateness(late)
	default:
		sum += ", in time"
	}
	if t.Swing > 0 && !t.OtherSwing && t.Asked.Swing != straight {
		sum += fmt.Sprintf("; you swing %s to 1", trimmed(t.Swing))
	}
	return sum + "."
}

// placeOf names where a hit stands: "bar 3 beat 2+".
func placeOf(at tune.Position) string {
	off := ""
	if at.Off {
		off = "+"
	}
	return fmt.Sprintf("bar %d beat %d%s", at.Bar, at.Beat, off)
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// Rows draw the taps as a count of the beats and a row a bar: x for a hit, < and > for
// one that came early or late, o for one that is missing, ! for a tap too many, which
// stands on the half beat that it is nearest to.
func (t *Tapped) Rows() []string {
	cells := make([][]byte, t.Asked.Bars)
	for bar := range cells {
		cells[bar] = []byte(strings.Repeat(".", t.Asked.Rhythm.Meter.Halves()))
	}
	for i := range t.Outcomes {
		o, mark := &t.Outcomes[i], byte('o')
		switch {
		case o.Verdict.Right():
			mark = 'x'
		case o.Outside < 0:
			mark = '<'
		case o.Outside > 0:
			mark = '>'
		}
		at := t.Events[i].At
		cells[at.Bar-1][at.Half()] = mark
	}
	for _, j := range t.Extras {
		at := t.placeOf(j)
		if c := &cells[at.Bar-1][at.Half()]; *c == '.' {
			*c = '!'
		}
	}
	rows := []string{"       " + counted(t.Asked.Rhythm.Meter)}
	for bar, c := range cells {
		rows = append(rows, fmt.Sprintf("bar %d  %s", bar+1, spaced(c)))
	}
	return rows
}

// Rows draw the figure that is asked for.
func (a Tapping) Rows() []string {
	rows := []string{"       " + counted(a.Rhythm.Meter)}
	for bar, struck := range a.Rhythm.Bars {
		cells := []byte(strings.Repeat(".", a.Rhythm.Meter.Halves()))
		for _, half := range struck {
			cells[half] = 'x'
		}
		name := "each"
		if len(a.Rhythm.Bars) > 1 {
			name = fmt.Sprintf("bar %d", bar+1)
		}
		rows = append(rows, fmt.Sprintf("%-5s  %s", name, spaced(cells)))
	}
	return rows
}

// counted is the beats of a bar as they are counted: "1 + 2 + 3 + 4 +".
func counted(m tune.Meter) string {
	cells := make([]byte, m.Halves())
	for half := range cells {
		cells[half] = '+'
		if beat, off := harmony.BeatOf(half); !off {
			cells[half] = byte('0' + beat)
		}
	}
	return spaced(cells)
}

func spaced(cells []byte) string { return strings.Join(strings.Split(string(cells), ""), " ") }
