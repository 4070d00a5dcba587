package walk

import (
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// tries is how many seeds are asked for another bar.
const tries = 8

// viewBefore and viewAfter are how many bars around a bar are judged with it: as
// far as any rule looks.
const (
	viewBefore = 6
	viewAfter  = 4
)

// view is a stretch of the pass around one bar, to be judged with another bar in
// its place.
type view struct {
	tune *tune.Tune
	h    heard
	// at are the bars of the view that are the bar in question.
	at []int
	// before is the note that leads into the view, nil at the start of the line.
	before *int
	last   int // the last note as it is, −1 for none
	found  []finding
}

// better finds the bar that does best in place of a bar of the pass, counted from
// 0, wherever the form has it: one free of the rule, of a higher grade than the
// bar's own, that costs the bars around it less than it gains
// and leads where the old one led.
// It returns nil where no bar tried is.
func (c Critic) better(h *heard, bar int, rule Rule, grade int) ([]tune.BassBeat, int) {
	own := h.bars[bar].Bar
	var views []view
	for i, fb := range h.bars {
		if fb.Bar == own && len(views) < viewBefore {
			views = append(views, c.view(h, i))
		}
	}
	var best []tune.BassBeat
	bestGrade, bestCost := 0, 0.0
	for _, bass := range append(c.composed(h, bar), edits(h, bar, c)...) {
		if slices.Equal(bass, own.Bass) {
			continue
		}
		g, around, ok := c.grade(views, bass, rule)
		if !ok || g <= grade || g-grade+around <= 0 {
			continue
		}
		changed := 0
		for i := range bass {
			if i >= len(own.Bass) || bass[i] != own.Bass[i] {
				changed++
			}
		}
		// Of equals the nearest to what was written.
		cost := -float64(2*g+around) + 0.1*float64(changed)
		if best == nil || cost < bestCost {
			best, bestGrade, bestCost = bass, g, cost
		}
	}
	return best, bestGrade
}

// view cuts out the bars around one, with the directions that the line has there.
func (c Critic) view(h *heard, bar int) view {
	from, to := max(0, bar-viewBefore), min(len(h.bars), bar+viewAfter+1)
	own := h.bars[bar].Bar
	bars := make([]tune.Bar, to-from)
	v := view{last: -1}
	for i := range bars {
		bars[i] = *h.bars[from+i].Bar
		bars[i].Bass = slices.Clone(bars[i].Bass)
		if h.bars[from+i].Bar == own {
			v.at = append(v.at, i)
		}
	}
	for i := range h.slots {
		s := &h.slots[i]
		switch {
		case s.bar < from:
			v.before = &h.midi[i]
		case s.bar < to:
			b := &bars[s.bar-from].Bass[s.at.Beat-1]
			if s.at.Off {
				b.Second.Direction = s.kept.Direction
			} else {
				b.First.Direction = s.kept.Direction
			}
			v.last = h.midi[i]
		}
	}
	t := *h.tune
	t.Form, t.Comments = nil, nil
	t.Sections = []tune.Section{{Name: "A", Bars: bars}}
	v.tune = &t
	v.h = hear(&t, t.Unroll(), nil, h.hand)
	v.found, _ = v.judge(c, nil)
	return v
}

// judge judges the view with another bar in the place of the one in question,
// nil for the line as it is. It reports false where that bar leaves the range, or
// the line after it would lie elsewhere.
func (v *view) judge(c Critic, bass []tune.BassBeat) ([]finding, bool) {
	bars := v.tune.Sections[0].Bars
	if bass != nil {
		kept := make([][]tune.BassBeat, len(v.at))
		for i, at := range v.at {
			kept[i], bars[at].Bass = bars[at].Bass, bass
		}
		defer func() {
			for i, at := range v.at {
				bars[at].Bass = kept[i]
			}
		}()
	}
	notes := v.tune.Unplaced()
	before := v.before
	for i := range notes {
		n := &notes[i]
		midi := c.Next(before, *n)
		if midi < c.Low || midi > c.High {
			return nil, false
		}
		n.Pitch, _ = harmony.PitchOf(n.Pitch.Note, midi)
		before = &midi
	}
	if bass != nil && v.last >= 0 && (len(notes) == 0 || !slices.Contains(v.at, len(bars)-1) && notes[len(notes)-1].Pitch.MIDI() != v.last) {
		return nil, false
	}
	h := v.h.with(notes)
	return h.judge(), true
}

// grade grades a bar in every view. It returns its own grade and the points that
// the bars around it gain or lose, and false where the rule is broken again, a
// grave fault is added, there or around it.
func (c Critic) grade(views []view, bass []tune.BassBeat, rule Rule) (own, around int, ok bool) {
	type key struct {
		place int
		rule  string
	}
	told := map[key]bool{}
	own = CleanGrade
	graver := 0 // grave faults in the bars around
	for i := range views {
		v := &views[i]
		found, ok := v.judge(c, bass)
		if !ok {
			return 0, 0, false
		}
		for _, f := range found {
			b := v.h.bar(f.at)
			if !slices.Contains(v.at, b) {
				around += f.rule.Points()
				if f.rule.Grave {
					graver++
				}
				continue
			}
			if f.rule.Name == rule.Name || f.rule.Grave {
				return 0, 0, false
			}
			if k := (key{f.at - v.h.Start(b+1), f.rule.Name}); !told[k] {
				told[k] = true
				own += f.rule.Points()
			}
		}
		for _, f := range v.found {
			if !slices.Contains(v.at, v.h.bar(f.at)) {
				around -= f.rule.Points()
				if f.rule.Grave {
					graver--
				}
			}
		}
	}
	return own, around, graver <= 0
}

// edits are the written bar with one note changed: to a tone of the chord or its
// scale, the notes after it as they were.
func edits(h *heard, bar int, c Critic) [][]tune.BassBeat {
	var all [][]tune.BassBeat
	written := h.bars[bar].Bar.Bass
	for i := range h.slots {
		s := &h.slots[i]
		if s.bar != bar {
			continue
		}
		from, to := c.Low, min(c.High, c.Low+11)
		if i > 0 {
			from, to = max(c.Low, h.midi[i-1]-12), min(c.High, h.midi[i-1]+12)
		}
		for midi := from; midi <= to; midi++ {
			if midi == h.midi[i] || i > 0 && midi == h.midi[i-1] || i+1 < len(h.midi) && midi == h.midi[i+1] || s.roles[mod12(midi)] == chrome && (i+1 == len(h.midi) || abs(h.midi[i+1]-midi) != 1) {
				continue
			}
			bass := slices.Clone(written)
			tok := tune.BassToken{Kind: tune.BassNote, Degree: lineDegree(s, midi)}
			if i > 0 {
				tok.Direction = tune.DirectionTo(h.midi[i-1], midi)
			}
			set(bass, s.at, tok)
			if i+1 < len(h.slots) && h.slots[i+1].bar == bar {
				if abs(h.midi[i+1]-midi) > 12 {
					continue
				}
				next := *h.slots[i+1].kept
				next.Direction = tune.DirectionTo(midi, h.midi[i+1])
				set(bass, h.slots[i+1].at, next)
			}
			all = append(all, bass)
		}
	}
	return all
}

func set(bass []tune.BassBeat, at tune.Position, tok tune.BassToken) {
	if at.Off {
		bass[at.Beat-1].Second = tok
	} else {
		bass[at.Beat-1].First = tok
	}
}

// composed are bars composed anew between the bars around one, every other one
// with the root of each chord on its change.
func (c Critic) composed(h *heard, bar int) [][]tune.BassBeat {
	if c.High-c.Low < 12 {
		return nil // too small a range to compose in
	}
	from := 0
	for from < len(h.slots) && h.slots[from].bar < bar {
		from++
	}
	to := from
	for to < len(h.slots) && h.slots[to].bar == bar {
		to++
	}
	before, after := max(0, from-2), min(len(h.slots), to+2)
	var all [][]tune.BassBeat
	for seed := range uint64(tries) {
		o := Options{Range: c.Range, Seed: seed, Hand: c.Hand}
		g := newGridding(&h.layout, o)
		if from > 0 {
			g.last = h.chords[h.starts[from-1]]
		}
		fresh := g.fresh(bar)
		if len(fresh) == 0 {
			return nil
		}
		p := problem{centre: c.Low + (c.High-c.Low)*2/5, seed: seed, hand: h.hand}
		p.slots = slices.Concat(h.slots[before:from], fresh, h.slots[to:after])
		for i := range from - before {
			p.slots[i].kept = nil // what they leave to be resolved counts
		}
		for i := range p.slots {
			switch {
			case i < from-before:
				p.pitches = append(p.pitches, h.midi[before+i:before+i+1])
			case i >= from-before+len(fresh):
				j := to + i - (from - before) - len(fresh)
				p.pitches = append(p.pitches, h.midi[j:j+1])
			default:
				p.pitches = append(p.pitches, choices(p.slots, i, o))
				roots := slices.DeleteFunc(slices.Clone(p.pitches[i]), func(midi int) bool { return p.slots[i].roles[mod12(midi)] != root })
				if seed%2 == 1 && p.slots[i].arrival && len(roots) > 0 {
					p.pitches[i] = roots
				}
			}
		}
		p.time(&h.layout)
		line, _ := p.solve()
		bass := make([]tune.BassBeat, h.meter(bar).Beats())
		for i := from - before; i < from-before+len(fresh); i++ {
			n := note(p.slots, line, i).LineNote
			bass[n.At.Beat-1].First = tune.BassToken{Kind: tune.BassNote, Degree: n.Degree, Direction: n.Direction}
		}
		all = append(all, bass)
	}
	return all
}
