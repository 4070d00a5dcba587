package musicxml

import (
	"cmp"
	"math"
	"reflect"
	"slices"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
)

// counts are the numbers of chord symbols of the parts.
func (r *reader) counts() []int {
	out := make([]int, len(r.parts))
	for i, p := range r.parts {
		for _, m := range p.measures {
			out[i] += len(m.harmonies)
		}
	}
	return out
}

// harmonyPart returns the part with the most chord symbols.
func (r *reader) harmonyPart() int {
	counts := r.counts()
	return slices.Index(counts, slices.Max(counts))
}

// findSymbols takes the chord symbols of the part with the most, and of the others where
// they only add to them, and tells of the rest.
func (r *reader) findSymbols() {
	counts := r.counts()
	var parts []int
	for i, n := range counts {
		if n > 0 {
			parts = append(parts, i)
		}
	}
	slices.SortStableFunc(parts, func(a, b int) int { return counts[b] - counts[a] })
	for _, i := range parts {
		if len(r.symbols) == 0 || r.agrees(i) {
			r.symbols = append(r.symbols, i)
			continue
		}
		r.lose(0, "part %s: %d chord symbols left out; those of part %s are taken", r.parts[i].name, counts[i], r.parts[r.symbols[0]].name)
	}
}

// symbolsIn returns the chord symbols of a measure in the first of some parts that has
// any there, and that part.
func (r *reader) symbolsIn(parts []int, measure int) ([]flatHarmony, *flatPart) {
	for _, i := range parts {
		if found := r.parts[i].measure(measure).harmonies; len(found) > 0 {
			return found, &r.parts[i]
		}
	}
	return nil, nil
}

// agrees reports whether a part's chord symbols say the same as those that are taken, or
// less, wherever both have any.
func (r *reader) agrees(part int) bool {
	for m := range r.measures {
		own, p := r.symbolsIn([]int{part}, m)
		taken, of := r.symbolsIn(r.symbols, m)
		if len(own) > len(taken) {
			own, p, taken, of = taken, of, own, p
		}
		for _, h := range own {
			same := func(t flatHarmony) bool {
				if math.Abs(t.at-h.at) > 1e-6 {
					return false
				}
				if p.chromatic == of.chromatic && reflect.DeepEqual(h.element, t.element) {
					return true
				}
				c, _, _ := chordOf(h, p)
				other, _, _ := chordOf(t, of)
				return other.Identity() == c.Identity()
			}
			if !slices.ContainsFunc(taken, same) {
				return false
			}
		}
	}
	return true
}

// chordOf reads a part's chord symbol as it sounds, and says what is lost of it.
func chordOf(h flatHarmony, p *flatPart) (harmony.Chord, []string, bool) {
	c, losses, ok := readHarmony(h.element, h.key)
	if ok && p.chromatic != 0 {
		from := harmony.Key{Tonic: harmony.Note{}}
		c = c.Transpose(from, from.Up(p.chromatic))
	}
	return c, losses, ok
}

func (b *barReader) chords() {
	for _, p := range b.pieces {
		symbols, part := b.symbolsIn(b.symbols, p.measure)
		for _, h := range symbols {
			b.chord(h, b.beat(p, h.at), part)
		}
	}
	slices.SortStableFunc(b.bar.Chords, func(x, y transcribe.Chord) int {
		if math.Abs(x.At-y.At) < 1e-6 {
			return 0
		}
		return cmp.Compare(x.At, y.At)
	})
}

// chord takes one chord symbol, and the frame that may hang on it.
func (b *barReader) chord(h flatHarmony, at float64, part *flatPart) {
	beats := float64(b.meter.Beats())
	at = min(max(0, at), beats)
	c, losses, ok := chordOf(h, part)
	for _, l := range losses {
		b.lose(b.number, "%s", l)
	}
	if f := h.element.Frame; f != nil {
		b.frame(f, at)
	}
	switch {
	case !ok:
	case at > beats-1e-6:
		b.lose(b.number, "%s behind the last beat is left out", c)
	default:
		b.bar.Chords = append(b.bar.Chords, transcribe.Chord{At: at, Chord: c})
	}
}
