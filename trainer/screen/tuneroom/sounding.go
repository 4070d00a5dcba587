package tuneroom

import (
	"errors"
	"slices"

	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/harmony/walk"
)

// spot is a half beat of a written bar, all counted from 0.
type spot struct {
	bar, beat int
	off       bool
}

// heard is a note of the line.
type heard struct {
	note  harmony.Note
	chord harmony.Chord
	place fretboard.Place
	// placed is unset where the line cannot be played.
	placed bool
}

// sounding is what a text sounds like: worked out once for each text.
type sounding struct {
	text  string
	notes map[spot]heard
	// fault says why the line cannot be played.
	fault   error
	remarks []walk.Remark
	judged  bool
	mended  edit.Place // the bar whose remarks have a better one
	// all are the remarks on all bars, without better ones, once criticised is set.
	all        []walk.Remark
	criticised bool
	// whole is the arrangement with every hit, unplayable why there is none.
	whole      *fretboard.Arrangement
	unplayable error
	// offered are the shapes that could be struck at a place.
	offered map[edit.Place]*choosing
}

// arranged is the tune as it stands with every hit: worked out once for each text.
func (p *Page) arranged() (*fretboard.Arrangement, error) {
	s := p.sounding()
	if s.whole == nil && s.unplayable == nil {
		s.whole, s.unplayable = fretboard.Arrange(p.doc.Tune(), p.Neck, p.Hand, fretboard.BassHalves, fretboard.InSchool(p.School))
	}
	return s.whole, s.unplayable
}

// sounding returns what the tune as it stands sounds like.
func (p *Page) sounding() *sounding {
	if p.now != nil && p.now.text == p.doc.Text() {
		return p.now
	}
	t := p.doc.Tune()
	s := &sounding{text: p.doc.Text(), notes: map[spot]heard{}, offered: map[edit.Place]*choosing{}}
	p.now = s
	form := t.Unroll()
	add := func(at tune.Position, h heard) {
		to := spot{p.written(form[at.Bar-1]), at.Beat - 1, at.Off}
		if _, ok := s.notes[to]; !ok {
			s.notes[to] = h
		}
	}
	line, err := t.Line(p.Neck.BassRange())
	var outside *tune.LineError
	if errors.As(err, &outside) {
		s.fault = err
		for _, n := range outside.Fits {
			add(n.At, heard{note: n.Pitch.Note, chord: n.Chord})
		}
		return s
	}
	// Where the whole cannot be played, the line may be.
	a, err := p.arranged()
	if err != nil {
		a, err = fretboard.Arrange(t, p.Neck, p.Hand, fretboard.Bass)
	}
	if err != nil {
		s.fault = err
		for _, n := range line {
			add(n.At, heard{note: n.Pitch.Note, chord: n.Chord})
		}
		return s
	}
	for _, e := range a.Events {
		if e.Kind == fretboard.BassEvent {
			add(e.At, heard{note: e.Note.Note, chord: e.Chord, place: e.Place, placed: true})
		}
	}
	return s
}

// written returns which of the written bars a bar of the form is.
func (p *Page) written(fb tune.FormBar) int {
	t := p.doc.Tune()
	for i := range t.Sections {
		if t.Sections[i].Name == fb.Section {
			return p.doc.Index(edit.Place{Section: i, Bar: fb.SectionBar - 1})
		}
	}
	return 0
}

// remarks returns what the critic says of the bar at the place, with a better one while
// it judges: faults first, praise last.
func (p *Page) remarks() []walk.Remark {
	s := p.sounding()
	at := p.doc.At()
	name := p.doc.Tune().Sections[at.Section].Name
	all := p.criticised
	if here := (edit.Place{Section: at.Section, Bar: at.Bar}); p.judging && (!s.judged || s.mended != here) {
		// A better bar takes its time to find: for this bar alone.
		s.remarks = walk.Criticise(p.doc.Tune(), walk.Critic{
			Range: p.Neck.BassRange(), Hand: p.WalkingHand, Mend: func(section string, bar int) bool { return section == name && bar == at.Bar+1 },
		})
		s.judged, s.mended = true, here
	}
	if p.judging {
		all = func() []walk.Remark { return s.remarks }
	}
	var grave, mind, good []walk.Remark
	for _, r := range all() {
		switch {
		case r.Section != name || r.SectionBar != at.Bar+1:
		case r.Rule.Good:
			good = append(good, r)
		case r.Rule.Grave:
			grave = append(grave, r)
		default:
			mind = append(mind, r)
		}
	}
	return append(append(grave, mind...), good...)
}

// suggested reports whether the critic has a better bar for the place.
func (p *Page) suggested() bool {
	return p.judging && slices.ContainsFunc(p.remarks(), func(r walk.Remark) bool { return r.Better != nil })
}

// takeBetter puts the critic's better bar in.
func (p *Page) takeBetter() {
	if !p.judging {
		return
	}
	for _, r := range p.remarks() {
		if r.Better != nil {
			p.refuse(p.doc.SetBass(p.doc.At(), r.Better))
			return
		}
	}
	p.said = "There is no suggestion for this bar."
}
