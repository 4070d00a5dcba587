package musicxml

import (
	"slices"
	"strings"

	"footfall/harmony/tune"
)

// sameMusic reports whether a tune, as its text has it, says what was read from
// the notation. Shapes count where the text names their frets: those that the
// program chose were drawn too.
func sameMusic(own, read *tune.Tune, low, high int) bool {
	a, b := own.Unroll(), read.Unroll()
	if len(a) != len(b) || own.Title != read.Title || own.Key != read.Key || own.Tempo != read.Tempo {
		return false
	}
	x, y := swingOf(own), swingOf(read)
	if slices.ContainsFunc(a, func(fb tune.FormBar) bool { return fb.Meter.Lower == 4 }) && x.Long*y.Short != x.Short*y.Long {
		return false
	}
	hits := drawnHits(own)
	for i := range a {
		if a[i].Meter != b[i].Meter || sectionOf(a[i].Section) != sectionOf(b[i].Section) || !sameBar(a[i].Bar, b[i].Bar, hits[i]) {
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

func sameBar(a, b *tune.Bar, hits []tune.HitToken) bool {
	if a.Words != b.Words || !slices.EqualFunc(changes(a), changes(b), func(x, y tune.Change) bool {
		return x.Chord.Symbol == y.Chord.Symbol && x.Slot*y.Slots == y.Slot*x.Slots
	}) {
		return false
	}
	for i, h := range hits {
		var other tune.HitToken
		if i < len(b.Hits) {
			other = b.Hits[i]
		}
		if h != other {
			return false
		}
	}
	if len(hits) == 0 && slices.ContainsFunc(b.Hits, func(h tune.HitToken) bool { return h.Hit != tune.NoHit }) {
		return false
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
	return slices.CompactFunc(slices.Clone(b.Chords), func(x, y tune.Change) bool { return x.Chord.Symbol == y.Chord.Symbol })
}
