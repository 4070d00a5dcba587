package musicxml

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Read reads a MusicXML document, plain or compressed, into a tune, its bass
// line on the range low to high (MIDI note numbers). Repeats, endings and jumps
// are played out; rehearsal marks, and the places jumped from and to, cut the
// sections. The bass is the part with "bass" in its name, else the lowest one
// that lies low. The losses list what the tune does not hold or holds in another
// way. A document that is no MusicXML, or has nothing a tune could be made of,
// is an error; without chord symbols it is transcribe.ErrNoChords.
func Read(data []byte, low, high int) (*tune.Tune, []transcribe.Loss, error) {
	return ReadOver(data, nil, low, high)
}

// ReadOver is Read with the notes of the document under the chords of a tune, bar by
// bar of its pass; nil is the document's own.
func ReadOver(data []byte, chords *tune.Tune, low, high int) (*tune.Tune, []transcribe.Loss, error) {
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
	if chords != nil {
		r.losses = append(r.losses, out.Under(chords)...)
	} else if !slices.ContainsFunc(out.Bars, func(b transcribe.Bar) bool { return len(b.Chords) > 0 }) {
		return nil, nil, transcribe.ErrNoChords
	}
	t, losses := out.Tune(low, high)
	losses = append(losses, r.fitShapes(t, tune.Within(low, high))...)
	for _, text := range r.remarks {
		t.Comments = append(t.Comments, tune.Comment{Line: "tune", Text: "# " + text})
	}
	losses = append(r.losses, losses...)
	for _, line := range r.lost.lines() {
		losses = append(losses, transcribe.Loss{What: line})
	}
	if own := r.ownText(); own != nil && chords == nil {
		if !r.swung {
			// Many programs drop the swing; it is no change of the music.
			t.Swing = own.Swing
		}
		if r.unstrung == 0 && r.sameMusic(own, t, low, high) {
			return own, nil, nil
		}
		losses = append(losses, transcribe.Loss{What: "the music was changed since it was exported: copies and comments of the tune's text are gone"})
	}
	return t, losses, nil
}

type reader struct {
	score *score
	parts []flatPart
	// measures is the number of measures of the longest part.
	measures int
	lost     tally
	losses   []transcribe.Loss
	remarks  []string
	// meters are in force in each measure.
	meters []tune.Meter
	// scale is what the document's note lengths are multiplied by.
	scale float64
	order []int
	// together counts the notes that sound with a lower one of the bass.
	together, firstTogether int
	// guitar is the part of a guitarist that is read as line and shapes both, nil for
	// none; struck is what it strikes and line the places of its line.
	guitar *flatPart
	// unstrung counts its notes that have no string.
	unstrung int
	struck   []strike
	line     []placedNote
	// beats are those of the bars that have been read.
	beats int
	// own is set for a document of the program's own; layer is what that was written for.
	own   bool
	layer string
	// swung is set where the document names a swing.
	swung bool
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
	id := r.score.Identification
	if id != nil {
		r.own = id.Encoding != nil && id.Encoding.Software == software
		for _, f := range id.Misc {
			r.own = r.own || f.Name == textField
			if f.Name == layerField {
				r.layer = strings.TrimSpace(f.Text)
			}
		}
	}
	for _, p := range r.score.Parts {
		names[p.ID] = strings.Join(strings.Fields(p.Name), " ")
	}
	for _, p := range r.score.Music {
		r.parts = append(r.parts, flattenPart(names[p.ID], p, r.own, r.lost))
	}
	for _, p := range r.parts {
		r.measures = max(r.measures, len(p.measures))
	}
	if r.measures == 0 {
		return nil, errors.New("the document has no measures; give one with chord symbols")
	}
	if r.measures > maxMeasures || len(r.parts) > maxParts {
		return nil, fmt.Errorf("the document has %d parts of up to %d measures; at most %d of %d are read", len(r.parts), r.measures, maxParts, maxMeasures)
	}
	out := &transcribe.Score{Title: r.title()}
	if err := r.findMeter(); err != nil {
		return nil, err
	}
	out.Meter = r.meters[0]
	r.findOrder()
	r.headers(out)
	r.identify()
	r.bars(out)
	if len(out.Bars) == 0 {
		return nil, errors.New("the document holds no bars that a tune could take")
	}
	return out, nil
}

// Bounds of what is read, beyond any score.
const (
	maxParts    = 500
	maxMeasures = 20_000
)

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

// findMeter finds the meter of each measure by its time signatures. The first one
// says how note lengths are read; one that would have them otherwise is passed over.
func (r *reader) findMeter() error {
	r.meters = make([]tune.Meter, r.measures)
	first := -1
	for i := range r.measures {
		if i > 0 {
			r.meters[i] = r.meters[i-1]
		}
		t := r.timeOf(i)
		if t == nil {
			continue
		}
		m, scale, err := meterOf(t)
		switch {
		case first < 0 && err != nil:
			return err
		case first < 0:
			first, r.scale = i, scale
			if scale != 1 {
				r.lose(0, "meter %s/%s is read as %s, note lengths doubled", t.Beats[0], t.BeatType[0], m)
			}
			for k := range i {
				r.meters[k] = m
			}
		case err != nil || scale != r.scale:
			r.lose(0, "the meter %s/%s at measure %d is passed over", t.Beats[0], t.BeatType[0], i+1)
			continue
		}
		r.meters[i] = m
	}
	if first < 0 {
		r.scale = 1
		for i := range r.meters {
			r.meters[i] = tune.Meter{Upper: 4, Lower: 4}
		}
		r.lose(0, "no meter is named: 4/4 is put in")
	}
	return nil
}

// timeOf returns the time signature that a measure begins with, nil for none.
func (r *reader) timeOf(measure int) *timeElement {
	for _, p := range r.parts {
		if t := p.measure(measure).time; t != nil {
			return t
		}
	}
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
	if m, ok := harmony.ParseMeter(fmt.Sprintf("%d/%d", beats, kind)); ok {
		return m, 1, nil
	}
	switch {
	case kind == 2:
		if m, ok := harmony.ParseMeter(fmt.Sprintf("%d/4", 2*beats)); ok {
			return m, 1, nil
		}
	case kind == 8:
		if m, ok := harmony.ParseMeter(fmt.Sprintf("%d/4", beats)); ok {
			return m, 2, nil
		}
	}
	return tune.Meter{}, 0, fmt.Errorf("the meter %s/%s is none that a tune takes: 2/4 to 7/4, 6/8, 9/8 and 12/8", t.Beats[0], t.BeatType[0])
}

func (r *reader) findOrder() {
	flows := make([]flow, r.measures)
	for i := range flows {
		for _, p := range r.parts {
			flows[i] = joined(flows[i], p.measure(i).flow)
		}
	}
	r.tellOrder(flows)
	var ended bool
	if r.order, ended = playOrder(flows, tune.MaxBars); !ended {
		r.lose(0, "the piece plays on past bar %d; the rest is left out", tune.MaxBars)
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
		k := harmony.KeyOf(*key.Fifths, strings.TrimSpace(key.Mode) == "minor")
		if up := r.parts[keyPart].chromatic; up != 0 {
			k = k.Up(up)
		}
		out.Key = &k
	}
	tempo := 0.0
	for i := range r.measures {
		for _, p := range r.parts {
			m := p.measure(i)
			if m.tempo == 0 {
				m.tempo = m.wordTempo
			}
			if m.swing == nil {
				m.swing = m.wordSwing
			}
			switch {
			case m.tempo == 0 || m.tempo == tempo:
			case tempo == 0:
				tempo = m.tempo
			default:
				r.lose(0, "the tempo changes to %g at measure %d; a tune has one tempo", m.tempo, i+1)
			}
			switch {
			case m.swing == nil:
			case !r.swung && m.swing.Long == m.swing.Short && i > 0:
			case r.swung && *m.swing != out.Swing:
				r.lose(0, "the swing changes at measure %d; a tune has one swing", i+1)
			default:
				out.Swing, r.swung = *m.swing, true
			}
		}
	}
	out.Tempo = tempo * r.scale
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

// bars makes the score's bars in playing order.
func (r *reader) bars(out *transcribe.Score) {
	r.findGuitar()
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
	starts := false
	for _, p := range r.playedBars() {
		starts = starts || p.starts
		b := barReader{reader: r, meter: r.meters[p.pieces[0].measure], number: len(out.Bars) + 1, pieces: p.pieces}
		b.bar.Meter = b.meter
		if len(out.Bars) == 0 && p.short && b.isPickup(chordPart, bassStream) {
			continue
		}
		if starts {
			b.bar.Starts = true
			b.bar.Section = r.rehearsal(p.pieces[0].measure)
		}
		starts = false
		b.chords(chordPart)
		if bassStream != nil {
			b.bass(bassStream, out.Bars)
		}
		if hitsStream != nil {
			b.hits(hitsStream)
		}
		if r.guitar != nil {
			b.strikes()
		}
		r.beats += b.meter.Beats()
		b.words()
		out.Bars = append(out.Bars, b.bar)
	}
	r.shapes(out)
	if r.together > 0 {
		r.lose(0, "%d bass notes sound with a lower one, first in bar %d, and are left out", r.together, r.firstTogether)
	}
	if bassStream != nil && r.thirds(bassStream) {
		out.Swing = tune.Ratio{Long: 2, Short: 1}
	}
}

// thirds reports whether the bass has notes on the last third of a dotted beat.
func (r *reader) thirds(s *stream) bool {
	for i, m := range r.parts[s.part].measures {
		if i >= len(r.meters) || r.meters[i].Lower != 8 {
			continue
		}
		for _, n := range m.notes {
			beat := n.at * r.scale / r.meters[i].BeatQuarters()
			if n.staff == s.staff && !n.tieStop && math.Abs(beat-math.Floor(beat)-2.0/3) < 0.01 {
				return true
			}
		}
	}
	return false
}

// cuts are the measures that sections start at.
func (r *reader) cuts() map[int]bool {
	cuts := map[int]bool{}
	for i := range r.measures {
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
		if m := p.measure(measure).rehearsal; m != "" {
			return m
		}
	}
	return ""
}
