package musicxml

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony/tune"
)

// Read reads a MusicXML document, plain or compressed, into a tune, its bass
// line on the range low to high (MIDI note numbers). Repeats, endings and jumps
// are played out; rehearsal marks, and the places jumped from and to, cut the
// sections. The bass is the part with "bass" in its name, else the lowest one
// that lies low; a guitarist's part with strings and frets is line and shapes both.
// The losses list what the tune does not hold or holds in another way. A document that
// is no MusicXML, or has nothing a tune could be made of, is an error; without chord
// symbols it is transcribe.ErrNoChords.
func Read(data []byte, low, high int) (*tune.Tune, []transcribe.Loss, error) {
	return ReadOver(data, Chords{}, low, high)
}

// Chords say where the chords come from, of a document whose own are not taken.
type Chords struct {
	// Of is the tune whose chords the notes go under, bar by bar of its pass; nil for the
	// document's own.
	Of *tune.Tune
	// Proposed has chords that fit the notes put in where the document has none.
	Proposed bool
}

// ReadOver is Read with the chords that are asked for.
func ReadOver(data []byte, chords Chords, low, high int) (*tune.Tune, []transcribe.Loss, error) {
	document, lone, err := unpack(data)
	if err != nil {
		return nil, nil, err
	}
	document = inUTF8(document)
	if len(document) > largeBytes && chords == (Chords{}) && !bytes.Contains(document, []byte("<harmony")) {
		return nil, nil, transcribe.ErrNoChords
	}
	s, err := decode(document)
	if err != nil {
		return nil, nil, err
	}
	r := reader{score: s, lost: tally{}}
	var told []transcribe.Loss
	if lone {
		told = []transcribe.Loss{{What: "the compressed file lacks " + containerFile + ", which names its score; the only score in it was read", Grade: transcribe.PutIn}}
	}
	out, err := r.transcribe()
	if err != nil {
		return nil, nil, err
	}
	switch none := !slices.ContainsFunc(out.Bars, sounds); {
	case chords.Of != nil:
		r.losses = append(r.losses, out.Under(chords.Of)...)
	case none && chords.Proposed && slices.ContainsFunc(r.sounds, func(bar []transcribe.Sound) bool { return len(bar) > 0 }):
		r.losses = append(out.Propose(r.sounds), r.losses...)
	case none:
		return nil, nil, transcribe.ErrNoChords
	}
	r.mode(out)
	r.shapes(out)
	t, losses := out.Tune(low, high)
	losses = append(r.losses, losses...)
	losses = append(losses, r.fitShapes(t, tune.Within(low, high))...)
	for _, text := range r.remarks {
		t.Comments = append(t.Comments, tune.Comment{Line: "tune", Text: "# " + text})
	}
	losses = append(losses, r.lost.losses()...)
	if own := r.ownText(); own != nil && chords.Of == nil {
		if !r.swung {
			// Many programs drop the swing; it is no change of the music.
			t.Swing = own.Swing
		}
		if r.unstrung == 0 && r.sameMusic(own, t, low, high) {
			return own, told, nil
		}
		losses = append(losses, transcribe.Loss{What: "the music was changed since it was exported: copies and comments of the tune's text are gone", Grade: transcribe.Changed})
	}
	return t, append(losses, told...), nil
}

// sounds reports whether a bar has a chord that sounds.
func sounds(b transcribe.Bar) bool {
	return slices.ContainsFunc(b.Chords, func(c transcribe.Chord) bool { return !c.Chord.None })
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
	// symbols are the parts whose chord symbols are taken, the one with the most first.
	symbols []int
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
	// sounds are all notes of all parts, by bar.
	sounds [][]transcribe.Sound
	// modeless is set where a key is named by its signature alone.
	modeless bool
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

// largeBytes is the size from which a document is looked through for chord symbols
// before it is read.
const largeBytes = 4 << 20

// Bounds of what is read, beyond any score.
const (
	maxParts    = 500
	maxMeasures = 20_000
)

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

// bars makes the score's bars in playing order.
func (r *reader) bars(out *transcribe.Score) {
	r.findGuitar()
	bassStream, hitsStream := r.choose()
	r.findSymbols()
	starts := false
	for _, p := range r.playedBars() {
		starts = starts || p.starts
		b := barReader{reader: r, meter: r.meters[p.pieces[0].measure], number: len(out.Bars) + 1, pieces: p.pieces}
		b.bar.Meter = b.meter
		if len(out.Bars) == 0 && p.short && b.isPickup(bassStream) {
			continue
		}
		if starts {
			b.bar.Starts = true
			b.bar.Section = r.rehearsal(p.pieces[0].measure)
		}
		starts = false
		b.chords()
		if bassStream != nil {
			b.bass(bassStream, out.Bars)
		}
		if hitsStream != nil {
			b.hits(hitsStream)
		}
		if r.guitar != nil {
			b.strikes()
		}
		b.allSounds()
		r.beats += b.meter.Beats()
		b.words()
		out.Bars = append(out.Bars, b.bar)
	}
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
