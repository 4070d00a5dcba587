package musicxml

import (
	"slices"
	"strconv"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// stretch is a part of the pass in which a voice sounds the same notes, in half
// beats from its beginning.
type stretch struct {
	from, to int
	notes    []sounding
	// short notes have a staccato, full ones a tenuto.
	short, full bool
}

// sounding is a note of a voice.
type sounding struct {
	pitch harmony.Pitch
	place *Place
	lyric string
}

// lineStretches are the notes of the bass line.
func (w *writer) lineStretches(line []tune.LineNote) (out []stretch) {
	for _, n := range line {
		tok := tune.BassToken{Kind: tune.BassNote, Degree: n.Degree}
		s := sounding{pitch: n.Pitch, lyric: tok.String()}
		if place, ok := w.options.Places[n.At]; ok {
			s.place = &place
		}
		from := w.Half(n.At)
		out = append(out, stretch{from: from, to: from + n.Halves, notes: []sounding{s}})
	}
	return w.apart(out)
}

// shapeStretches are the shapes, each time that they are struck.
func (w *writer) shapeStretches() (out []stretch) {
	tuning := w.options.Tuning
	if tuning == nil {
		return nil
	}
	for _, s := range w.options.Shapes {
		var notes []sounding
		for _, p := range s.Places {
			midi := tuning[len(tuning)-p.String] + p.Fret
			notes = append(notes, sounding{pitch: s.Chord.PitchAt(midi), place: &p})
		}
		for k, at := range s.Times {
			from := w.Half(at)
			last := k+1 == len(s.Times)
			to := from + 1
			if last {
				to = from + s.Halves
			}
			held := last && s.Held
			if len(notes) > 0 {
				out = append(out, stretch{from: from, to: to, notes: notes, short: !held, full: held})
			}
		}
	}
	return w.apart(out)
}

// apart ends each stretch where the next begins, at the latest with the pass. One that
// then reaches beyond its beat needs no tenuto.
func (w *writer) apart(voice []stretch) []stretch {
	for i := range voice {
		end := w.Total()
		if i+1 < len(voice) {
			end = voice[i+1].from
		}
		s := &voice[i]
		s.to = min(s.to, end)
		s.full = s.full && s.to <= s.from+2-s.from%2
	}
	return voice
}

// lengths are the note lengths that are written as one note, in quarter notes,
// longest first.
var lengths = []struct {
	quarters float64
	name     string
	dots     int
}{
	{6, "whole", 1}, {4, "whole", 0}, {3, "half", 1}, {2, "half", 0}, {1.5, "quarter", 1}, {1, "quarter", 0},
	{0.75, "eighth", 1}, {0.5, "eighth", 0}, {0.25, "16th", 0},
}

// noteValue is what one note or rest of a voice is written as.
type noteValue struct {
	at, quarters float64 // in the bar
	name         string
	dots         int
	beat         int
	// stretch is nil for a rest; starts and ends are set where the stretch does.
	*stretch
	starts, ends bool
	// accidentals are those drawn before its notes.
	accidentals []string
	beam        string
}

// values cuts the part of a voice that lies in a bar into what can be written: a
// rest without a name where it is silent.
func (w *writer) values(i int, voice []stretch) []noteValue {
	start, end := w.Start(i+1), w.Start(i+2)
	var out []noteValue
	at := start
	for k := range voice {
		s := &voice[k]
		if s.to <= start || s.from >= end {
			continue
		}
		out = w.cut(out, i, at, max(s.from, start), nil)
		out = w.cut(out, i, max(s.from, start), min(s.to, end), s)
		at = min(s.to, end)
	}
	if at == start && len(out) == 0 {
		return []noteValue{{quarters: w.bars[i].Meter.Quarters()}}
	}
	out = w.cut(out, i, at, end, nil)
	for k := 1; k < len(out); k++ {
		a, b := &out[k-1], &out[k]
		if a.stretch != nil && b.stretch != nil && a.name == "eighth" && b.name == "eighth" && a.beat == b.beat {
			a.beam, b.beam = "begin", "end"
		}
	}
	return out
}

// cut adds the pieces between two half beats of the pass: to the end of the beat
// first, then the longest that fit.
func (w *writer) cut(out []noteValue, i, from, to int, s *stretch) []noteValue {
	start, meter := w.Start(i+1), w.bars[i].Meter
	for half := from; half < to; {
		next := to
		if (half-start)%2 == 1 {
			next = min(to, half+1)
		}
		at, end := w.quarterAt(i, half-start), w.quarterAt(i, next-start)
		starts := s != nil && half == s.from
		for at < end-1e-9 {
			p := noteValue{at: at, beat: (half - start) / 2, stretch: s}
			for _, l := range lengths {
				p.quarters, p.name, p.dots = l.quarters, l.name, l.dots
				beats := l.quarters / meter.BeatQuarters()
				// A dotted beat is shown: no note of some beats ends within one.
				if l.quarters <= end-at+1e-9 && (beats < 1 || meter.Lower == 4 || beats == float64(int(beats))) {
					break
				}
			}
			p.starts, starts = starts, false
			at += p.quarters
			p.ends = s != nil && at > end-1e-9 && next == s.to
			out = append(out, p)
		}
		half = next
	}
	return out
}

// The voices of the part: on the staff the shapes above and the line below, and the
// same in tablature.
const (
	shapesVoice, lineVoice       = 1, 2
	shapesTabVoice, lineTabVoice = 5, 6
)

// bar writes a bar of both voices, with the chord symbols above the first, and then
// the same in tablature.
func (w *writer) bar(i int) []any {
	type voice struct {
		number int
		pieces []noteValue
	}
	var voices []voice
	shapes, line := w.values(i, w.shapes), w.values(i, w.line)
	if shapes[0].name != "" || len(w.line) == 0 {
		voices = append(voices, voice{shapesVoice, shapes})
	}
	if len(w.line) > 0 {
		voices = append(voices, voice{lineVoice, line})
	}
	var all []*noteValue
	for _, v := range voices {
		for k := range v.pieces {
			all = append(all, &v.pieces[k])
		}
	}
	w.accidentals(all)
	whole := w.divisions(w.bars[i].Meter.Quarters())
	var out []any
	harmonies := w.harmonies(i)
	for k, v := range voices {
		if k > 0 {
			out = append(out, &backup{Duration: whole})
		}
		for _, p := range v.pieces {
			for k == 0 && len(harmonies) > 0 && harmonies[0].at < p.at+p.quarters-1e-9 {
				h := harmonies[0]
				if off := w.divisions(h.at - p.at); off != "0" {
					h.element.Offset = off
				}
				out = append(out, h.element)
				harmonies = harmonies[1:]
			}
			out = append(out, w.onStaff(p, v.number, len(voices) > 1)...)
		}
	}
	if w.options.Tuning == nil {
		return out
	}
	for _, v := range voices {
		out = append(out, &backup{Duration: whole})
		for _, p := range v.pieces {
			out = append(out, w.inTablature(p, v.number-shapesVoice+shapesTabVoice)...)
		}
	}
	return out
}

// onStaff writes a piece in notation. Where two voices share the staff the upper
// one's stems go up and the lower one's down.
func (w *writer) onStaff(p noteValue, voice int, shared bool) (out []any) {
	staff := 0
	if w.options.Tuning != nil {
		staff = 1
	}
	if p.stretch == nil {
		r := w.note(p, voice, staff)
		r.Rest = &rest{}
		if p.name == "" {
			r.Rest.Measure = "yes"
		}
		return []any{r}
	}
	for k, s := range p.notes {
		n := w.note(p, voice, staff)
		n.Pitch = &pitch{Step: s.pitch.Letter.String(), Alter: alterText(s.pitch.Alter), Octave: int(s.pitch.Octave)}
		n.Accidental = p.accidentals[k]
		if shared {
			n.Stem = "up"
			if voice == lineVoice {
				n.Stem = "down"
			}
		}
		nots := p.tie(n)
		if k > 0 {
			n.Chord = &empty{}
		} else if p.beam != "" {
			n.Beams = []beam{{1, p.beam}}
		}
		if p.starts && k == 0 && p.short {
			nots.Articulations = []articulations{{Staccato: &empty{}}}
		} else if p.starts && k == 0 && p.full {
			nots.Articulations = []articulations{{Tenuto: &empty{}}}
		}
		if p.starts && s.place != nil && s.place.Finger > 0 {
			finger := fingering{"above", s.place.Finger}
			if voice == lineVoice {
				finger.Placement = "below"
			}
			nots.Technical = []technical{{Fingering: &finger}}
		}
		n.notate(nots)
		if p.starts && s.lyric != "" {
			n.Lyrics = []lyric{{Number: "1", Text: []string{s.lyric}}}
		}
		out = append(out, n)
	}
	return out
}

// inTablature writes a piece on the strings. The notes are those of the staff, and
// silent, so that they sound once.
func (w *writer) inTablature(p noteValue, voice int) (out []any) {
	if p.stretch != nil {
		for _, s := range p.notes {
			if s.place == nil {
				continue
			}
			n := w.note(p, voice, 2)
			n.Dynamics = "0"
			n.Pitch = &pitch{Step: s.pitch.Letter.String(), Alter: alterText(s.pitch.Alter), Octave: int(s.pitch.Octave)}
			if len(out) > 0 {
				n.Chord = &empty{}
			}
			nots := p.tie(n)
			nots.Technical = []technical{{String: s.place.String, Fret: &s.place.Fret}}
			n.notate(nots)
			out = append(out, n)
		}
	}
	if out == nil {
		out = []any{&forward{Duration: w.divisions(p.quarters), Voice: strconv.Itoa(voice), Staff: 2}}
	}
	return out
}

func (w *writer) note(p noteValue, voice, staff int) *note {
	return &note{Duration: w.divisions(p.quarters), Voice: strconv.Itoa(voice), Type: p.name, Dots: make([]empty, p.dots), Staff: staff}
}

// tie ties a note to the pieces of its stretch before and behind it, and returns what
// is to be drawn of that.
func (p *noteValue) tie(n *note) (nots notations) {
	if !p.starts {
		n.Ties = append(n.Ties, tie{"stop"})
	}
	if !p.ends {
		n.Ties = append(n.Ties, tie{"start"})
	}
	nots.Tied = n.Ties
	return nots
}

// notate adds notations, if there are any.
func (n *note) notate(nots notations) {
	if nots.Tied != nil || nots.Technical != nil || nots.Articulations != nil {
		n.Notations = []notations{nots}
	}
}

var accidentalNames = map[int8]string{-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

// accidentals finds what must be drawn before the notes of a bar: where the
// alteration is neither the one drawn before it on its line in this bar nor, without
// any, the key signature's.
func (w *writer) accidentals(all []*noteValue) {
	slices.SortStableFunc(all, func(a, b *noteValue) int {
		switch {
		case a.at < b.at-1e-9:
			return -1
		case a.at > b.at+1e-9:
			return 1
		}
		return 0
	})
	type line struct {
		harmony.Letter
		octave int8
	}
	drawn := map[line]int8{}
	for _, p := range all {
		if p.stretch == nil {
			continue
		}
		for _, s := range p.notes {
			at := line{s.pitch.Letter, s.pitch.Octave}
			holds, known := drawn[at]
			if !known {
				holds = w.tune.Key.Alter(s.pitch.Letter)
			}
			sign := ""
			if p.starts && s.pitch.Alter != holds {
				drawn[at], sign = s.pitch.Alter, accidentalNames[s.pitch.Alter]
			}
			p.accidentals = append(p.accidentals, sign)
		}
	}
}
