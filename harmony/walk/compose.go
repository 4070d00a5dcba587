package walk

import (
	"errors"
	"fmt"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Options say how to compose.
type Options struct {
	Style Style
	// Seed draws where the line is to go and what it prefers there. The same seed
	// gives the same line.
	Seed uint64
	// Freer is by how much more the seed's liking counts than the style has it, as a
	// share: at 0 seeds part where the style leaves a choice, at 2 nearly anywhere.
	Freer float64
	// Range bounds the line. Low and High lie
	// at least an octave apart.
	tune.Range
	// Hand is what has to reach the notes in time.
	Hand Hand
	// Fill reports the bars to compose, as written, bars counted from 1; the
	// others are kept. Nil composes the bars that have no bass notes, or the
	// whole line where no bar is without.
	Fill func(section string, bar int) bool
}

// Note is a note of a composed line and why it stands there.
type Note struct {
	tune.LineNote
	// Reason says in words what the note does.
	Reason string
	// Kept is set on a note that the player wrote.
	Kept bool
}

// Line is a composed line over one pass of the form.
type Line struct {
	Notes []Note
	// Cost is the line's cost in points, by cost.go.
	Cost float64

	tune *tune.Tune
	bars []tune.FormBar
	fill []bool
	lay  layout
	own  []int // length of each note within its bar, in half beats
}

// Compose finds the line of least cost over one pass of the tune's form, in time
// linear in its length. Bars that are kept hold their notes; where one could
// only be joined outside the range, its first note changes direction. The tune
// is left as it is. An error says that the range is too small for a line.
func Compose(t *tune.Tune, o Options) (*Line, error) {
	if o.High-o.Low < 12 {
		return nil, fmt.Errorf("the bass has from %d to %d (MIDI note numbers); a line needs an octave", o.Low, o.High)
	}
	bars := t.Unroll()
	fill := o.fills(t, bars)
	p := problemOf(t, bars, fill, o)
	if len(p.slots) == 0 {
		return nil, errors.New("the tune has no chord to walk over")
	}
	midi, cost := p.solve()
	line := &Line{Cost: cost, tune: t, bars: bars, fill: fill, lay: layOut(t, bars)}
	for i, s := range p.slots[:p.notes] {
		line.Notes = append(line.Notes, note(p.slots, midi, i))
		line.own = append(line.own, s.halves)
	}
	// Kept bars hold and split notes as they please; the written row knows.
	written, err := line.Tune().Line(o.Range)
	if err != nil {
		return nil, fmt.Errorf("composing: %w", err)
	}
	for i, n := range written {
		line.Notes[i].Halves = n.Halves
	}
	return line, nil
}

func problemOf(t *tune.Tune, bars []tune.FormBar, fill []bool, o Options) problem {
	lay := layOut(t, bars)
	g := newGridding(&lay, o)
	p := problem{
		slots:  g.grid(fill),
		centre: o.Low + (o.High-o.Low)*2/5,
		seed:   o.Seed,
		style:  o.Style,
		freer:  o.Freer,
		hand:   o.Hand.within(o.Low, o.High),
	}
	p.notes = len(p.slots)
	if p.notes > 0 && fill[p.slots[p.notes-1].bar] {
		// The last bar leads back to the top.
		top := p.slots[0]
		top.arrival, top.kept = true, nil
		p.slots = append(p.slots, top)
	}
	p.pitches = make([][]int, len(p.slots))
	for i := range p.slots {
		if i == p.notes {
			p.pitches[i] = p.pitches[0]
			break
		}
		p.pitches[i] = choices(p.slots, i, o)
	}
	p.time(&lay)
	return p
}

// time works out the seconds between the slots; what follows the line's end comes
// when its last bar is over.
func (p *problem) time(l *layout) {
	p.seconds = make([]float64, len(p.slots))
	for i := 1; i < len(p.slots); i++ {
		a, b := p.slots[i-1].start, p.slots[i].start
		if b <= a {
			b += l.Total()
		}
		p.seconds[i] = l.seconds(a, b)
	}
}

// fills works out which bars of the pass are composed.
func (o Options) fills(t *tune.Tune, bars []tune.FormBar) []bool {
	fill := make([]bool, len(bars))
	any := false
	for i, fb := range bars {
		if o.Fill != nil {
			fill[i] = o.Fill(fb.Section, fb.SectionBar)
		} else {
			fill[i] = blank(fb.Bar)
		}
		any = any || fill[i]
	}
	if !any && o.Fill == nil {
		for i := range fill {
			fill[i] = true
		}
	}
	return fill
}

// blank reports a bar without a bass note of its own: no row, or rests alone.
func blank(b *tune.Bar) bool {
	for _, beat := range b.Bass {
		if beat.First.Kind != tune.BassRest || beat.Split && beat.Second.Kind != tune.BassRest {
			return false
		}
	}
	return true
}

// choices returns the note numbers that may stand on a slot.
func choices(slots []slot, i int, o Options) []int {
	s := &slots[i]
	if i == 0 && s.kept != nil {
		return []int{o.Next(nil, keptNote(s))}
	}
	var out []int
	for midi := o.Low; midi <= o.High; midi++ {
		class := mod12(midi)
		if s.kept != nil {
			if class != s.kept.Degree.Of(s.chord.Root).Semitone() {
				continue
			}
			if str, ok := o.Strings[s.kept.Pin]; ok && (midi < str.Low || midi > str.High) {
				continue
			}
		} else if s.hit && !s.tones[class] || !permitted(slots, i, s.roles[class], o.Style) {
			continue
		}
		if i == 0 && midi >= o.Low+12 {
			break // the first note of a tune takes the lowest place
		}
		out = append(out, midi)
	}
	if len(out) == 0 { // a pin to a string that has no such note
		out = append(out, tune.LowestFrom(o.Low, s.kept.Degree.Of(s.chord.Root).Semitone()))
	}
	return out
}

// keptNote is a note of the player's, as yet without a register.
func keptNote(s *slot) tune.LineNote {
	return tune.LineNote{Direction: s.kept.Direction, Pin: s.kept.Pin, Pitch: harmony.Pitch{Note: s.kept.Degree.Of(s.chord.Root)}}
}

// permitted reports whether a note of a role may be composed on a slot.
func permitted(slots []slot, i int, r role, style Style) bool {
	s := &slots[i]
	switch {
	case i == 0:
		return r == root
	case styles[style].leads && !s.arrival && i+1 < len(slots) && slots[i+1].arrival:
		return true
	case s.arrival && r >= step:
		return false
	case s.arrival && r != root && r != third && (i+1 == len(slots) || slots[i+1].arrival):
		return false // alone it would not make the chord clear
	}
	return style.allows(r)
}

// note writes out the note on slot i of a line.
func note(slots []slot, midi []int, i int) Note {
	s := &slots[i]
	d := lineDegree(s, midi[i])
	direction := tune.Nearest
	if s.kept != nil {
		d, direction = s.kept.Degree, s.kept.Direction
	}
	if i > 0 && (s.kept == nil || tune.Move(midi[i-1], mod12(midi[i]), direction) != midi[i]) {
		switch {
		case midi[i] > midi[i-1]:
			direction = tune.Rise
		case midi[i] < midi[i-1]:
			direction = tune.Fall
		default:
			direction = tune.Nearest
		}
	}
	pitch, _ := harmony.PitchOf(d.Of(s.chord.Root), midi[i])
	return Note{
		LineNote: tune.LineNote{At: s.at, Halves: s.halves, Chord: s.chord, Degree: d, Direction: direction, Pitch: pitch, Pin: pinOf(s)},
		Reason:   reason(slots, midi, i),
		Kept:     s.kept != nil,
	}
}

// lineDegree names a note as a bass row has it: by the chord, but within the
// octave, 2 for 9 and 6 for 13.
func lineDegree(s *slot, midi int) harmony.Degree {
	d := s.chord.DegreeOf(midi)
	if d.Number > 7 {
		d.Number -= 7
	}
	return d
}

// pinOf is the string that the player pinned a note to, 0 for none.
func pinOf(s *slot) int {
	if s.kept == nil {
		return 0
	}
	return s.kept.Pin
}
