package musicxml

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/harmony/tune/transcribe"
)

// Read reads a MusicXML document, plain or compressed, into a tune, its bass
// line on the range low to high (MIDI note numbers). Repeats, endings and jumps
// are played out; rehearsal marks, and the places jumped from and to, cut the
// sections. The bass is the part with "bass" in its name, else the lowest one
// that lies low. The losses list what the tune does not hold or holds in another
// way. A document that is no MusicXML, or has nothing a tune could be made of,
// is an error.
func Read(data []byte, low, high int) (*tune.Tune, []transcribe.Loss, error) {
	document, err := unpack(data)
	if err != nil {
		return nil, nil, err
	}
	s, err := decode(document)
	if err != nil {
		return nil, nil, err
	}
	r := reader{score: s, lost: tally{}}
	out, err := r.transcribe()
	if err != nil {
		return nil, nil, err
	}
	t, losses := out.Tune(low, high)
	for _, text := range r.remarks {
		t.Comments = append(t.Comments, tune.Comment{Line: "tune", Text: "# " + text})
	}
	losses = append(r.losses, losses...)
	for _, line := range r.lost.lines() {
		losses = append(losses, transcribe.Loss{What: line})
	}
	if own := r.ownText(); own != nil {
		if sameMusic(own, t, low, high) {
			return own, nil, nil
		}
		losses = append(losses, transcribe.Loss{What: "the music was changed since it was exported: copies and comments of the tune's text are gone"})
	}
	return t, losses, nil
}

type reader struct {
	score   *score
	parts   []flatPart
	lost    tally
	losses  []transcribe.Loss
	remarks []string
	meter   tune.Meter
	// scale is what the document's note lengths are multiplied by.
	scale float64
	order []int
}

func (r *reader) lose(bar int, format string, args ...any) {
	r.losses = append(r.losses, transcribe.Loss{Bar: bar, What: fmt.Sprintf(format, args...)})
}

// ownText returns the tune of the text that the document carries, nil if it
// carries none.
func (r *reader) ownText() *tune.Tune {
	if r.score.Identification == nil {
		return nil
	}
	for _, f := range r.score.Identification.Misc {
		if f.Name == textField {
			if t, faults := tune.Read(f.Text); len(faults) == 0 {
				return t
			}
		}
	}
	return nil
}

func (r *reader) transcribe() (*transcribe.Score, error) {
	names := map[string]string{}
	for _, p := range r.score.Parts {
		names[p.ID] = strings.Join(strings.Fields(p.Name), " ")
	}
	for _, p := range r.score.Music {
		r.parts = append(r.parts, flattenPart(names[p.ID], p, r.lost))
	}
	measures := 0
	for _, p := range r.parts {
		measures = max(measures, len(p.measures))
	}
	if measures == 0 {
		return nil, errors.New("the document has no measures; give one with chord symbols")
	}
	for i := range r.parts {
		for len(r.parts[i].measures) < measures {
			r.parts[i].measures = append(r.parts[i].measures, flatMeasure{})
		}
	}
	out := &transcribe.Score{Title: r.title()}
	if err := r.findMeter(); err != nil {
		return nil, err
	}
	out.Meter = r.meter
	r.findOrder(measures)
	r.headers(out)
	r.identify()
	r.bars(out)
	if len(out.Bars) == 0 {
		return nil, errors.New("the document holds no bars that a tune could take")
	}
	return out, nil
}

func (r *reader) title() string {
	candidates := []string{r.score.WorkTitle, r.score.MovementTitle}
	for _, c := range r.score.Credits {
		candidates = append(candidates, strings.Join(c.Words, " "))
	}
	for _, c := range candidates {
		if c = strings.Join(strings.Fields(c), " "); c != "" {
			return c
		}
	}
	return ""
}

// identify keeps who made the piece as comments.
func (r *reader) identify() {
	id := r.score.Identification
	if id == nil {
		return
	}
	add := func(kind, text string) {
		if text = strings.Join(strings.Fields(text), " "); text != "" {
			r.remarks = append(r.remarks, strings.TrimSpace(kind+" "+text))
		}
	}
	for _, c := range id.Creators {
		add(c.Type+":", c.Text)
	}
	for _, c := range id.Rights {
		add("rights:", c.Text)
	}
	add("source:", id.Source)
}

// findMeter takes the first time signature.
func (r *reader) findMeter() error {
	for i := range r.parts[0].measures {
		for _, p := range r.parts {
			if t := p.measures[i].time; t != nil {
				m, scale, err := meterOf(t)
				if err != nil {
					return err
				}
				r.meter, r.scale = m, scale
				if scale != 1 {
					r.lose(0, "meter %s/%s is read as %s, note lengths doubled", t.Beats[0], t.BeatType[0], m)
				}
				return nil
			}
		}
	}
	r.meter, r.scale = tune.Meter{Upper: 4, Lower: 4}, 1
	r.lose(0, "no meter is named: 4/4 is put in")
	return nil
}

// meterOf returns the tune's meter for a time signature, and what note lengths
// are multiplied by to fit it.
func meterOf(t *timeElement) (tune.Meter, float64, error) {
	if len(t.Beats) == 0 || len(t.BeatType) == 0 {
		return tune.Meter{Upper: 4, Lower: 4}, 1, nil // senza misura
	}
	beats, err := strconv.Atoi(strings.TrimSpace(t.Beats[0]))
	for _, b := range strings.Split(t.Beats[0], "+") {
		if n, sumErr := strconv.Atoi(strings.TrimSpace(b)); sumErr == nil && err != nil {
			beats += n
		}
	}
	kind, _ := strconv.Atoi(strings.TrimSpace(t.BeatType[0]))
	if m, ok := tune.ParseMeter(fmt.Sprintf("%d/%d", beats, kind)); ok {
		return m, 1, nil
	}
	switch {
	case kind == 2:
		if m, ok := tune.ParseMeter(fmt.Sprintf("%d/4", 2*beats)); ok {
			return m, 1, nil
		}
	case kind == 8:
		if m, ok := tune.ParseMeter(fmt.Sprintf("%d/4", beats)); ok {
			return m, 2, nil
		}
	}
	return tune.Meter{}, 0, fmt.Errorf("the meter %s/%s is none that a tune takes: 2/4 to 7/4, 6/8, 9/8 and 12/8", t.Beats[0], t.BeatType[0])
}

func (r *reader) barQuarters() float64 {
	return float64(r.meter.Beats()) * r.meter.BeatQuarters()
}

func (r *reader) findOrder(measures int) {
	flows := make([]flow, measures)
	for i := range flows {
		for _, p := range r.parts {
			flows[i] = joined(flows[i], p.measures[i].flow)
		}
	}
	var ended bool
	if r.order, ended = playOrder(flows, transcribe.MaxBars); !ended {
		r.lose(0, "the piece plays on past bar %d; the rest is left out", transcribe.MaxBars)
	}
}

func joined(a, b flow) flow {
	if a.endings == nil {
		a.endings = b.endings
	}
	return flow{
		forward: a.forward || b.forward, backward: a.backward || b.backward, times: max(a.times, b.times),
		endings: a.endings, endsEnding: a.endsEnding || b.endsEnding, segno: a.segno || b.segno, coda: a.coda || b.coda,
		toCoda: a.toCoda || b.toCoda, fine: a.fine || b.fine, daCapo: a.daCapo || b.daCapo, dalSegno: a.dalSegno || b.dalSegno,
	}
}

// headers takes the first key, tempo and swing, and tells of later ones.
func (r *reader) headers(out *transcribe.Score) {
	var key *keyElement
	keyPart := r.harmonyPart()
	for i, m := range r.parts[keyPart].measures {
		switch {
		case m.key == nil:
		case key == nil:
			key = m.key
		case *m.key.Fifths != *key.Fifths:
			r.lose(0, "the key signature changes at measure %d; a tune has one key", i+1)
		}
	}
	if key != nil && *key.Fifths >= -7 && *key.Fifths <= 7 {
		k := transcribe.KeyOf(*key.Fifths, strings.TrimSpace(key.Mode) == "minor")
		k = shiftKey(k, r.parts[keyPart].chromatic)
		out.Key = &k
	}
	tempo, swung := 0.0, false
	for i := range r.parts[0].measures {
		for _, p := range r.parts {
			m := p.measures[i]
			switch {
			case m.tempo == 0 || m.tempo == tempo:
			case tempo == 0:
				tempo = m.tempo
			default:
				r.lose(0, "the tempo changes to %g at measure %d; a tune has one tempo", m.tempo, i+1)
			}
			if m.swing == nil {
				continue
			}
			if swung && *m.swing != out.Swing {
				r.lose(0, "the swing changes at measure %d; a tune has one swing", i+1)
			} else {
				out.Swing, swung = *m.swing, true
			}
		}
	}
	out.Tempo = tempo * r.scale
}

// shiftKey moves a key by semitones, to the spelling with the fewest accidentals.
func shiftKey(k harmony.Key, semitones int) harmony.Key {
	if semitones == 0 {
		return k
	}
	fifths := k.Signature() + 7*semitones
	fifths = ((fifths+5)%12+12)%12 - 5
	return transcribe.KeyOf(fifths, k.Minor)
}

// harmonyPart returns the part with the most chord symbols.
func (r *reader) harmonyPart() int {
	best, most := 0, 0
	for i, p := range r.parts {
		n := 0
		for _, m := range p.measures {
			n += len(m.harmonies)
		}
		if n > most {
			best, most = i, n
		}
	}
	return best
}

// stream is the notes of one staff of one part.
type stream struct {
	part, staff int
	notes, sum  int
	unpitched   int
}

func (s stream) mean() float64 { return float64(s.sum) / float64(s.notes) }

func (r *reader) streams() []stream {
	var out []stream
	for i, p := range r.parts {
		at := map[int]*stream{}
		var staves []int
		for _, m := range p.measures {
			for _, n := range m.notes {
				s := at[n.staff]
				if s == nil {
					s = &stream{part: i, staff: n.staff}
					at[n.staff] = s
					staves = append(staves, n.staff)
				}
				if n.unpitched {
					s.unpitched++
					continue
				}
				s.notes++
				s.sum += n.midi
			}
		}
		slices.Sort(staves)
		for _, staff := range staves {
			out = append(out, *at[staff])
		}
	}
	return out
}

// highestMeanBass is where the mean of a part's notes may lie at most for it to
// be taken for a bass: G3, below which melodies do not stay. Common practice, no
// source.
const highestMeanBass = 55

// choose picks the bass and the hits among the streams, and tells of the rest.
func (r *reader) choose() (bass, hits *stream) {
	streams := r.streams()
	named := func(s stream) bool { return strings.Contains(strings.ToLower(r.parts[s.part].name), "bass") }
	for i := range streams {
		s := &streams[i]
		if s.notes == 0 {
			if strings.EqualFold(r.parts[s.part].name, "hits") && hits == nil {
				hits = s
			}
			continue
		}
		if !named(*s) && s.mean() > highestMeanBass {
			continue
		}
		if bass == nil || named(*s) && !named(*bass) || named(*s) == named(*bass) && s.mean() < bass.mean() {
			bass = s
		}
	}
	for i := range streams {
		if s := &streams[i]; s != bass && s != hits {
			name := r.parts[s.part].name
			if name == "" {
				name = fmt.Sprint(s.part + 1)
			}
			r.lose(0, "part %s, staff %d: %d notes left out; a tune holds one line, the bass", name, s.staff, s.notes+s.unpitched)
		}
	}
	return bass, hits
}

// bars makes the score's bars in playing order.
func (r *reader) bars(out *transcribe.Score) {
	bassStream, hitsStream := r.choose()
	chordPart := r.harmonyPart()
	for i, p := range r.parts {
		n := 0
		for _, m := range p.measures {
			n += len(m.harmonies)
		}
		if i != chordPart && n > 0 {
			r.lose(0, "part %s: %d chord symbols left out; those of part %s are taken", p.name, n, r.parts[chordPart].name)
		}
	}
	cuts := r.cuts()
	starts := false
	for k, i := range r.order {
		starts = starts || k == 0 || cuts[i]
		b := barReader{reader: r, number: len(out.Bars) + 1, from: r.parts[chordPart].measures[i], chromatic: r.parts[chordPart].chromatic}
		b.measure(i)
		if k == 0 && b.isPickup(bassStream, i) {
			continue
		}
		if starts {
			b.bar.Starts = true
			b.bar.Section = r.rehearsal(i)
		}
		starts = false
		b.chords()
		if bassStream != nil {
			b.bass(r.parts[bassStream.part].measures[i], bassStream.staff, out.Bars)
		}
		if hitsStream != nil {
			b.hits(r.parts[hitsStream.part].measures[i])
		}
		b.words(i)
		out.Bars = append(out.Bars, b.bar)
	}
	if bassStream != nil && r.thirds(bassStream) && r.meter.Lower == 8 {
		out.Swing = tune.Ratio{Long: 2, Short: 1}
	}
}

// thirds reports whether the bass has notes on the last third of a dotted beat.
func (r *reader) thirds(s *stream) bool {
	for _, m := range r.parts[s.part].measures {
		for _, n := range m.notes {
			beat := n.at * r.scale / r.meter.BeatQuarters()
			if n.staff == s.staff && math.Abs(beat-math.Floor(beat)-2.0/3) < 0.01 {
				return true
			}
		}
	}
	return false
}

// cuts are the measures that sections start at.
func (r *reader) cuts() map[int]bool {
	cuts := map[int]bool{}
	for i := range r.parts[0].measures {
		if r.rehearsal(i) != "" {
			cuts[i] = true
		}
	}
	for k := 1; k < len(r.order); k++ {
		if r.order[k] != r.order[k-1]+1 {
			cuts[r.order[k]] = true
			cuts[r.order[k-1]+1] = true
		}
	}
	return cuts
}

func (r *reader) rehearsal(measure int) string {
	for _, p := range r.parts {
		if m := p.measures[measure].rehearsal; m != "" {
			return m
		}
	}
	return ""
}

// barReader makes one bar of the score from one measure.
type barReader struct {
	*reader
	number    int
	from      flatMeasure
	chromatic int
	// shift is added to all times: a short measure at the start comes late.
	shift float64
	bar   transcribe.Bar
}

// measure compares the measure's length with the meter's.
func (b *barReader) measure(i int) {
	length := 0.0
	for _, p := range b.parts {
		length = max(length, p.measures[i].length*b.scale)
	}
	full := b.barQuarters()
	switch {
	case length == 0 || math.Abs(length-full) < 1e-6:
	case i == 0 && length < full:
		b.shift = full - length
	default:
		b.lose(b.number, "a measure of %.4g quarter notes is put in a bar of %g", length/b.scale, full/b.scale)
	}
}

// isPickup reports whether a short first measure holds nothing for the tune.
func (b *barReader) isPickup(bass *stream, i int) bool {
	if b.shift == 0 || len(b.from.harmonies) > 0 {
		return false
	}
	if bass != nil {
		for _, n := range b.parts[bass.part].measures[i].notes {
			if n.staff == bass.staff {
				return false
			}
		}
	}
	b.lose(0, "a pickup without chords or bass is left out")
	return true
}

// beat turns quarter notes of the document into beats of the bar.
func (b *barReader) beat(quarters float64) float64 {
	return (quarters*b.scale + b.shift) / b.meter.BeatQuarters()
}

func (b *barReader) chords() {
	beats := float64(b.meter.Beats())
	for _, h := range b.from.harmonies {
		at := min(max(0, b.beat(h.at)), beats)
		c, losses, ok := readHarmony(h.element)
		for _, l := range losses {
			b.lose(b.number, "%s", l)
		}
		if ok && b.chromatic != 0 {
			from := harmony.Key{Tonic: harmony.Note{}}
			c = c.Transpose(from, shiftKey(from, b.chromatic))
		}
		if f := h.element.Frame; f != nil {
			b.frame(f, at)
		}
		if !ok {
			continue
		}
		if at > beats-1e-6 {
			b.lose(b.number, "%s behind the last beat is left out", c)
			continue
		}
		b.bar.Chords = append(b.bar.Chords, transcribe.Chord{At: at, Chord: c})
	}
	slices.SortStableFunc(b.bar.Chords, func(x, y transcribe.Chord) int {
		switch {
		case x.At < y.At-1e-6:
			return -1
		case x.At > y.At+1e-6:
			return 1
		}
		return 0
	})
}

// frame puts a frame diagram on its beat as a shape.
func (b *barReader) frame(f *frame, at float64) {
	beats := b.meter.Beats()
	if f.Strings < 4 || f.Strings > 8 {
		b.lose(b.number, "a frame of %d strings is left out", f.Strings)
		return
	}
	shape := tune.ShapeToken{Frets: make([]int, f.Strings)}
	for i := range shape.Frets {
		shape.Frets[i] = -1
	}
	for _, n := range f.Notes {
		if n.String < 1 || n.String > f.Strings || n.Fret < 0 || n.Fret > tune.HighestWrittenFret {
			b.lose(b.number, "a frame with fret %d on string %d is left out", n.Fret, n.String)
			return
		}
		shape.Frets[f.Strings-n.String] = n.Fret
	}
	beat := int(math.Floor(at + 1e-6))
	if beat >= beats || at-float64(beat) > 0.01 || len(f.Notes) == 0 {
		b.lose(b.number, "a frame off the beat, or empty, is left out")
		return
	}
	if b.bar.Shapes == nil {
		b.bar.Shapes = make([]tune.ShapeToken, beats)
	}
	b.bar.Shapes[beat] = shape
}

// bass takes the measure's notes of a staff. A note that is tied to the one
// before makes that longer.
func (b *barReader) bass(m flatMeasure, staff int, before []transcribe.Bar) {
	var notes []flatNote
	chords := 0
	for _, n := range m.notes {
		if n.staff != staff || n.unpitched {
			continue
		}
		if k := len(notes) - 1; k >= 0 && math.Abs(notes[k].at-n.at) < 1e-6 {
			chords++
			if n.midi < notes[k].midi {
				notes[k] = n
			}
			continue
		}
		notes = append(notes, n)
	}
	if chords > 0 {
		b.lose(b.number, "the bass has notes together; the lowest is kept")
	}
	slices.SortStableFunc(notes, func(x, y flatNote) int {
		if x.at < y.at {
			return -1
		}
		if x.at > y.at {
			return 1
		}
		return 0
	})
	for _, n := range notes {
		note := transcribe.Note{At: b.beat(n.at), Length: n.length * b.scale / b.meter.BeatQuarters(), MIDI: n.midi, Token: n.token}
		if n.tieStop && b.lengthen(note, before) {
			continue
		}
		b.bar.Notes = append(b.bar.Notes, note)
	}
}

// lengthen joins a tied note to the one before, in this bar or the last.
func (b *barReader) lengthen(n transcribe.Note, before []transcribe.Bar) bool {
	join := func(notes []transcribe.Note, at float64) bool {
		if len(notes) == 0 {
			return false
		}
		last := &notes[len(notes)-1]
		if last.MIDI != n.MIDI || math.Abs(last.At+last.Length-at) > 1e-6 {
			return false
		}
		last.Length += n.Length
		return true
	}
	if join(b.bar.Notes, n.At) {
		return true
	}
	if len(b.bar.Notes) > 0 {
		return false
	}
	beats := float64(b.meter.Beats())
	for k := len(before) - 1; k >= 0; k-- {
		if join(before[k].Notes, n.At+beats*float64(len(before)-k)) {
			return true
		}
		if len(before[k].Notes) > 0 {
			return false
		}
	}
	return false
}

// hits reads the rhythm of the hits' part.
func (b *barReader) hits(m flatMeasure) {
	b.bar.Hits = make([]tune.Hit, b.meter.Beats())
	for _, n := range m.notes {
		at := b.beat(n.at)
		beat := int(math.Floor(at + 1e-6))
		if beat >= len(b.bar.Hits) {
			continue
		}
		kind := tune.HitOn
		if at-float64(beat) > 0.25 {
			kind = tune.HitAnd
		}
		switch h := &b.bar.Hits[beat]; {
		case *h == tune.NoHit:
			*h = kind
		case *h != kind:
			*h = tune.HitBoth
		}
	}
}

// words joins the texts above the measure, each once.
func (b *barReader) words(i int) {
	var all []string
	for _, p := range b.parts {
		for _, w := range p.measures[i].words {
			if !slices.Contains(all, w) {
				all = append(all, w)
			}
		}
	}
	b.bar.Words = strings.Join(all, "; ")
}
