package musicxml

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// flatStrike is what a guitar part strikes at once above its line.
type flatStrike struct {
	at, length             float64
	tied, staccato, tenuto bool
	places                 []Place
}

// strike is one in its place in the score: its bar, from 0, its beat from the bar's
// start, and its time and end in beats from the start of the piece.
type strike struct {
	flatStrike
	bar              int
	beat, start, end float64
}

// placedNote is a note of a guitar part's line, in beats from the start of the piece.
type placedNote struct {
	start, end float64
	place      Place
}

// standardTuning is E2 A2 D3 G3 B3 E4, which a part has that names none.
var standardTuning = []int{40, 45, 50, 55, 59, 64}

// strings is how many strings a part's instrument has.
func (p *flatPart) strings() int {
	if p.tuning != nil {
		return len(p.tuning)
	}
	return len(standardTuning)
}

// isLow tells the two lowest strings, on which the line is played.
func (p *flatPart) isLow(n flatNote) bool { return n.place.String >= p.strings()-1 }

// findGuitar finds the part of a guitarist who plays line and shapes both: one with
// frets on the two lowest of six strings or more, where no part is called a bass.
func (r *reader) findGuitar() {
	most := 0
	for i := range r.parts {
		p, low := &r.parts[i], 0
		if strings.Contains(strings.ToLower(p.name), "bass") {
			r.guitar = nil
			return
		}
		for _, m := range p.measures {
			for _, n := range m.notes {
				if p.isLow(n) {
					low++
				}
			}
		}
		if low > most && p.strings() >= len(standardTuning) || r.own && p.tuning != nil {
			most, r.guitar = low, p
		}
	}
	if p := r.guitar; p != nil {
		for i := range p.measures {
			r.unstrung += p.measures[i].joinStaves(p.tablature)
		}
		r.lost.add("note without a string", r.unstrung)
		voice := strconv.Itoa(lineVoice)
		if !r.own {
			voice = p.lineVoice()
		}
		single, stacked := 0, 0
		for i := range p.measures {
			p.part(&p.measures[i], voice)
			for _, s := range p.measures[i].strikes {
				if len(s.places) > 1 {
					stacked++
				} else {
					single++
				}
			}
		}
		if single > stacked && !r.own {
			r.lose(0, "%d single notes above the bass left out; a tune holds a line and shapes", single)
			for i := range p.measures {
				m := &p.measures[i]
				m.strikes = slices.DeleteFunc(m.strikes, func(s flatStrike) bool { return len(s.places) == 1 })
			}
		}
	}
}

// joinStaves leaves a measure the notes that have a string, with what is said of the
// same notes on another staff, and returns how many notes have none.
func (m *flatMeasure) joinStaves(tablature int) (left int) {
	var fretted, others []flatNote
	for _, n := range m.notes {
		if n.place.String > 0 && (tablature == 0 || n.staff == tablature) {
			fretted = append(fretted, n)
		} else if !n.unpitched {
			others = append(others, n)
		}
	}
	if len(fretted) == 0 { // in a part with tablature, measures may have a staff alone
		m.notes = others
		return 0
	}
	for i := range fretted {
		f := &fretted[i]
		f.staff = 1
		k := slices.IndexFunc(others, func(o flatNote) bool { return math.Abs(o.at-f.at) < 1e-6 && (o.midi-f.midi)%12 == 0 })
		if k < 0 {
			continue
		}
		o := others[k]
		f.voice, f.token, f.staccato, f.tenuto = o.voice, o.token, f.staccato || o.staccato, f.tenuto || o.tenuto
		others = slices.Delete(others, k, k+1)
	}
	m.notes = fretted
	return len(others)
}

// lineVoice returns the lowest of several voices, where it is a line; "" for none.
func (p *flatPart) lineVoice() string {
	type sum struct{ notes, midi, stacked int }
	voices := map[string]*sum{}
	for _, m := range p.measures {
		for _, n := range m.notes {
			v := voices[n.voice]
			if v == nil {
				v = &sum{}
				voices[n.voice] = v
			}
			v.notes++
			v.midi += n.midi
			if n.chord {
				v.stacked++
			}
		}
	}
	lowest, mean := "", 0.0
	for name, v := range voices {
		if at := float64(v.midi) / float64(v.notes); lowest == "" || at < mean || at == mean && name > lowest {
			lowest, mean = name, at
		}
	}
	if len(voices) < 2 || voices[lowest].stacked*10 > voices[lowest].notes {
		return ""
	}
	return lowest
}

// part parts a measure's notes into the line, which stays, and what is struck above
// it. Without a voice of its own the line is the lowest of what sounds at once, if it
// lies on the two lowest strings.
func (p *flatPart) part(m *flatMeasure, voice string) {
	notes := m.notes
	m.notes = nil
	slices.SortStableFunc(notes, func(a, b flatNote) int {
		if math.Abs(a.at-b.at) < 1e-6 {
			return cmp.Compare(a.midi, b.midi)
		}
		return cmp.Compare(a.at, b.at)
	})
	for from := 0; from < len(notes); {
		to := from + 1
		for to < len(notes) && notes[to].at-notes[from].at < 1e-6 {
			to++
		}
		s := flatStrike{at: notes[from].at, tied: true}
		for k, n := range notes[from:to] {
			if voice != "" && n.voice == voice || voice == "" && k == 0 && (p.isLow(n) || n.place.String == 0) {
				m.notes = append(m.notes, n)
				continue
			}
			s.length = max(s.length, n.length)
			s.tied, s.staccato, s.tenuto = s.tied && n.tieStop, s.staccato || n.staccato, s.tenuto || n.tenuto
			if n.place.String > 0 {
				s.places = append(s.places, n.place)
			}
		}
		if len(s.places) > 0 {
			m.strikes = append(m.strikes, s)
		}
		from = to
	}
}

// strikes places what a guitar part strikes, and its line, in the score. What is tied
// to the one before makes that longer.
func (b *barReader) strikes() {
	for _, p := range b.pieces {
		m := b.guitar.measure(p.measure)
		length := func(quarters float64) float64 { return quarters * b.scale / b.meter.BeatQuarters() }
		for _, n := range m.notes {
			at := float64(b.beats) + b.beat(p, n.at)
			last := len(b.line) - 1
			if n.tieStop && last >= 0 && b.line[last].place == n.place && math.Abs(b.line[last].end-at) < 1e-6 {
				b.line[last].end = at + length(n.length)
			} else if n.place.String > 0 {
				b.line = append(b.line, placedNote{at, at + length(n.length), n.place})
			}
		}
		for _, s := range m.strikes {
			beat := b.beat(p, s.at)
			at := float64(b.beats) + beat
			last := len(b.struck) - 1
			if s.tied && last >= 0 && math.Abs(b.struck[last].end-at) < 1e-6 {
				b.struck[last].end = at + length(s.length)
			} else {
				b.struck = append(b.struck, strike{s, b.number - 1, beat, at, at + length(s.length)})
			}
		}
	}
}

// shapes writes what a guitar part strikes into the hits and shapes of the score. An
// offbeat whose notes are as much those of the chord that begins with the next beat
// as of the one that sounds is a push.
func (r *reader) shapes(out *transcribe.Score) {
	if r.guitar == nil || len(r.struck) == 0 && (!r.own || r.layer == tune.Bass.String()) {
		return
	}
	type change struct {
		at float64
		harmony.Chord
	}
	var chords []change
	starts := 0.0
	for i := range out.Bars {
		beats := out.MeterOf(i).Beats()
		out.Bars[i].Hits, out.Bars[i].Shapes = make([]tune.HitToken, beats), make([]tune.ShapeToken, beats)
		for _, c := range out.Bars[i].Chords {
			chords = append(chords, change{starts + c.At, c.Chord})
		}
		starts += float64(beats)
	}
	sounding := func(at float64) (out *change) {
		at = r.inPass(at)
		k, found := slices.BinarySearchFunc(chords, at+1e-6, func(c change, at float64) int { return cmp.Compare(c.at, at) })
		if found || k > 0 {
			out = &chords[max(0, k-1)]
		}
		return out
	}
	foreign := !r.own && (r.guitar.capo > 0 || r.guitar.tuning != nil && !slices.Equal(r.guitar.tuning, standardTuning))
	if foreign {
		r.lose(0, "the guitar has a capo or another tuning: its hits are kept, their shapes left to the program")
	}
	left := 0
	for _, s := range r.struck {
		bar := &out.Bars[s.bar]
		beat := int(math.Floor(s.beat + 1e-6))
		part := s.beat - float64(beat)
		if part >= 0.84 && beat+1 < len(bar.Hits) {
			beat, part = beat+1, 0
		}
		if beat >= len(bar.Hits) {
			continue
		}
		edge := s.start - s.beat + float64(beat) + 1
		token := tune.HitToken{Hit: tune.HitOn, Held: s.tenuto || !s.staccato && s.end > edge+0.05}
		hangs := s.start
		if part >= 0.25 {
			token.Hit = tune.HitAnd
			now, next := sounding(s.start), sounding(edge)
			if now != nil && next != nil && now != next && !next.None && r.fits(next.Chord, s.places) >= r.fits(now.Chord, s.places) {
				token.Hit, hangs = tune.HitPush, edge
			}
		}
		var frets []int
		if !foreign {
			frets = r.frets(s.places, hangs)
		}
		if h := &bar.Hits[beat]; h.Hit == tune.NoHit {
			*h = token
			bar.Shapes[beat].Frets = frets
		} else {
			if h.Hit != token.Hit {
				*h = tune.HitToken{Hit: tune.HitBoth, Held: token.Held}
			}
			if !slices.Equal(bar.Shapes[beat].Frets, frets) {
				left++
			}
		}
	}
	if left > 0 {
		r.lose(0, "%d shapes that share a beat with another are left out", left)
	}
}

// fits counts the notes that are tones of a chord.
func (r *reader) fits(c harmony.Chord, places []Place) (n int) {
	for _, p := range places {
		if midi, ok := r.pitchOf(p); ok && slices.ContainsFunc(c.Notes(), func(n harmony.Note) bool { return (n.Semitone()-midi)%12 == 0 }) {
			n++
		}
	}
	return n
}

// pitchOf returns the MIDI note number of a place.
func (r *reader) pitchOf(p Place) (int, bool) {
	tuning := r.guitar.tuning
	if tuning == nil {
		tuning = standardTuning
	}
	if p.String < 1 || p.String > len(tuning) {
		return 0, false
	}
	return tuning[len(tuning)-p.String] + r.guitar.capo + p.Fret, true
}

// inPass returns a place of the piece: behind the last bar comes the first.
func (r *reader) inPass(at float64) float64 {
	if at > float64(r.beats)-1e-6 {
		return 0
	}
	return at
}

// frets writes a shape low string to high, on the note of the line that sounds then.
func (r *reader) frets(places []Place, at float64) []int {
	out := slices.Repeat([]int{-1}, r.guitar.strings())
	at = r.inPass(at)
	k, _ := slices.BinarySearchFunc(r.line, at+0.1, func(n placedNote, at float64) int { return cmp.Compare(n.start, at) })
	if k > 0 && r.line[k-1].end > at+0.1 {
		places = append([]Place{r.line[k-1].place}, places...)
	}
	for _, p := range places {
		if p.String >= 1 && p.String <= len(out) && p.Fret >= 0 && p.Fret <= tune.HighestWrittenFret {
			out[len(out)-p.String] = p.Fret
		}
	}
	return out
}

// fitShapes leaves shapes to the program whose lowest note is not the line's, as where
// that was moved to stay on the bass strings.
func (r *reader) fitShapes(t *tune.Tune, within tune.Range) []transcribe.Loss {
	line, err := t.Line(within)
	if r.guitar == nil || err != nil {
		return nil
	}
	grid, form := t.Grid(), t.Unroll()
	left := 0
	for _, s := range t.Strikes(tune.BassHalves) {
		token := at(form[s.At.Bar-1].Bar.Shapes, s.At.Beat)
		if token == nil || token.Frets == nil {
			continue
		}
		half := grid.Half(s.Bass)
		k, _ := slices.BinarySearchFunc(line, half+1, func(n tune.LineNote, half int) int { return grid.Half(n.At) - half })
		if k == 0 || grid.Half(line[k-1].At)+line[k-1].Halves <= half {
			continue
		}
		lowest := slices.IndexFunc(token.Frets, func(fret int) bool { return fret >= 0 })
		if midi, ok := r.pitchOf(Place{String: len(token.Frets) - lowest, Fret: token.Frets[max(0, lowest)]}); !ok || midi != line[k-1].Pitch.MIDI() {
			*token = tune.ShapeToken{Choose: true}
			left++
		}
	}
	if left == 0 {
		return nil
	}
	return []transcribe.Loss{{What: fmt.Sprintf("%d shapes do not stand on the bass line as it is here, and are left to the program", left)}}
}

func at[T any](row []T, beat int) *T {
	if beat > len(row) {
		return nil
	}
	return &row[beat-1]
}
