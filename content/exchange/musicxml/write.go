package musicxml

import (
	"bytes"
	"slices"
	"strconv"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// Place is where a note is played: string 1 is the highest, fret 0 open, finger 1
// to 4, 0 for none.
type Place struct{ String, Fret, Finger int }

// Shape is a shape as it is struck, with what the left hand does for it.
type Shape struct {
	Chord harmony.Chord
	// Times are when it is struck; the last rings for Halves half beats, and Held says
	// that it is to ring so long, beyond its beat or to the end of it.
	Times  []tune.Position
	Halves int
	Held   bool
	// Places are the strings that are struck.
	Places []Place
}

// Options say what a tune's text alone does not.
type Options struct {
	// Range is that of the bass line, as tune.Line takes it.
	tune.Range
	// Line is the line to write where it is not the one that the bass row leads to,
	// as where it was folded to fit another key.
	Line []tune.LineNote
	// Tuning holds the open strings, low string to high, as MIDI note numbers. Without
	// it there is no tablature, and shapes are left out.
	Tuning []int
	// Places hold where the notes of the bass line are played.
	Places map[tune.Position]Place
	// Shapes are in the order of their times.
	Shapes []Shape
	// Layer is what the shapes were chosen for.
	Layer tune.Layer
}

// textField is the name of the miscellaneous field that holds the tune's own
// text, for what MusicXML has no element for: how copies are written, comments,
// sections outside the form. What is read back is the music; the text is taken
// only where it still says the same.
const textField = "footfall-tune"

// layerField is the name of another: the layer that the shapes were chosen for.
const layerField = "footfall-layer"

const software = "Footfall"

// guitarPart is the identifier of the part.
const guitarPart = "P1"

// steelGuitar is the program of General MIDI, counted from 1 as MusicXML counts it.
const steelGuitar = 26

// Write returns a tune as a MusicXML 4.0 document: one pass of the form, played
// out, with a rehearsal mark where each section starts; chord symbols where they
// change; one guitar part, a staff and its tablature, with the shapes as the first
// voice and below it the bass line, whose degrees stand as lyrics. A short hit has a
// staccato, a held one that ends with its beat a tenuto. The error is that of a
// bass row that leaves the range, a *tune.LineError.
func Write(t *tune.Tune, o Options) ([]byte, error) {
	line := o.Line
	if line == nil {
		var err error
		if line, err = t.Line(o.Range); err != nil {
			return nil, err
		}
	}
	w := writer{tune: t, options: o, bars: t.Unroll(), Grid: t.Grid()}
	w.chooseDivisions()
	w.shapes, w.line = w.shapeStretches(), w.lineStretches(line)
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
	harmony.Grid
	shapes, line []stretch
	// perQuarter is the divisions of a quarter note: 4 times what the chords need.
	perQuarter int
	// chord is the one that was written last.
	chord *harmony.Identity
}

// chooseDivisions takes those on which chords and halves of dotted beats stand whole.
func (w *writer) chooseDivisions() {
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
	guitar := scorePart{ID: guitarPart, Name: "Guitar"}
	guitar.Instrument = &instrument{guitarPart + "-I1", "Guitar", "pluck.guitar.steel"}
	guitar.MIDI = &midiInstrument{guitar.Instrument.ID, 1, steelGuitar}
	s := &score{
		Version:   "4.0",
		WorkTitle: t.Title,
		Identification: &identification{
			Encoding: &encoding{Software: software},
			Misc:     []miscField{{layerField, w.options.Layer.String()}, {textField, tune.Write(t)}},
		},
		Parts: []scorePart{guitar},
	}
	p := part{ID: guitarPart}
	for i := range w.bars {
		m := measure{Number: strconv.Itoa(i + 1)}
		m.add(w.attributes(i)...)
		m.add(w.markings(i)...)
		m.add(w.bar(i)...)
		m.add(w.barEnd(i)...)
		p.Measures = append(p.Measures, m)
	}
	s.Music = append(s.Music, p)
	return s
}

func (m *measure) add(values ...any) {
	for _, v := range values {
		m.Items = append(m.Items, item{v})
	}
}

// attributes are those of the first bar, and the meter where it changes.
func (w *writer) attributes(i int) []any {
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
		// A guitar reads the treble clef an octave down.
		Clefs: []clef{{Number: 1, Sign: "G", Line: 2, Octave: -1}},
	}
	if tuning := w.options.Tuning; tuning != nil {
		a.Staves = 2
		a.Clefs = append(a.Clefs, clef{Number: 2, Sign: "TAB", Line: len(tuning) - 1})
		details := staffDetails{Number: 2, Lines: len(tuning)}
		for i, open := range tuning { // line 1 is the lowest
			p, _ := harmony.ParsePitch(harmony.FlatName(open))
			details.Tuning = append(details.Tuning, staffTuning{i + 1, p.Letter.String(), alterText(p.Alter), int(p.Octave)})
		}
		a.Staff = []staffDetails{details}
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
		types := []directionType{{Metronome: m}}
		if r := swingOf(w.tune); r.Long != r.Short && slices.ContainsFunc(w.bars, func(fb tune.FormBar) bool { return !w.thirds(fb.Meter) }) {
			s.Swing = &swing{First: r.Long, Second: r.Short, Type: "eighth"}
			types = slices.Insert(types, 0, directionType{Words: []string{"Swing"}})
		}
		out = append(out, &direction{Placement: "above", Types: types, Sound: s})
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
