package musicxml

import (
	"bytes"
	"slices"
	"strconv"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Place is where a bass note is played: string 1 is the highest, fret 0 open.
type Place struct{ String, Fret int }

// Options say what a tune's text alone does not.
type Options struct {
	// Range is that of the bass line, as tune.Line takes it.
	tune.Range
	// Line is the line to write where it is not the one that the bass row leads to,
	// as where it was folded to fit another key.
	Line []tune.LineNote
	// Places hold where the notes of the bass line are played, by where they
	// stand in the pass; notes without one get no tablature data.
	Places map[tune.Position]Place
	// Shapes hold the frets of shapes to draw, low string to high, −1 not played.
	// Shapes that the tune itself names are drawn without being here.
	Shapes map[tune.Position][]int
}

// textField is the name of the miscellaneous field that holds the tune's own
// text, for what MusicXML has no element for: how copies are written, comments,
// sections outside the form. What is read back is the music; the text is taken
// only where it still says the same.
const textField = "footfall-tune"

const software = "Footfall"

// The identifiers of the parts.
const (
	bassPart = "P1"
	hitsPart = "P2"
)

// Write returns a tune as a MusicXML 4.0 document: one pass of the form, played
// out, with a rehearsal mark where each section starts; chord symbols, the bass
// line with a lyric of degrees as the tune writes them, tablature data and frame
// diagrams, and where the tune has hits a second part with their rhythm. The
// error is that of a bass row that leaves the range, a *tune.LineError.
func Write(t *tune.Tune, o Options) ([]byte, error) {
	line := o.Line
	if line == nil {
		var err error
		if line, err = t.Line(o.Range); err != nil {
			return nil, err
		}
	}
	w := writer{tune: t, options: o, bars: t.Unroll(), hits: drawnHits(t)}
	w.grid()
	w.notes = map[tune.Position]tune.LineNote{}
	for _, n := range line {
		w.notes[n.At] = n
	}
	var out bytes.Buffer
	if err := encode(&out, w.score()); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

type writer struct {
	tune    *tune.Tune
	options Options
	bars    []tune.FormBar
	// hits are the rhythm of what is written, by bar and beat.
	hits  [][]tune.HitToken
	notes map[tune.Position]tune.LineNote
	// perQuarter is the divisions of a quarter note: 4 times what the chords need.
	perQuarter int
	// drawn holds the alterations that stand in the bar, by line of the staff.
	drawn map[pitch]int8
}

// grid chooses the divisions, so that chords and halves of dotted beats stand on
// whole ones.
func (w *writer) grid() {
	w.perQuarter = 4
	for _, fb := range w.bars {
		for _, c := range fb.Bar.Chords {
			if c.Slots > 0 {
				w.perQuarter = w.perQuarter / gcd(w.perQuarter, c.Slots) * c.Slots
			}
		}
		if w.perQuarter > maxDivisions {
			w.perQuarter = maxDivisions
			return
		}
	}
	for w.perQuarter%4 != 0 {
		w.perQuarter *= 2
	}
}

// maxDivisions is the most that Standard MIDI Files, which many programs count
// by, can hold, rounded down to many divisors.
const maxDivisions = 15120

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// divisions writes a length in quarter notes as divisions.
func (w *writer) divisions(quarters float64) string {
	return strconv.Itoa(int(quarters*float64(w.perQuarter) + 0.5))
}

// quarterAt returns where a half beat of a bar stands, in quarter notes. In
// dotted beats at 2:1 the second half is written where it sounds, as the last
// third; all other swing is written even.
func (w *writer) quarterAt(i, half int) float64 {
	m := w.bars[i].Meter
	beat, off := harmony.BeatOf(half)
	at := float64(beat-1) * m.BeatQuarters()
	if off {
		at += w.offbeat(m)
	}
	return at
}

func (w *writer) offbeat(m tune.Meter) float64 {
	if w.thirds(m) {
		return 1
	}
	return m.BeatQuarters() / 2
}

func (w *writer) thirds(m tune.Meter) bool {
	return m.Lower == 8 && swingOf(w.tune) == tune.Ratio{Long: 2, Short: 1}
}

// swingOf returns the swing ratio of a tune at its tempo.
func swingOf(t *tune.Tune) tune.Ratio { return t.Swing.RatioAt(t.Tempo / t.Meter.BeatQuarters()) }

func (w *writer) score() *score {
	t := w.tune
	s := &score{
		Version:   "4.0",
		WorkTitle: t.Title,
		Identification: &identification{
			Encoding: &encoding{Software: software},
			Misc:     []miscField{{textField, tune.Write(t)}},
		},
		Parts: []scorePart{{bassPart, "Bass"}},
	}
	p := part{ID: bassPart}
	tied := false
	sounding := (*tune.LineNote)(nil)
	for i := range w.bars {
		m := measure{Number: strconv.Itoa(i + 1)}
		m.add(w.attributes(i, false)...)
		m.add(w.markings(i)...)
		m.add(w.bass(i, &tied, &sounding)...)
		m.add(w.barEnd(i)...)
		p.Measures = append(p.Measures, m)
	}
	s.Music = append(s.Music, p)
	if w.hasHits() {
		s.Parts = append(s.Parts, scorePart{hitsPart, "Hits"})
		p := part{ID: hitsPart}
		for i := range w.bars {
			m := measure{Number: strconv.Itoa(i + 1)}
			m.add(w.attributes(i, true)...)
			m.add(w.rhythm(i)...)
			p.Measures = append(p.Measures, m)
		}
		s.Music = append(s.Music, p)
	}
	return s
}

func (m *measure) add(values ...any) {
	for _, v := range values {
		m.Items = append(m.Items, item{v})
	}
}

// attributes are those of the first bar, and the meter where it changes.
func (w *writer) attributes(i int, hits bool) []any {
	m := w.bars[i].Meter
	times := []timeElement{{[]string{strconv.Itoa(m.Upper)}, []string{strconv.Itoa(m.Lower)}}}
	switch {
	case i > 0 && m == w.bars[i-1].Meter:
		return nil
	case i > 0:
		return []any{&attributes{Times: times}}
	}
	fifths := w.tune.Key.Signature()
	mode := "major"
	if w.tune.Key.Minor {
		mode = "minor"
	}
	a := &attributes{
		Divisions: strconv.Itoa(w.perQuarter),
		Keys:      []keyElement{{&fifths, mode}},
		Times:     times,
	}
	if hits {
		a.Clefs = []clef{{Sign: "percussion"}}
		a.Staff = &staffDetails{Lines: 1}
	} else {
		// A guitar reads the treble clef an octave down.
		a.Clefs = []clef{{Sign: "G", Line: 2, Octave: -1}}
	}
	return []any{a}
}

// markings are what stands above the start of a bar: the section's name, the
// tempo, the words.
func (w *writer) markings(i int) []any {
	var out []any
	fb := w.bars[i]
	if fb.SectionBar == 1 {
		out = append(out, &direction{Placement: "above", Types: []directionType{{Rehearsal: []string{fb.Section}}}})
	}
	if i == 0 {
		tempo := strconv.FormatFloat(w.tune.Tempo, 'f', -1, 64)
		m := &metronome{Unit: "quarter", PerMinute: tempo}
		if fb.Meter.Lower == 8 {
			m.Dots = []empty{{}}
			m.PerMinute = strconv.FormatFloat(float64(int(w.tune.Tempo/1.5*1000+0.5))/1000, 'f', -1, 64)
		}
		s := &sound{Tempo: tempo}
		if r := swingOf(w.tune); r.Long != r.Short && slices.ContainsFunc(w.bars, func(fb tune.FormBar) bool { return !w.thirds(fb.Meter) }) {
			s.Swing = &swing{First: r.Long, Second: r.Short, Type: "eighth"}
		}
		out = append(out, &direction{Placement: "above", Types: []directionType{{Metronome: m}}, Sound: s})
	}
	if fb.Bar.Words != "" {
		out = append(out, &direction{Placement: "above", Types: []directionType{{Words: []string{fb.Bar.Words}}}})
	}
	return out
}

func (w *writer) barEnd(i int) []any {
	switch {
	case i == len(w.bars)-1:
		return []any{&barline{Location: "right", Style: "light-heavy"}}
	case w.bars[i+1].SectionBar == 1:
		return []any{&barline{Location: "right", Style: "light-light"}}
	}
	return nil
}

// event is a stretch of a bar in which the bass does one thing.
type event struct {
	from, to int // half beats of the bar
	note     *tune.LineNote
	starts   bool
}

// events cuts a bar into its notes and rests; sounding is the note that reaches
// over from the bar before, and then into the next.
func (w *writer) events(i int, sounding **tune.LineNote) []event {
	fb := w.bars[i]
	tokens := make([]tune.BassToken, fb.Meter.Halves())
	for b := range fb.Bar.Bass {
		tokens[2*b] = fb.Bar.Bass[b].First
		tokens[2*b+1] = tune.BassToken{Kind: tune.BassHold}
		if fb.Bar.Bass[b].Split {
			tokens[2*b+1] = fb.Bar.Bass[b].Second
		}
	}
	var out []event
	for half, tok := range tokens {
		starts := false
		switch tok.Kind {
		case tune.BassRest:
			*sounding = nil
		case tune.BassNote:
			beat, off := harmony.BeatOf(half)
			n, ok := w.notes[tune.Position{Bar: i + 1, Beat: beat, Off: off}]
			if *sounding = nil; ok {
				*sounding, starts = &n, true
			}
		}
		if k := len(out) - 1; k >= 0 && !starts && out[k].note == *sounding {
			out[k].to = half + 1
			continue
		}
		out = append(out, event{half, half + 1, *sounding, starts})
	}
	return out
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

// bass writes a bar of the line with the chord symbols above it.
func (w *writer) bass(i int, tied *bool, sounding **tune.LineNote) []any {
	harmonies := w.harmonies(i)
	var out []any
	w.drawn = map[pitch]int8{}
	events := w.events(i, sounding)
	for k, e := range events {
		from, to := w.quarterAt(i, e.from), w.quarterAt(i, e.to)
		for len(harmonies) > 0 && harmonies[0].at < to-1e-9 {
			h := harmonies[0]
			if off := w.divisions(h.at - from); off != "0" {
				h.element.Offset = off
			}
			out = append(out, h.element)
			harmonies = harmonies[1:]
		}
		first := e.starts
		for at := from; at < to-1e-9; {
			piece := lengths[len(lengths)-1]
			for _, l := range lengths {
				if l.quarters <= to-at+1e-9 {
					piece = l
					break
				}
			}
			at += piece.quarters
			n := &note{Duration: w.divisions(piece.quarters), Voice: "1", Type: piece.name, Dots: make([]empty, piece.dots)}
			if e.note == nil {
				n.Rest = &empty{}
			} else {
				last := at >= to-1e-9 && !(k == len(events)-1 && w.holdsOver(i, e.note))
				w.pitched(n, e.note, first, *tied, !last)
				*tied = !last
			}
			first = false
			out = append(out, n)
		}
	}
	return out
}

// holdsOver reports whether the note that ends bar i is held into the next.
func (w *writer) holdsOver(i int, n *tune.LineNote) bool {
	if i+1 >= len(w.bars) {
		return false
	}
	next := w.bars[i+1].Bar.Bass
	return len(next) > 0 && next[0].First.Kind == tune.BassHold
}

// pitched fills in a note of the line: first of its pieces, tied to the one
// before, tied to the one behind.
func (w *writer) pitched(n *note, line *tune.LineNote, first, before, behind bool) {
	p := line.Pitch
	n.Pitch = &pitch{Step: p.Letter.String(), Alter: alterText(p.Alter), Octave: int(p.Octave)}
	if first || !before {
		n.Accidental = w.accidental(p)
	}
	var nots notations
	if !first && before {
		n.Ties = append(n.Ties, tie{"stop"})
		nots.Tied = append(nots.Tied, tie{"stop"})
	}
	if behind {
		n.Ties = append(n.Ties, tie{"start"})
		nots.Tied = append(nots.Tied, tie{"start"})
	}
	if place, ok := w.options.Places[line.At]; ok {
		fret := place.Fret
		nots.Technical = []technical{{String: place.String, Fret: &fret}}
	}
	if nots.Tied != nil || nots.Technical != nil {
		n.Notations = []notations{nots}
	}
	if first {
		tok := tune.BassToken{Kind: tune.BassNote, Degree: line.Degree, Direction: line.Direction}
		n.Lyrics = []lyric{{Number: "1", Text: []string{tok.String()}}}
	}
}

var accidentalNames = map[int8]string{-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

// accidental returns what must be drawn before a note: where its alteration is
// neither the one drawn before it on its line in this bar nor, without any, the
// key signature's.
func (w *writer) accidental(p harmony.Pitch) string {
	line := pitch{Step: p.Letter.String(), Octave: int(p.Octave)}
	holds, drawn := w.drawn[line]
	if !drawn {
		holds = w.tune.Key.Alter(p.Letter)
	}
	if p.Alter == holds {
		return ""
	}
	w.drawn[line] = p.Alter
	return accidentalNames[p.Alter]
}

func (w *writer) hasHits() bool {
	return slices.ContainsFunc(w.hits, func(bar []tune.HitToken) bool { return len(bar) > 0 })
}

// drawnHits returns the rhythm of what a tune's hits rows and rhythms strike, by
// bar and beat: on, and or both, and whether its last strike is held. A bar without
// any has none.
func drawnHits(t *tune.Tune) [][]tune.HitToken {
	bars := t.Unroll()
	hits := make([][]tune.HitToken, len(bars))
	for _, s := range t.Strikes(tune.BassHalves) {
		if s.By == tune.ByLayer {
			continue
		}
		for _, at := range s.Times {
			bar := &hits[at.Bar-1]
			if *bar == nil {
				*bar = make([]tune.HitToken, bars[at.Bar-1].Meter.Beats())
			}
			h := &(*bar)[at.Beat-1]
			switch {
			case h.Hit != tune.NoHit:
				h.Hit = tune.HitBoth
			case at.Off:
				h.Hit = tune.HitAnd
			default:
				h.Hit = tune.HitOn
			}
			h.Held = s.Held
		}
	}
	return hits
}

// rhythm writes a bar of the hits' rhythm, beat by beat, with slashes; one that is
// held has a tenuto.
func (w *writer) rhythm(i int) []any {
	var out []any
	m := w.bars[i].Meter
	whole, off := m.BeatQuarters(), w.offbeat(m)
	for beat := range m.Beats() {
		var h tune.HitToken
		if w.hits[i] != nil {
			h = w.hits[i][beat]
		}
		if h.Hit == tune.NoHit || h.Hit == tune.HitOn {
			out = append(out, w.slash(whole, h.Hit == tune.HitOn))
		} else {
			out = append(out, w.slash(off, h.Hit == tune.HitBoth), w.slash(whole-off, true))
		}
		if h.Held {
			out[len(out)-1].(*note).Notations = []notations{{Articulations: []articulations{{Tenuto: &empty{}}}}}
		}
	}
	return out
}

func (w *writer) slash(quarters float64, struck bool) *note {
	n := &note{Duration: w.divisions(quarters), Voice: "1"}
	for _, l := range lengths {
		if l.quarters == quarters {
			n.Type, n.Dots = l.name, make([]empty, l.dots)
		}
	}
	if !struck {
		n.Rest = &empty{}
		return n
	}
	n.Unpitched = &unpitched{Step: "B", Octave: 4}
	n.Head = "slash"
	return n
}
