package edit

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Token returns the text of the place, as Set takes it: a beat's token, the
// chords of the whole bar where one starts off the beat, or the bar's words.
func (d *Document) Token() string {
	return tokenAt(d.tune, d.Bar(d.at), d.at)
}

func tokenAt(t *tune.Tune, b *tune.Bar, p Place) string {
	switch p.Row {
	case tune.ChordsRow:
		text := "."
		for _, c := range b.Chords {
			beat, on := beatOf(c, t.MeterOf(&t.Sections[p.Section]).Beats())
			switch {
			case beat == p.Beat && !on:
				return tune.ChordCell(b.Chords)
			case beat == p.Beat:
				text = c.Chord.String()
			}
		}
		return text
	case tune.BassRow:
		if p.Beat < len(b.Bass) {
			return b.Bass[p.Beat].String()
		}
	case tune.HitsRow:
		hits := b.Hits
		if hits == nil {
			hits = rhythm(t, &t.Sections[p.Section])
		}
		return hits[p.Beat].String()
	case tune.ShapesRow:
		if p.Beat < len(b.Shapes) {
			return b.Shapes[p.Beat].String()
		}
	case tune.WordsRow:
		return b.Words
	}
	return "."
}

// rhythm is what a bar of a section has where it has no hits row: that of its
// comping, or what the layer asks for.
func rhythm(t *tune.Tune, s *tune.Section) []tune.HitToken {
	beats := t.MeterOf(s).Beats()
	if hits := t.CompingOf(s).Hits(beats); hits != nil {
		return hits
	}
	return slices.Repeat([]tune.HitToken{{Hit: tune.HitLayer}}, beats)
}

// beatOf returns the beat, from 0, within which a change stands, and whether it
// stands on it.
func beatOf(c tune.Change, beats int) (beat int, on bool) {
	return c.Slot * beats / c.Slots, c.Slot*beats%c.Slots == 0
}

// Set writes a text at the place and goes on behind it.
//
// In the chords row one symbol starts on the beat, a . lets the chord before it
// hold, and several share the bar evenly. In the other rows each token takes a
// beat, from the place on. % and =A3 make the bar of the row a copy. In the
// words row the text is the bar's words. Bars that copy the one that is written
// to follow it. An error says what would do, and then nothing is changed.
func (d *Document) Set(text string) error {
	taken := 0
	err := d.change(func(t *tune.Tune) (err error) {
		taken, err = d.write(t, text)
		return err
	})
	if err == nil {
		d.MoveBeats(taken)
	}
	return err
}

// Try returns the tune or the error that Set would lead to, and changes nothing.
func (d *Document) Try(text string) (*tune.Tune, error) {
	_, t, err := d.changed(func(t *tune.Tune) error {
		_, err := d.write(t, text)
		return err
	})
	return t, err
}

// Clear empties the place: no chord starts, no note sounds, no words.
func (d *Document) Clear() error {
	text := "."
	if d.at.Row == tune.WordsRow {
		text = ""
	}
	at := d.at
	err := d.Set(text)
	d.at = at
	return err
}

// write writes a text at the place into a tune, and returns the beats, or bars
// of the words row, to go on by.
func (d *Document) write(t *tune.Tune, text string) (taken int, err error) {
	p := d.at
	s := &t.Sections[p.Section]
	b := &s.Bars[p.Bar]
	beats := t.MeterOf(s).Beats()
	if p.Row == tune.WordsRow && !tune.IsCopy(text) && text != "%" {
		if strings.Contains(text, "|") {
			return 0, errors.New(`found "|"; write words without it, which ends a bar`)
		}
		b.Words, b.Copies[p.Row] = text, tune.Copy{}
		return 1, nil
	}
	tokens := strings.Fields(text)
	if len(tokens) == 0 {
		return 0, errors.New("nothing is written yet")
	}
	rest := beats - p.Beat
	if p.Row == tune.WordsRow {
		rest = 1
	}
	if len(tokens) == 1 && (tokens[0] == "%" || strings.HasPrefix(tokens[0], "=")) {
		c, err := d.copyNamed(tokens[0])
		if err != nil {
			return 0, err
		}
		b.Copies[p.Row] = c
		return rest, nil
	}
	if p.Row == tune.ChordsRow {
		if err := d.writeChords(s, tokens); err != nil {
			return 0, err
		}
		return rest, nil
	}
	if len(tokens) > rest {
		return 0, fmt.Errorf("found %d tokens; write at most %d: the bar has beats %d to %d from here on", len(tokens), rest, p.Beat+1, beats)
	}
	for i, tok := range tokens {
		if err := writeToken(t, s, b, p.Row, p.Beat+i, tok); err != nil {
			return 0, err
		}
	}
	b.Copies[p.Row] = tune.Copy{}
	return len(tokens), nil
}

// writeToken writes the token of a beat of the bass, hits or shapes row. A
// section that has no such row gets one.
func writeToken(t *tune.Tune, s *tune.Section, b *tune.Bar, row tune.Row, beat int, tok string) error {
	beats := t.MeterOf(s).Beats()
	for i := range s.Bars {
		x := &s.Bars[i]
		switch {
		case row == tune.BassRow && x.Bass == nil:
			x.Bass = make([]tune.BassBeat, beats)
		case row == tune.HitsRow && x.Hits == nil:
			x.Hits = rhythm(t, s)
		case row == tune.ShapesRow && x.Shapes == nil:
			x.Shapes = make([]tune.ShapeToken, beats)
		}
	}
	switch row {
	case tune.BassRow:
		beatTokens, err := tune.ParseBassBeat(tok)
		if err != nil {
			return fmt.Errorf("found \"%s\"; write %w", tok, err)
		}
		b.Bass[beat] = beatTokens
	case tune.HitsRow:
		h, ok := tune.ParseHit(tok)
		if !ok {
			return fmt.Errorf("found \"%s\"; write %s", tok, tune.WantHit)
		}
		b.Hits[beat] = h
	case tune.ShapesRow:
		shape, err := tune.ParseShape(tok)
		if err != nil {
			return fmt.Errorf("found \"%s\"; write %w", tok, err)
		}
		b.Shapes[beat] = shape
	}
	return nil
}

// Pin pins the bass notes of the place's beat to the next of some strings, and
// after the last to none. A beat without a note is an error.
func (d *Document) Pin(strings []int) error {
	p := d.at
	return d.change(func(t *tune.Tune) error {
		b := &t.Sections[p.Section].Bars[p.Bar]
		if p.Beat >= len(b.Bass) {
			return errNoNote
		}
		beat, pinned := &b.Bass[p.Beat], false
		for _, tok := range []*tune.BassToken{&beat.First, &beat.Second} {
			if tok.Kind != tune.BassNote || tok == &beat.Second && !beat.Split {
				continue
			}
			next := slices.Index(strings, tok.Pin) + 1
			if tok.Pin, pinned = 0, true; next < len(strings) {
				tok.Pin = strings[next]
			}
		}
		if !pinned {
			return errNoNote
		}
		b.Copies[tune.BassRow] = tune.Copy{}
		return nil
	})
}

var errNoNote = errors.New("no bass note starts on this beat; go to one that does")

// copyNamed reads % or =A3.
func (d *Document) copyNamed(tok string) (tune.Copy, error) {
	if tok == "%" {
		if d.at.Bar == 0 {
			return tune.Copy{}, errors.New("found % in the first bar of a section; it repeats the bar before")
		}
		return tune.Copy{Kind: tune.Simile}, nil
	}
	for i := range d.tune.Sections[:d.at.Section+1] {
		s := &d.tune.Sections[i]
		for bar := range s.Bars {
			if i == d.at.Section && bar >= d.at.Bar {
				break
			}
			if tok == fmt.Sprintf("=%s%d", s.Name, bar+1) || tok == fmt.Sprintf("=%s:%d", s.Name, bar+1) {
				return tune.Copy{Kind: tune.CopyOf, Section: s.Name, Bar: bar + 1}, nil
			}
		}
	}
	return tune.Copy{}, fmt.Errorf("found \"%s\"; name a bar that stands before this one, such as =%s1", tok, d.tune.Sections[0].Name)
}

// writeChords writes symbols into the bar: one starts on the beat, several share
// the bar.
func (d *Document) writeChords(s *tune.Section, tokens []string) error {
	p := d.at
	b := &s.Bars[p.Bar]
	beats := d.tune.MeterOf(s).Beats()
	held := func() (harmony.Chord, error) {
		if p.Bar == 0 {
			return harmony.Chord{}, errors.New(`found "." with no chord before it in the section; write a chord such as Dm7`)
		}
		before := s.Bars[p.Bar-1].Chords
		return before[len(before)-1].Chord, nil
	}
	first, slots := 0, len(tokens)
	var kept []tune.Change
	holds := false
	if len(tokens) == 1 {
		first, slots = p.Beat, beats
		for _, c := range b.Chords {
			if beat, _ := beatOf(c, beats); beat != p.Beat {
				kept = append(kept, reduced(c))
			}
		}
		holds = p.Beat > 0 && b.Copies[tune.ChordsRow].Kind == tune.HoldsOver
	}
	for i, tok := range tokens {
		at := first + i
		switch {
		case tok == "." && at > 0:
		case tok == ".":
			c, err := held()
			if err != nil {
				return err
			}
			kept = append(kept, tune.Change{Chord: c, Slots: 1})
			holds = true
		default:
			c, err := harmony.ParseChord(tok)
			if err != nil {
				want := "a chord symbol such as Dm7, or N.C. for none"
				if e := (harmony.Fault{}); errors.As(err, &e) {
					want = fmt.Sprintf("in character %d %s", e.Column, e.Want)
				}
				return fmt.Errorf("found \"%s\"; write %s", tok, want)
			}
			kept = append(kept, reduced(tune.Change{Chord: c, Slot: at, Slots: slots}))
		}
	}
	slices.SortStableFunc(kept, func(x, y tune.Change) int { return x.Slot*y.Slots - y.Slot*x.Slots })
	b.Chords, b.Copies[tune.ChordsRow] = kept, tune.Copy{}
	if holds {
		b.Copies[tune.ChordsRow].Kind = tune.HoldsOver
	}
	return nil
}

// reduced puts a change into the fewest slots.
func reduced(c tune.Change) tune.Change {
	a, b := c.Slot, c.Slots
	for a != 0 {
		a, b = b%a, a
	}
	c.Slot, c.Slots = c.Slot/b, c.Slots/b
	return c
}
