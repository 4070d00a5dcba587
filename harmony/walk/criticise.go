package walk

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Critic is what a line is judged by.
type Critic struct {
	// Range bounds the line.
	tune.Range
	Hand Hand
	// Mend picks the bars for which a better one is looked for, as written, bars
	// counted from 1; nil for all.
	Mend func(section string, bar int) bool
}

// Remark is one thing that is good or bad about a bar.
type Remark struct {
	// Section and SectionBar name the bar as written; At counts through the form.
	Section    string
	SectionBar int
	At         tune.Position
	Rule       Rule
	// Says is the remark in words.
	Says string
	// Grade is that of the bar: CleanGrade and the points of its remarks.
	Grade int
	// Better is one better bar, a token a beat, that joins the bars around it and
	// has a higher grade, BetterGrade. It is nil for praise, behind mostMended faults, and where no other bar
	// would do better.
	Better      []tune.BassBeat
	BetterGrade int
}

// Head names the remark's bar, with its grade.
func (r *Remark) Head() string {
	return fmt.Sprintf("bar %d, section %s bar %d, grade %d", r.At.Bar, r.Section, r.SectionBar, r.Grade)
}

// Criticise judges the tune's bass row, bar by bar, in the order of the form; a
// bar that the form repeats is told once for each fault. A tune without a bass
// row has no remarks.
func Criticise(t *tune.Tune, c Critic) []Remark {
	bars := t.Unroll()
	notes, err := t.Line(c.Range)
	var outside *tune.LineError
	if errors.As(err, &outside) {
		notes = folded(outside)
	}
	h := hear(t, bars, notes, c.Hand.within(c.Low, c.High))
	type key struct {
		section    string
		bar, place int
		rule       string
	}
	told := map[key]bool{}
	type barOf struct {
		section string
		bar     int
	}
	grades := map[barOf]int{}
	var out []Remark
	tell := func(f finding) {
		b := h.bar(f.at)
		fb := bars[b]
		k := key{fb.Section, fb.SectionBar, f.at - h.Start(b+1), f.rule.Name}
		if told[k] {
			return
		}
		told[k] = true
		grades[barOf{fb.Section, fb.SectionBar}] += f.rule.Points()
		out = append(out, Remark{Section: fb.Section, SectionBar: fb.SectionBar, At: h.At(f.at), Rule: f.rule, Says: f.says})
	}
	if outside != nil {
		tell(finding{OutOfRange, h.Half(outside.At), fmt.Sprintf("%s leads to %s, outside the strings' range", outside.Token, outside.Pitch)})
	}
	for _, f := range h.judge() {
		tell(f)
	}
	mended := 0
	for i := range out {
		r := &out[i]
		r.Grade = CleanGrade + grades[barOf{r.Section, r.SectionBar}]
		if !r.Rule.Good && mended < mostMended && (c.Mend == nil || c.Mend(r.Section, r.SectionBar)) {
			mended++
			r.Better, r.BetterGrade = c.better(&h, r.At.Bar-1, r.Rule, r.Grade)
		}
	}
	slices.SortStableFunc(out, func(a, b Remark) int {
		return cmp.Or(cmp.Compare(a.At.Bar, b.At.Bar), cmp.Compare(a.At.Beat, b.At.Beat))
	})
	return out
}

// mostMended is for how many faults a better bar is looked for, which takes milliseconds
// each: nobody mends a line by more.
const mostMended = 1000

// folded is the line of a row that leaves the range, as written up to there; a
// note that leads out is taken an octave further in. It is nil where the range
// is too small for any line.
func folded(e *tune.LineError) []tune.LineNote {
	notes := slices.Clone(e.Fits)
	if len(notes) > 0 {
		notes[0].Pin = e.WrittenPin
	}
	for i := range notes {
		n := &notes[i]
		n.Direction = e.Written[i]
		midi := e.Range.Next(nil, *n)
		if i > 0 {
			before := notes[i-1].Pitch.MIDI()
			midi = e.Range.Next(&before, *n)
			for midi > e.Range.High {
				midi -= 12
			}
			for midi < e.Range.Low {
				midi += 12
			}
			if e.Range.Next(&before, *n) != midi {
				n.Direction = tune.DirectionTo(before, midi)
			}
		}
		n.Pitch, _ = harmony.PitchOf(n.Pitch.Note, midi)
	}
	return notes
}
