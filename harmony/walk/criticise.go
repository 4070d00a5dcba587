package walk

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"footfall/harmony/tune"
)

// Critic is what a line is judged by.
type Critic struct {
	// Low and High bound the line, as MIDI note numbers, both included.
	Low, High int
	Hand      Hand
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
	// Better is one better bar, a token a beat, that joins the bars around it. It
	// is nil for praise, and where no other bar would do better.
	Better []tune.BassBeat
}

// Criticise judges the tune's bass row, bar by bar, in the order of the form; a
// bar that the form repeats is told once for each fault. A tune without a bass
// row has no remarks.
func Criticise(t *tune.Tune, c Critic) []Remark {
	bars := t.Unroll()
	c.Hand = c.Hand.within(c.Low, c.High)
	var out []Remark
	notes, err := t.Line(c.Low, c.High)
	var outside *tune.LineError
	if errors.As(err, &outside) {
		notes = outside.Fits
	}
	h := hear(t, bars, notes)
	found := h.judge(c.Hand)
	if outside != nil {
		out = append(out, c.outOfRange(&h, outside, found))
	}
	type key struct {
		section    string
		bar, place int
		rule       string
	}
	told := map[key]bool{}
	perBar := 2 * t.Meter.Beats()
	for _, f := range found {
		fb := bars[f.at/perBar]
		k := key{fb.Section, fb.SectionBar, f.at % perBar, f.rule.Name}
		if told[k] {
			continue
		}
		told[k] = true
		r := Remark{Section: fb.Section, SectionBar: fb.SectionBar, At: h.position(f.at), Rule: f.rule, Says: f.says}
		if !f.rule.Good {
			r.Better = c.better(&h, f)
		}
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Remark) int {
		return cmp.Or(cmp.Compare(a.At.Bar, b.At.Bar), cmp.Compare(a.At.Beat, b.At.Beat))
	})
	return out
}

// outOfRange remarks on a line that leaves the range. The better bar is the
// player's own with other directions, or one composed where that has a grave
// fault; h is the nearest line that fits.
func (c Critic) outOfRange(h *heard, e *tune.LineError, found []finding) Remark {
	r := Remark{
		Section: e.Section, SectionBar: e.SectionBar, At: e.At, Rule: OutOfRange,
		Says: fmt.Sprintf("%s leads to %s, outside the strings' range", e.Token, e.Pitch),
	}
	if e.Fits == nil {
		return r
	}
	bar := slices.Clone(h.bars[e.At.Bar-1].Bar.Bass)
	for _, n := range e.Fits {
		switch {
		case n.At.Bar != e.At.Bar:
		case n.At.Off:
			bar[n.At.Beat-1].Second.Direction = n.Direction
		default:
			bar[n.At.Beat-1].First.Direction = n.Direction
		}
	}
	r.Better = bar
	perBar := 2 * h.tune.Meter.Beats()
	for _, f := range found {
		if f.rule.Grave && f.at/perBar == e.At.Bar-1 {
			if b := c.better(h, finding{rule: OutOfRange, at: h.half(e.At)}); b != nil {
				r.Better = b
			}
			break
		}
	}
	return r
}

// tries is how many seeds are asked for a bar that does not break the rule.
const tries = 8

// better composes the bar of a finding anew between the bars around it. It
// returns nil where no line tried keeps the rule and adds no grave fault.
func (c Critic) better(h *heard, f finding) []tune.BassBeat {
	perBar := 2 * h.tune.Meter.Beats()
	bar := f.at / perBar
	from, _ := slices.BinarySearchFunc(h.slots, bar, func(s slot, bar int) int { return cmp.Compare(s.bar, bar) })
	to := from
	for to < len(h.slots) && h.slots[to].bar == bar {
		to++
	}
	fill := make([]bool, len(h.bars))
	fill[bar] = true
	fresh := grid(h.tune, h.bars[bar:bar+1], Approaches, fill[bar:bar+1])
	for i := range fresh {
		fresh[i].bar = bar
		fresh[i].at.Bar = bar + 1
	}
	if len(fresh) == 0 {
		return nil
	}
	if from > 0 {
		fresh[0].arrival = h.chords[h.half(fresh[0].at)] != h.chords[h.starts[from-1]]
	}
	before, after := max(0, from-2), min(len(h.slots), to+2)
	for seed := range uint64(tries) {
		p := problem{centre: c.Low + (c.High-c.Low)*2/5, seed: seed, hand: c.Hand, pace: paceOf(h.tune), beats: h.tune.Meter.Beats()}
		p.slots = slices.Concat(h.slots[before:from], fresh, h.slots[to:after])
		o := Options{Low: c.Low, High: c.High}
		for i := range p.slots {
			switch {
			case i < from-before:
				p.pitches = append(p.pitches, h.midi[before+i:before+i+1])
			case i >= from-before+len(fresh):
				j := to + i - (from - before) - len(fresh)
				p.pitches = append(p.pitches, h.midi[j:j+1])
			case i == 0:
				p.pitches = append(p.pitches, choices(p.slots, 0, o))
			default:
				p.pitches = append(p.pitches, choices(p.slots, i, o))
			}
		}
		line, _ := p.solve()
		bass, notes := barOf(&p, line, from-before, len(fresh), h.tune.Meter.Beats())
		if c.improves(h, f, bar, from, to, notes) {
			return bass
		}
	}
	return nil
}

// barOf writes out the composed notes of one bar.
func barOf(p *problem, line []int, from, n, beats int) ([]tune.BassBeat, []tune.LineNote) {
	bass := make([]tune.BassBeat, beats)
	var notes []tune.LineNote
	for i := from; i < from+n; i++ {
		ln := note(p.slots, line, i).LineNote
		notes = append(notes, ln)
		bass[ln.At.Beat-1].First = tune.BassToken{Kind: tune.BassNote, Degree: ln.Degree, Direction: ln.Direction}
	}
	return bass, notes
}

// improves reports whether a line with the bar replaced is free of the finding's
// rule in that bar, and of grave faults in it and at its end.
func (c Critic) improves(h *heard, f finding, bar, from, to int, notes []tune.LineNote) bool {
	perBar := 2 * h.tune.Meter.Beats()
	window := func(i int) tune.LineNote {
		s := &h.slots[i]
		n := note(h.slots, h.midi, i).LineNote
		n.Halves = s.halves
		if end := h.starts[i] + n.Halves; i < from && end > bar*perBar {
			n.Halves -= end - bar*perBar // a note held into the bar stops there
		}
		return n
	}
	var all []tune.LineNote
	for i := max(0, from-8); i < from; i++ {
		all = append(all, window(i))
	}
	all = append(all, notes...)
	for i := to; i < min(len(h.slots), to+8); i++ {
		all = append(all, window(i))
	}
	fresh := h.with(all)
	for _, g := range fresh.judge(c.Hand) {
		here := g.at/perBar == bar
		if here && (g.rule.Name == f.rule.Name || g.rule.Grave) {
			return false
		}
	}
	return true
}
