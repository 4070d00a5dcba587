package fretboard

import (
	"fmt"
	"slices"
)

// pin is where the shapes row gives a shape, for every pass over its bar.
type pin struct {
	section   string
	bar, beat int
}

// pinned is the pin of a moment with a given shape.
func (m *moment) pinned() pin {
	return pin{m.strike.Bar.Section, m.strike.Bar.SectionBar, m.strike.At.Beat}
}

// mostHeld is how many moments are gone over again, in all, to see whether one of several
// given shapes would come without being forced, so that the time has a bound.
const mostHeld = 4000

// given plans moments so that a given shape changes nothing where it is there anyway:
// equal bars stay tied then. Only those that are not are forced, and of a few only those
// without which the others would not come.
func given(ms []moment, solve func([]moment) (*plan, error)) (*plan, error) {
	if !slices.ContainsFunc(ms, func(m moment) bool { return m.forced != nil }) {
		return solve(ms)
	}
	held := map[pin]bool{}
	try := func() (*plan, []pin) {
		free := slices.Clone(ms)
		for i := range free {
			if m := &free[i]; m.forced != nil && !held[m.pinned()] {
				m.given, m.forced = m.forced, nil
			}
		}
		p, err := solve(free)
		if err != nil {
			return nil, nil
		}
		return p, p.against()
	}
	var order []pin
	best, against := try()
	for best != nil && len(against) > 0 {
		for _, p := range against {
			held[p] = true
		}
		order = append(order, against...)
		best, against = try()
	}
	if best == nil {
		return solve(ms)
	}
	if len(order) > 1 && len(order)*len(ms) <= mostHeld {
		for _, p := range order {
			delete(held, p)
			if without, against := try(); without != nil && len(against) == 0 {
				best = without
			} else {
				held[p] = true
			}
		}
	}
	return best, nil
}

// against lists the given shapes that a plan was free to take and did not, each once.
func (p *plan) against() (all []pin) {
	for i := range p.ms {
		m := &p.ms[i]
		if m.given != nil && m.strike != nil && !slices.Equal(p.path[i].shape.Frets, m.given) && !slices.Contains(all, m.pinned()) {
			all = append(all, m.pinned())
		}
	}
	return all
}

// follow slides a given shape to the bass note it hangs on, or gives it up for the
// program's own where it leaves the neck or the hand cannot hold it there.
func (m *moment) follow(neck Neck, hand Hand) {
	if m.forced == nil || m.bass == nil || lowestPlace(m.forced) == (Place{}) {
		return
	}
	by := m.bass.Pitch.MIDI() - neck.MIDI(lowestPlace(m.forced))
	moved := slices.Clone(m.forced)
	for i, fret := range moved {
		if fret < 0 {
			continue
		}
		if moved[i] += by; moved[i] < 0 || moved[i] > neck.HighestFret {
			m.forced = nil
			return
		}
	}
	if _, held := neck.Fingering(hand, moved); !held {
		moved = nil
	}
	m.forced = moved
}

// forcedGrips fingers a shape that the shapes row gives: as one of the program's own
// where it is one. There are none where the shape's lowest note is not at the place or
// the hand cannot hold it.
func (f *gripFinder) forcedGrips(m, next *moment, p Place) []grip {
	if lowestPlace(m.forced) != p || len(m.forced) != len(f.neck.Tuning) {
		return nil
	}
	own := slices.Clone(f.ownGrips(m, next, p))
	if own = slices.DeleteFunc(own, func(g grip) bool { return !slices.Equal(g.shape.Frets, m.forced) }); len(own) > 0 {
		return own
	}
	fingering, can := f.neck.Fingering(f.hand, m.forced)
	if !can {
		return nil
	}
	s := Shape{Frets: m.forced, Fingering: fingering, Rank: fingering.Effort}
	return f.shapeGrips(&s, p, f.w.Unknown+f.w.hold(f.neck, &s, m.chord))
}

// lowestPlace is the place of the first string that a shape plays; the zero
// Place where it plays none.
func lowestPlace(frets []int) Place {
	for i, fret := range frets {
		if fret >= 0 {
			return Place{String: len(frets) - i, Fret: fret}
		}
	}
	return Place{}
}

func (f *gripFinder) noForced(m *moment) error {
	text := FormatFrets(m.forced)
	if len(m.forced) != len(f.neck.Tuning) {
		return m.fail(fmt.Sprintf("the shape %s has %d strings, the neck %d", text, len(m.forced), len(f.neck.Tuning)), "write a fret or x for each string")
	}
	lowest := lowestPlace(m.forced)
	if lowest == (Place{}) {
		return m.fail(fmt.Sprintf("the shape %s plays no string", text), "write the frets it plays, or * for a shape of the program's")
	}
	if m.bass != nil && f.neck.MIDI(lowest) != m.bass.Pitch.MIDI() {
		return m.fail(fmt.Sprintf("the shape %s has %s lowest, but the bass line has %s here", text,
			m.chord.PitchAt(f.neck.MIDI(lowest)), m.bass.Pitch), "build the shape on the line's note, or write *")
	}
	return m.fail(fmt.Sprintf("the shape %s cannot be held with four fingers inside %.0f mm", text, f.hand.ReachMM), "leave a note out, or write *")
}
