package fretboard

import (
	"errors"
	"slices"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// mostRefused is how many places of a tune are told at most that cannot be arranged.
const mostRefused = 100

// Refused tells every place for which Arrange would refuse a tune whose line stays on the bass
// strings, each place of a section once: a given shape that does not hang on the line's note or
// that no hand holds, a hit above which no shape fits. It is none where the tune can be arranged.
func Refused(t *tune.Tune, neck Neck, hand Hand) (all []*PathError) {
	line, err := t.Line(neck.BassRange())
	if err != nil {
		return nil
	}
	tell := func(err error) *PathError {
		var e *PathError
		if !errors.As(err, &e) {
			return nil
		}
		if !slices.ContainsFunc(all, func(o *PathError) bool {
			return o.Section == e.Section && o.SectionBar == e.SectionBar && o.Beat == e.Beat && o.What == e.What
		}) {
			all = append(all, e)
		}
		return e
	}
	o := optionsOf(t, nil)
	f := gripFinder{neck: neck, hand: hand, w: o.weights, school: o.School, found: map[gripKey][]grip{}}
	ms := settle(moments(t, line, tune.BassHalves))
	// What is refused is taken out, so that what comes after it is looked at too.
	for i := 0; i < len(ms) && len(all) < mostRefused; {
		_, err := f.grips(&ms[i], nextNote(ms, i))
		if err == nil {
			i++
			continue
		}
		if tell(err) == nil || ms[i].strike == nil {
			return all
		}
		ms = unstruck(ms, i)
	}
	for len(all) < mostRefused {
		_, err := f.plan(t, slices.Clone(ms), o.Tempo)
		e := tell(err)
		if e == nil {
			break
		}
		i := slices.IndexFunc(ms, func(m moment) bool { return m.strike != nil && m.at.Bar == e.Bar && m.at.Beat == e.Beat })
		if i < 0 {
			break
		}
		ms = unstruck(ms, i)
	}
	return all
}

// Foreign is a given shape that has notes outside its chord.
type Foreign struct {
	Section    string
	SectionBar int
	At         tune.Position
	Chord      harmony.Chord
	Frets      []int
	// Degrees are those outside.
	Degrees []harmony.Degree
}

// Outside lists the shapes that a tune gives with notes outside their chord, where the bass does
// not only pass under it.
func Outside(t *tune.Tune, neck Neck) (all []Foreign) {
	for _, s := range t.Strikes(tune.BassHalves) {
		lowest := lowestPlace(s.Shape.Frets)
		if lowest == (Place{}) || len(s.Shape.Frets) != len(neck.Tuning) || s.Chord.None ||
			passing(s.Chord, ((neck.MIDI(lowest)-s.Chord.Root.Semitone())%12+12)%12) {
			continue
		}
		if o := neck.ReadOver(s.Shape.Frets, s.Chord); len(o.Outside) > 0 {
			all = append(all, Foreign{s.Bar.Section, s.Bar.SectionBar, s.At, s.Chord, s.Shape.Frets, o.Outside})
		}
	}
	return all
}
