package musicxml

import "encoding/xml"

// harmony reads a chord symbol with its root, without a frame.
func (s *scanner) harmony(of tag) (*harmonyElement, bool) {
	h := &harmonyElement{XMLName: xml.Name{Local: of.name}, Of: of.attribute("type")}
	ok := s.children(of, func(t tag) bool {
		switch t.name {
		case "numeral", "function", "frame":
			return false
		case "root":
			h.Roots = append(h.Roots, root{})
			r := &h.Roots[len(h.Roots)-1]
			return s.stepped(t, &r.Step, &r.Alter)
		case "bass":
			h.Bass = &bass{}
			return s.stepped(t, &h.Bass.Step, &h.Bass.Alter)
		case "kind":
			k := kindElement{Text: t.given("text"), Symbols: t.attribute("use-symbols")}
			ok := s.field(t, t.name, &k.Value)
			h.Kinds = append(h.Kinds, k)
			return ok
		case "degree":
			d := degreeElement{Print: t.attribute("print-object")}
			ok := s.children(t, func(c tag) bool {
				switch c.name {
				case "degree-value":
					d.Value.Text = c.given("text")
					return s.whole(c, &d.Value.Value)
				case "degree-alter":
					return s.field(c, c.name, &d.Alter)
				}
				return s.field(c, "degree-type", &d.Type)
			})
			h.Degrees = append(h.Degrees, d)
			return ok
		case "inversion":
			return s.whole(t, &h.Inversion)
		case "staff":
			return s.whole(t, &h.Staff)
		}
		return s.field(t, "offset", &h.Offset)
	})
	return h, ok
}

// stepped reads the step and the alteration of a root or a bass.
func (s *scanner) stepped(of tag, step *step, alter *string) bool {
	return s.children(of, func(t tag) bool {
		if t.name == of.name+"-step" {
			step.Text = t.attribute("text")
			return s.field(t, t.name, &step.Step)
		}
		return s.field(t, of.name+"-alter", alter)
	})
}

// signature reads attributes that are a length of notes, a key or clefs alone.
func (s *scanner) signature(of tag) (*attributes, bool) {
	a := &attributes{XMLName: xml.Name{Local: of.name}}
	ok := s.children(of, func(t tag) bool {
		switch t.name {
		case "divisions":
			return s.field(t, t.name, &a.Divisions)
		case "key":
			k := keyElement{}
			ok := s.children(t, func(c tag) bool {
				if c.name == "fifths" {
					k.Fifths = new(int)
					return s.whole(c, k.Fifths)
				}
				return s.field(c, "mode", &k.Mode)
			})
			a.Keys = append(a.Keys, k)
			return ok
		case "clef":
			c := clef{}
			ok := t.given("number") == nil && s.children(t, func(of tag) bool { return s.field(of, "sign", &c.Sign) })
			a.Clefs = append(a.Clefs, c)
			return ok
		}
		return false
	})
	return a, ok
}

// mark reads a direction that has no jump, tempo or swing: its words, and the names of
// the rest.
func (s *scanner) mark(of tag) (*direction, bool) {
	d := &direction{}
	ok := s.children(of, func(t tag) bool {
		switch t.name {
		case "direction-type":
			d.Types = append(d.Types, directionType{})
			kind := &d.Types[len(d.Types)-1]
			return s.children(t, func(c tag) bool {
				switch c.name {
				case "rehearsal", "segno", "coda", "metronome":
					return false
				case "words":
					text, ok := s.content(c)
					kind.Words = append(kind.Words, text)
					return ok
				}
				kind.Other = append(kind.Other, nameOnly{c.name})
				return s.skip(c)
			})
		case "sound":
			for _, name := range [...]string{"tempo", "dacapo", "dalsegno", "segno", "coda", "tocoda", "fine", "forward-repeat"} {
				if t.attribute(name) != "" {
					return false
				}
			}
			return t.empty
		}
		return s.skip(t)
	})
	return d, ok
}

var none = &empty{}

// note reads a note.
func (s *scanner) note(of tag) (*note, bool) {
	if len(s.notes) == 0 {
		s.notes = make([]note, 256)
	}
	n := &s.notes[0]
	*n = note{Dynamics: of.attribute("dynamics")}
	ok := s.children(of, func(t tag) bool {
		switch t.name {
		case "grace":
			n.Grace = none
		case "cue":
			n.Cue = none
		case "chord":
			n.Chord = none
		case "unpitched":
			n.Unpitched = &unpitched{}
		case "rest":
			n.Rest = &rest{Measure: t.attribute("measure")}
		case "pitch":
			n.Pitch = &pitch{}
			return s.pitch(t, n.Pitch)
		case "duration":
			return s.field(t, t.name, &n.Duration)
		case "voice":
			return s.field(t, t.name, &n.Voice)
		case "staff":
			return s.whole(t, &n.Staff)
		case "tie":
			n.Ties = append(n.Ties, tie{t.attribute("type")})
		case "notations":
			n.Notations = append(n.Notations, notations{})
			return s.notations(t, &n.Notations[len(n.Notations)-1])
		case "lyric":
			n.Lyrics = append(n.Lyrics, lyric{Number: t.attribute("number")})
			texts := &n.Lyrics[len(n.Lyrics)-1].Text
			return s.children(t, func(c tag) bool {
				if c.name != "text" {
					return s.skip(c)
				}
				text, ok := s.content(c)
				*texts = append(*texts, text)
				return ok
			})
		}
		return s.skip(t)
	})
	if ok {
		s.notes = s.notes[1:]
	}
	return n, ok
}

func (s *scanner) pitch(of tag, p *pitch) bool {
	return s.children(of, func(t tag) bool {
		switch t.name {
		case "step":
			return s.field(t, t.name, &p.Step)
		case "alter":
			return s.field(t, t.name, &p.Alter)
		case "octave":
			return s.whole(t, &p.Octave)
		}
		return s.skip(t)
	})
}

func (s *scanner) notations(of tag, n *notations) bool {
	return s.children(of, func(t tag) bool {
		switch t.name {
		case "tied":
			n.Tied = append(n.Tied, tie{t.attribute("type")})
		case "articulations":
			a := articulations{}
			ok := s.children(t, func(c tag) bool {
				switch c.name {
				case "staccato":
					a.Staccato = none
				case "tenuto":
					a.Tenuto = none
				default:
					a.Other = append(a.Other, nameOnly{c.name})
				}
				return s.skip(c)
			})
			n.Articulations = append(n.Articulations, a)
			return ok
		case "technical":
			a := technical{}
			ok := s.children(t, func(c tag) bool {
				switch c.name {
				case "string":
					return s.whole(c, &a.String)
				case "fret":
					a.Fret = new(int)
					return s.whole(c, a.Fret)
				case "fingering":
					a.Fingering = &fingering{Placement: c.attribute("placement")}
					return s.whole(c, &a.Fingering.Finger)
				}
				a.Other = append(a.Other, nameOnly{c.name})
				return s.skip(c)
			})
			n.Technical = append(n.Technical, a)
			return ok
		default:
			n.Other = append(n.Other, nameOnly{t.name})
		}
		return s.skip(t)
	})
}
