package walk

import (
	"cmp"
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
	// bars are those of the view as the form has them, at the ones that are the bar in
	// question.
	bars []tune.FormBar
	at   []int
	// before is the note that leads into the view, nil at the start of the line.
	before *int
	last   int // the last note as it is, −1 for none
	found  []finding
}

// better finds the bar that does best in place of a bar of the pass, counted from
// 0, wherever the form has it: one free of the rule, of a higher grade than the
// bar's own, that costs the bars around it less than it gains, or where there is
// none such no more, and leads where the old one led. It returns nil where no bar
// tried is.
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
	try := func(all [][]tune.BassBeat, least int) {
		for _, bass := range all {
			if slices.Equal(bass, own.Bass) {
				continue
			}
			g, around, ok := c.grade(views, bass, rule)
			if !ok || g <= grade || g-grade+around < least {
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
	}
	few := append(c.composed(h, bar), edits(h, bar, c, false)...)
	if try(few, 1); best != nil {
		return best, bestGrade
	}
	if try(edits(h, bar, c, true), 1); best == nil {
		try(few, 0)
	}
	return best, bestGrade
}

// view cuts out the bars around one, with the directions that the line has there.
func (c Critic) view(h *heard, bar int) view {
	from, to := max(0, bar-viewBefore), min(len(h.bars), bar+viewAfter+1)
	own := h.bars[bar].Bar
	bars := make([]tune.Bar, to-from)
	v := view{bars: h.bars[from:to], last: -1}
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
// grave fault is added, there or around it. What is said of a bar that the form
// repeats counts once, as Criticise tells it.
func (c Critic) grade(views []view, bass []tune.BassBeat, rule Rule) (own, around int, ok bool) {
	type key struct {
		bar   *tune.Bar
		place int
		rule  string
	}
	own = CleanGrade
	told, was := map[key]bool{}, map[key]bool{}
	graver := 0 // grave faults in the bars around
	for i := range views {
		v := &views[i]
		found, ok := v.judge(c, bass)
		if !ok {
			return 0, 0, false
		}
		each := func(all []finding, seen map[key]bool, sign int) bool {
			for _, f := range all {
				b := v.h.bar(f.at)
				mine := slices.Contains(v.at, b)
				if mine && sign > 0 && (f.rule.Name == rule.Name || f.rule.Grave) {
					return false
				}
				if !mine && f.rule.Grave {
					graver += sign
				}
				k := key{v.bars[b].Bar, f.at - v.h.Start(b+1), f.rule.Name}
				if seen[k] {
					continue
				}
				seen[k] = true
				switch {
				case !mine:
					around += sign * f.rule.Points()
				case sign > 0:
					own += f.rule.Points()
				}
			}
			return true
		}
		if !each(found, told, 1) {
			return 0, 0, false
		}
		each(v.found, was, -1)
	}
	return own, around, graver <= 0
}

// edits are the written bar with one note changed, or two: to a tone of the chord or
// its scale, the notes after it as they were.
func edits(h *heard, bar int, c Critic, two bool) [][]tune.BassBeat {
	var all [][]tune.BassBeat
	var change func(bass []tune.BassBeat, midi []int, from, more int)
	change = func(bass []tune.BassBeat, midi []int, from, more int) {
		for i := from; i < len(h.slots) && h.slots[i].bar == bar; i++ {
			for _, to := range c.instead(h, midi, i) {
				edited := slices.Clone(bass)
				tok := tune.BassToken{Kind: tune.BassNote, Degree: lineDegree(&h.slots[i], to)}
				if i > 0 {
					tok.Direction = tune.DirectionTo(midi[i-1], to)
				}
				set(edited, h.slots[i].at, tok)
				if i+1 < len(h.slots) && h.slots[i+1].bar == bar {
					if abs(midi[i+1]-to) > 12 {
						continue
					}
					next := *h.slots[i+1].kept
					next.Direction = tune.DirectionTo(to, midi[i+1])
					set(edited, h.slots[i+1].at, next)
				}
				if more > 0 {
					was := midi[i]
					midi[i] = to
					change(edited, midi, i+1, more-1)
					midi[i] = was
				} else {
					all = append(all, edited)
				}
			}
		}
	}
	first, _ := slices.BinarySearchFunc(h.slots, bar, func(s slot, bar int) int { return cmp.Compare(s.bar, bar) })
	more := 0
	if two {
		more = 1
	}
	change(h.bars[bar].Bar.Bass, slices.Clone(h.midi), first, more)
	return all
}

// instead lists the notes that may stand in the place of one of the line.
func (c Critic) instead(h *heard, midi []int, i int) (all []int) {
	from, to := c.Low, min(c.High, c.Low+11)
	if i > 0 {
		from, to = max(c.Low, midi[i-1]-12), min(c.High, midi[i-1]+12)
	}
	for m := from; m <= to; m++ {
		switch last := i+1 == len(midi); {
		case m == midi[i], i > 0 && m == midi[i-1], !last && m == midi[i+1]:
		case h.slots[i].roles[mod12(m)] == chrome && (last || abs(midi[i+1]-m) != 1):
		default:
			all = append(all, m)
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
