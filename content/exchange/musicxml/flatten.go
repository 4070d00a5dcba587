package musicxml

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// flatMeasure is what one measure of one part holds, at times in quarter notes
// from its start.
type flatMeasure struct {
	length    float64
	implicit  bool
	notes     []flatNote
	all       []flatNote   // as notes, before a guitar's are parted
	strikes   []flatStrike // of a guitar part
	harmonies []flatHarmony
	words     []string
	rehearsal string
	key       *keyElement
	time      *timeElement
	tempo     float64
	swing     *tune.Ratio
	// What words say where nothing else does.
	wordTempo float64
	wordSwing *tune.Ratio
	flow
	// What the measure's barlines say of its neighbours.
	leftBackward, leftEnds, rightForward bool
}

// flow is what tells the order that measures are played in.
type flow struct {
	forward, backward bool
	times             int
	endings           []int // numbers of an ending that starts here
	endsEnding        bool
	segno, coda       bool
	toCoda, fine      bool
	daCapo, dalSegno  bool
}

type flatNote struct {
	staff      int
	voice      string
	at, length float64
	midi       int
	unpitched  bool
	tieStop    bool
	staccato   bool
	tenuto     bool
	chord      bool
	token      tune.BassToken
	place      Place // its string is 0 where none is named
}

type flatHarmony struct {
	at      float64
	element *harmonyElement
	key     *keyElement // in force, nil for none
}

// flatPart is a part with its time worked out.
type flatPart struct {
	name     string
	measures []flatMeasure
	// chromatic is what the part's written notes are moved by to sound, in
	// semitones without whole octaves.
	chromatic int
	// tablature is the staff with a tablature's clef, 0 for none; tuning its open
	// strings, low string to high, as MIDI note numbers, nil where it names none.
	tablature int
	tuning    []int
	capo      int // its fret
}

// measure returns a measure by its index, an empty one behind the part's last.
func (p *flatPart) measure(i int) *flatMeasure {
	if i >= len(p.measures) {
		return &flatMeasure{}
	}
	return &p.measures[i]
}

// tally counts what is read but not held, by name.
type tally map[string]int

func (t tally) add(name string, n int) {
	if n > 0 {
		t[name] += n
	}
}

// losses says the counts, in order of their names.
func (t tally) losses() (out []transcribe.Loss) {
	for _, name := range slices.Sorted(maps.Keys(t)) {
		out = append(out, transcribe.Loss{What: fmt.Sprintf("%d × %s left out", t[name], name), Grade: transcribe.Marks})
	}
	return out
}

// flattener walks over a part's measures with a clock.
type flattener struct {
	divisions float64
	transpose int
	now, last float64
	lost      tally
	out       *flatMeasure
	part      *flatPart
	// repeated is of how many measures a sign says to play them again, 0 for no sign.
	repeated int
	key      *keyElement
	// own is set in a document of the program's own, whose words are a tune's cues but
	// for those beside the tempo.
	own bool
}

func flattenPart(name string, p part, own bool, lost tally) flatPart {
	out := flatPart{name: name}
	f := flattener{divisions: 1, lost: lost, part: &out, own: own}
	for _, m := range p.Measures {
		flat := flatMeasure{implicit: m.Implicit == "yes"}
		f.out, f.now, f.last = &flat, 0, 0
		for _, i := range m.Items {
			f.item(i.value)
		}
		if k := len(out.measures); k > 0 {
			// A barline on the left that ends something ends the measure before.
			before := &out.measures[k-1]
			before.backward = before.backward || flat.leftBackward
			before.times = max(before.times, flat.times)
			before.endsEnding = before.endsEnding || flat.leftEnds
			flat.forward = flat.forward || before.rightForward
		}
		if before := len(out.measures) - f.repeated; f.repeated > 0 && before >= 0 && len(flat.notes) == 0 {
			flat.notes = slices.Clone(out.measures[before].notes)
			if len(flat.harmonies) == 0 {
				flat.harmonies = out.measures[before].harmonies
			}
		}
		for _, n := range flat.notes {
			if !n.unpitched && n.midi >= 0 {
				flat.all = append(flat.all, n)
			}
		}
		out.measures = append(out.measures, flat)
	}
	return out
}

func (f *flattener) item(value any) {
	switch v := value.(type) {
	case *attributes:
		f.attributes(v)
	case *note:
		f.note(v)
	case *backup:
		f.now = max(0, f.now-f.duration(v.Duration))
	case *forward:
		f.now += f.duration(v.Duration)
		f.out.length = max(f.out.length, f.now)
	case *harmonyElement:
		if v.Of == "alternate" {
			f.lost.add("alternate harmony", 1)
			return
		}
		f.out.harmonies = append(f.out.harmonies, flatHarmony{f.now + f.duration(v.Offset), v, f.key})
	case *direction:
		f.direction(v)
	case *sound:
		f.sound(v)
	case *barline:
		f.barline(v)
	case *other:
		if v.Name != "print" {
			f.lost.add(v.Name, 1)
		}
	}
}

// duration returns a number of divisions in quarter notes.
func (f *flattener) duration(s string) float64 {
	n := float(s)
	return n / f.divisions
}

// float reads a number; anything else, and what no music has, is 0.
func float(s string) float64 {
	n, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || math.IsNaN(n) || math.Abs(n) > 1e7 {
		return 0
	}
	return n
}

func (f *flattener) attributes(a *attributes) {
	if d := float(a.Divisions); d > 0 {
		f.divisions = d
	}
	if len(a.Keys) > 0 && a.Keys[0].Fifths != nil {
		f.out.key, f.key = &a.Keys[0], &a.Keys[0]
	} else {
		f.lost.add("key without a signature by fifths", len(a.Keys))
	}
	if len(a.Times) > 0 {
		f.out.time = &a.Times[0]
	}
	if len(a.Transpose) > 0 {
		t := a.Transpose[0]
		f.transpose = max(-60, min(60, t.Chromatic+12*max(-4, min(4, t.Octave))))
		f.part.chromatic = f.transpose % 12
	}
	for _, c := range a.Clefs {
		if strings.TrimSpace(c.Sign) == "TAB" {
			f.part.tablature = max(1, c.Number)
		}
	}
	for _, style := range a.Style {
		if r := style.Repeat; r != nil {
			f.repeated = 0
			if r.Type != "stop" {
				f.repeated = max(1, number(r.Of))
			}
		}
	}
	for _, d := range a.Staff {
		f.part.capo = max(f.part.capo, min(d.Capo, 24))
		if tuning := tuningOf(d); tuning != nil {
			f.part.tuning = tuning
		}
	}
}

// tuningOf returns the open strings of a staff, low string to high, nil where not all
// are named.
func tuningOf(d staffDetails) []int {
	if len(d.Tuning) == 0 || d.Lines != 0 && d.Lines != len(d.Tuning) {
		return nil
	}
	lines := slices.Clone(d.Tuning)
	slices.SortFunc(lines, func(a, b staffTuning) int { return a.Line - b.Line })
	var out []int
	for _, l := range lines {
		n, err := harmony.ParseNote(strings.TrimSpace(l.Step))
		if err != nil || l.Octave < 0 || l.Octave > 9 {
			return nil
		}
		out = append(out, harmony.Pitch{Note: n, Octave: int8(l.Octave)}.MIDI()+number(l.Alter))
	}
	return out
}

func (f *flattener) note(n *note) {
	if n.Grace != nil || n.Cue != nil {
		f.lost.add("grace or cue note", 1)
		if n.Cue != nil && n.Chord == nil {
			f.now += f.duration(n.Duration)
			f.out.length = max(f.out.length, f.now)
		}
		return
	}
	length := max(0, f.duration(n.Duration))
	at := f.now
	if n.Chord != nil {
		at = f.last
	} else {
		f.last = at
		f.now += length
		f.out.length = max(f.out.length, f.now)
	}
	if n.Rest != nil || n.Pitch == nil && n.Unpitched == nil {
		return
	}
	flat := flatNote{staff: max(1, n.Staff), voice: n.Voice, at: at, length: length, chord: n.Chord != nil, unpitched: n.Unpitched != nil}
	if n.Pitch != nil {
		l, err := harmony.ParseNote(strings.TrimSpace(n.Pitch.Step))
		if err != nil || n.Pitch.Octave < 0 || n.Pitch.Octave > 9 {
			f.lost.add("note without a readable pitch", 1)
			return
		}
		alter := math.Round(float(n.Pitch.Alter))
		if alter != float(n.Pitch.Alter) {
			f.lost.add("microtonal alteration", 1)
		}
		flat.midi = harmony.Pitch{Note: l, Octave: int8(n.Pitch.Octave)}.MIDI() + max(-12, min(12, int(alter))) + f.transpose
	}
	for _, t := range n.Ties {
		flat.tieStop = flat.tieStop || t.Type == "stop"
	}
	for _, ns := range n.Notations {
		for _, o := range ns.Other {
			f.lost.add(o.Name, 1)
		}
		for _, a := range ns.Articulations {
			flat.tenuto, flat.staccato = flat.tenuto || a.Tenuto != nil, flat.staccato || a.Staccato != nil
			for _, o := range a.Other {
				f.lost.add(o.Name, 1)
			}
		}
		for _, t := range ns.Technical {
			if t.String > 0 && t.Fret != nil {
				flat.place = Place{String: t.String, Fret: *t.Fret}
			}
			for _, o := range t.Other {
				f.lost.add(o.Name, 1)
			}
		}
	}
	for _, l := range n.Lyrics {
		text := strings.TrimSpace(strings.Join(l.Text, ""))
		beat, err := tune.ParseBassBeat(text)
		if err == nil && !beat.Split && beat.First.Kind == tune.BassNote && flat.token.Kind == tune.BassRest {
			flat.token = beat.First
			continue
		}
		f.lost.add("lyric", 1)
	}
	f.out.notes = append(f.out.notes, flat)
}

func (f *flattener) direction(d *direction) {
	withTempo := slices.ContainsFunc(d.Types, func(t directionType) bool { return t.Metronome != nil })
	for _, t := range d.Types {
		for _, r := range t.Rehearsal {
			if f.out.rehearsal == "" {
				f.out.rehearsal = strings.TrimSpace(r)
			}
		}
		for _, w := range t.Words {
			if w = strings.Join(strings.Fields(w), " "); w != "" && !(f.own && withTempo) && (f.own || !f.instruction(w)) {
				f.out.words = append(f.out.words, w)
			}
		}
		f.out.segno = f.out.segno || len(t.Segno) > 0
		f.out.coda = f.out.coda || len(t.Coda) > 0
		if m := t.Metronome; m != nil && f.out.tempo == 0 {
			f.out.tempo = metronomeTempo(m)
		}
		for _, o := range t.Other {
			f.lost.add(o.Name, 1)
		}
	}
	if d.Sound != nil {
		f.sound(d.Sound)
	}
}

// metronomeTempo returns a metronome mark in quarter notes a minute, 0 where it
// is not a number of beats.
func metronomeTempo(m *metronome) float64 {
	unit := map[string]float64{"whole": 4, "half": 2, "quarter": 1, "eighth": 0.5, "16th": 0.25}[strings.TrimSpace(m.Unit)]
	length, dot := unit, unit
	for range min(len(m.Dots), 3) {
		dot /= 2
		length += dot
	}
	return float(m.PerMinute) * length
}

func (f *flattener) sound(s *sound) {
	if t := float(s.Tempo); t > 0 {
		f.out.tempo = t
	}
	if s.Swing != nil && s.Swing.First >= s.Swing.Second && s.Swing.Second > 0 && s.Swing.First < 100 {
		f.out.swing = &tune.Ratio{Long: s.Swing.First, Short: s.Swing.Second}
	} else if s.Swing != nil {
		f.out.swing = &tune.Ratio{Long: 1, Short: 1}
	}
	f.out.daCapo = f.out.daCapo || s.DaCapo == "yes"
	f.out.dalSegno = f.out.dalSegno || s.DalSegno != ""
	f.out.segno = f.out.segno || s.Segno != ""
	f.out.coda = f.out.coda || s.Coda != ""
	f.out.toCoda = f.out.toCoda || s.ToCoda != ""
	f.out.fine = f.out.fine || s.Fine != ""
	f.out.forward = f.out.forward || s.ForwardTo == "yes"
}

func (f *flattener) barline(b *barline) {
	f.out.segno = f.out.segno || b.Segno != nil
	f.out.coda = f.out.coda || b.Coda != nil
	if b.Ending != nil {
		switch b.Ending.Type {
		case "start":
			f.out.endings = endingNumbers(b.Ending.Number)
		case "stop", "discontinue":
			if b.Location == "left" {
				f.out.leftEnds = true
			} else {
				f.out.endsEnding = true
			}
		}
	}
	if b.Repeat != nil {
		switch b.Repeat.Direction {
		case "forward":
			if b.Location == "left" {
				f.out.forward = true
			} else {
				f.out.rightForward = true
			}
		case "backward":
			if b.Location == "left" {
				f.out.leftBackward = true
			} else {
				f.out.backward = true
			}
			f.out.times = max(f.out.times, min(b.Repeat.Times, 16))
		}
	}
}

// endingNumbers reads the numbers of an ending: "1", "1, 2", "1-3".
func endingNumbers(s string) []int {
	var out []int
	for _, field := range strings.FieldsFunc(s, func(c rune) bool { return c == ',' || c == ' ' || c == '.' }) {
		from, to, isRange := strings.Cut(field, "-")
		a, err := strconv.Atoi(from)
		if err != nil || a < 1 || a > 16 {
			continue
		}
		b := a
		if isRange {
			if b, err = strconv.Atoi(to); err != nil || b > 16 {
				continue
			}
		}
		for n := a; n <= b; n++ {
			out = append(out, n)
		}
	}
	if len(out) == 0 {
		out = []int{1}
	}
	return out
}
