package musicxml

import (
	"slices"
	"strings"

	"footfall/harmony/tune"
)

// sameMusic reports whether a tune, as its text has it, says what was read from
// the notation. Shapes count where the text names their frets: those that the
// program chose were drawn too.
func (r *reader) sameMusic(own, read *tune.Tune, low, high int) bool {
	a, b := own.Unroll(), read.Unroll()
	if len(a) != len(b) || own.Title != read.Title || own.Key != read.Key || own.Tempo != read.Tempo {
		return false
	}
	x, y := swingOf(own), swingOf(read)
	if own.Swing != read.Swing && slices.ContainsFunc(a, func(fb tune.FormBar) bool { return fb.Meter.Lower == 4 }) && x.Long*y.Short != x.Short*y.Long {
		return false
	}
	if !slices.Equal(r.strikesOf(own), r.strikesOf(read)) {
		return false
	}
	for i := range a {
		if a[i].Meter != b[i].Meter || sectionOf(a[i].Section) != sectionOf(b[i].Section) || !sameBar(a[i].Bar, b[i].Bar, r.layer == "" || r.layer == tune.BassHalves.String()) {
			return false
		}
	}
	line, err := own.Line(tune.Within(low, high))
	other, otherErr := read.Line(tune.Within(low, high))
	return err == nil && otherErr == nil && slices.EqualFunc(line, other, func(m, n tune.LineNote) bool {
		return m.At == n.At && m.Halves == n.Halves && m.Degree == n.Degree && m.Pitch == n.Pitch
	})
}

// sectionOf leaves out what reading adds to names: sections of one name that
// differ get numbers.
func sectionOf(name string) string {
	base, _, _ := strings.Cut(name, "-")
	return base
}

// hit is an instant at which a shape is struck.
type hit struct {
	at   tune.Position
	held bool
}

// strikesOf lists what a tune strikes in the layer that the document was written for. One
// without a layer is of an earlier version, which wrote down what the tune says.
func (r *reader) strikesOf(t *tune.Tune) (out []hit) {
	layer, err := tune.ParseLayer(r.layer)
	if err != nil {
		layer = tune.BassHalves
	}
	for _, s := range t.Strikes(layer) {
		if r.layer == "" && s.By == tune.ByLayer {
			continue
		}
		for k, at := range s.Times {
			out = append(out, hit{at, s.Held && k+1 == len(s.Times)})
		}
	}
	return out
}

// sameBar compares the words, chords and given shapes of two bars.
func sameBar(a, b *tune.Bar, shapes bool) bool {
	if a.Words != b.Words || !slices.EqualFunc(changes(a), changes(b), func(x, y tune.Change) bool {
		return x.Chord.Identity() == y.Chord.Identity() && x.Slot*y.Slots == y.Slot*x.Slots
	}) {
		return false
	}
	if !shapes {
		return true
	}
	for i, s := range a.Shapes {
		if s.Frets != nil && (i >= len(b.Shapes) || !slices.Equal(s.Frets, b.Shapes[i].Frets)) {
			return false
		}
	}
	return true
}

// changes leaves out a chord that is written again where it already sounds.
func changes(b *tune.Bar) []tune.Change {
	return slices.CompactFunc(slices.Clone(b.Chords), func(x, y tune.Change) bool { return x.Chord.Identity() == y.Chord.Identity() })
}
