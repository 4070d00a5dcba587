package tune

import (
	"fmt"
	"slices"
	"strings"
)

// Comping is a rhythm that fills bars without a hits row.
type Comping uint8

// The rhythms.
const (
	NoComping Comping = iota
	Charleston
	ReverseCharleston
	TwoAndFour
	Four
	Upbeats
	Pushed
	Ballad
)

var compingNames = []string{
	Charleston: "charleston", ReverseCharleston: "reverse-charleston", TwoAndFour: "two-and-four", Four: "four",
	Upbeats: "upbeats", Pushed: "pushed", Ballad: "ballad",
}

// compingRows are the rhythms on four beats, as a hits row has them. Ballad has
// none: it strikes each change and holds it.
var compingRows = [...]string{
	Charleston: "on and . .", ReverseCharleston: "and . on .", TwoAndFour: ". on . on", Four: "on on on on",
	Upbeats: ". and . and", Pushed: ". and . push",
}

// String returns the rhythm's name, "" for none.
func (c Comping) String() string { return compingNames[c] }

// CompingNames lists the names of the rhythms for a message.
func CompingNames() string { return strings.Join(compingNames[1:], ", ") }

// ParseComping reads a rhythm's name. The error says which there are.
func ParseComping(s string) (Comping, error) {
	if i := slices.Index(compingNames, s); i > 0 {
		return Comping(i), nil
	}
	return NoComping, fmt.Errorf("there is no rhythm %q; write one of %s", s, CompingNames())
}

// Hits returns the rhythm over a bar of some beats: its first tokens, repeated.
// TwoAndFour strikes the even beats, of three beats 2 and 3, and Pushed ends on
// its push. It is nil for NoComping and Ballad.
func (c Comping) Hits(beats int) []HitToken {
	if c == NoComping || c == Ballad {
		return nil
	}
	row := strings.Fields(compingRows[c])
	hits := make([]HitToken, beats)
	for i := range hits {
		hits[i], _ = ParseHit(row[i%len(row)])
	}
	switch {
	case c == TwoAndFour && beats == 3:
		hits[2] = HitToken{Hit: HitOn}
	case c == Pushed:
		hits[beats-1] = HitToken{Hit: HitPush}
	}
	return hits
}

// WithComping returns the tune with a rhythm in the place of its hits rows and
// of its own rhythms. Frets that were written for a hit with its bass note stay
// where the rhythm has one. The tune itself is left as it is.
func (t *Tune) WithComping(c Comping) *Tune {
	out := *t
	out.Comping = c
	out.Sections = slices.Clone(t.Sections)
	for i := range out.Sections {
		s := &out.Sections[i]
		s.Comping = NoComping
		s.Bars = slices.Clone(s.Bars)
		hits := c.Hits(t.MeterOf(s).Beats())
		for j := range s.Bars {
			b := &s.Bars[j]
			b.Hits, b.Copies[HitsRow] = nil, Copy{}
			b.Shapes = slices.Clone(b.Shapes)
			for beat := range b.Shapes {
				if h := at(hits, beat).Hit; hits != nil && h != HitOn && h != HitBoth {
					b.Shapes[beat] = ShapeToken{}
				}
			}
		}
	}
	return &out
}
