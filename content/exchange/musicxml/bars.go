package musicxml

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony/tune"
)

// piece is a measure, or a part of a bar that is written as a measure, and where
// it stands in its bar, in quarter notes of the tune.
type piece struct {
	measure int
	shift   float64
}

// played is a bar as it is played.
type played struct {
	pieces []piece
	starts bool
	// short is set where the first measure does not fill its bar.
	short bool
}

// length returns how long a measure is, in quarter notes of the tune.
func (r *reader) length(measure int) float64 {
	length := 0.0
	for _, p := range r.parts {
		length = max(length, p.measure(measure).length*r.scale)
	}
	return length
}

// playedBars puts the measures in the order they are played. Two that fill one
// bar between them, as around a repeat that starts with a pickup, become one; a
// short one at the very start comes late in its bar.
func (r *reader) playedBars() []played {
	cuts := r.cuts()
	var out []played
	open := 0.0 // what the bar before holds, where it may be filled up
	starts := false
	for k, i := range r.order {
		length, full := r.length(i), r.meters[i].Quarters()
		starts = starts || k == 0 || cuts[i]
		if open > 0 && math.Abs(open+length-full) < 1e-6 {
			last := &out[len(out)-1]
			last.pieces = append(last.pieces, piece{i, open})
			open = 0
			continue
		}
		p := played{pieces: []piece{{measure: i}}, starts: starts}
		starts = false
		open = 0
		switch {
		case length == 0 || math.Abs(length-full) < 1e-6:
		case k == 0 && length < full:
			p.short = true
			p.pieces[0].shift = full - length
		case length < full:
			open = length
			fallthrough
		default:
			if k+1 == len(r.order) || open == 0 || math.Abs(open+r.length(r.order[k+1])-full) > 1e-6 {
				r.lose(len(out)+1, "a measure %.4g quarter notes long is put in a bar of %g", length/r.scale, full/r.scale)
			}
		}
		out = append(out, p)
	}
	return out
}

// barReader makes one bar of the score from the measures it is written as.
type barReader struct {
	*reader
	meter  tune.Meter
	number int
	pieces []piece
	bar    transcribe.Bar
}

// isPickup reports whether a short first measure holds nothing for the tune.
func (b *barReader) isPickup(bass *stream) bool {
	i := b.pieces[0].measure
	if symbols, _ := b.symbolsIn(b.symbols, i); len(symbols) > 0 {
		return false
	}
	if bass != nil {
		for _, n := range b.parts[bass.part].measure(i).notes {
			if n.staff == bass.staff {
				return false
			}
		}
	}
	b.lose(0, "a pickup without chords or bass is left out")
	return true
}

// beat turns quarter notes of a measure into beats of the bar.
func (b *barReader) beat(p piece, quarters float64) float64 {
	return (quarters*b.scale + p.shift) / b.meter.BeatQuarters()
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

// bass takes the notes of a stream. A note that is tied to the one before makes
// that longer.
func (b *barReader) bass(s *stream, before []transcribe.Bar) {
	type barNote struct {
		transcribe.Note
		tied bool
	}
	var notes []barNote
	for _, p := range b.pieces {
		for _, n := range b.parts[s.part].measure(p.measure).notes {
			if n.staff == s.staff && !n.unpitched {
				at := b.beat(p, n.at)
				length := n.length * b.scale / b.meter.BeatQuarters()
				notes = append(notes, barNote{transcribe.Note{At: at, Length: length, MIDI: n.midi, Token: n.token}, n.tieStop})
			}
		}
	}
	slices.SortStableFunc(notes, func(x, y barNote) int {
		if math.Abs(x.At-y.At) < 1e-6 {
			return cmp.Compare(x.MIDI, y.MIDI)
		}
		return cmp.Compare(x.At, y.At)
	})
	all := len(notes)
	notes = slices.CompactFunc(notes, func(x, y barNote) bool { return math.Abs(x.At-y.At) < 1e-6 })
	chords := all - len(notes)
	b.together += chords
	if chords > 0 && b.firstTogether == 0 {
		b.firstTogether = b.number
	}
	for _, n := range notes {
		if !n.tied || !b.lengthen(n.Note, before) {
			b.bar.Notes = append(b.bar.Notes, n.Note)
		}
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
	at := n.At
	for k := len(before) - 1; k >= 0; k-- {
		at += float64(before[k].Meter.Beats())
		if join(before[k].Notes, at) {
			return true
		}
		if len(before[k].Notes) > 0 {
			return false
		}
	}
	return false
}

// allSounds keeps what sounds in the bar, for chords to be proposed.
func (b *barReader) allSounds() {
	var out []transcribe.Sound
	for _, piece := range b.pieces {
		for i := range b.parts {
			for _, n := range b.parts[i].measure(piece.measure).all {
				out = append(out, transcribe.Sound{At: b.beat(piece, n.at), Length: n.length * b.scale / b.meter.BeatQuarters(), MIDI: n.midi})
			}
		}
	}
	b.sounds = append(b.sounds, out)
}

// hits reads the rhythm of the hits' part.
func (b *barReader) hits(s *stream) {
	b.bar.Hits = make([]tune.HitToken, b.meter.Beats())
	for _, p := range b.pieces {
		for _, n := range b.parts[s.part].measure(p.measure).notes {
			b.hit(b.beat(p, n.at), n.tenuto)
		}
	}
}

func (b *barReader) hit(at float64, held bool) {
	beat := int(math.Floor(at + 1e-6))
	if beat >= len(b.bar.Hits) {
		return
	}
	kind := tune.HitOn
	if at-float64(beat) > 0.25 {
		kind = tune.HitAnd
	}
	switch h := &b.bar.Hits[beat]; {
	case h.Hit == tune.NoHit:
		*h = tune.HitToken{Hit: kind, Held: held}
	case h.Hit != kind:
		*h = tune.HitToken{Hit: tune.HitBoth, Held: held}
	}
}

// words joins the texts above the bar, each once.
func (b *barReader) words() {
	var all []string
	for _, piece := range b.pieces {
		for _, p := range b.parts {
			for _, w := range p.measure(piece.measure).words {
				if !slices.Contains(all, w) {
					all = append(all, w)
				}
			}
		}
	}
	b.bar.Words = strings.Join(all, "; ")
}
