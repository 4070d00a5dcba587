package walk

import (
	"fmt"
	"slices"
	"strings"

	"footfall/harmony/tune"
)

// Style is how much a composed line may use, as the trade teaches it, level by
// level.
type Style uint8

// The styles. The first four and Approaches build on each other; TwoFeel has two
// notes a bar.
const (
	Approaches  Style = iota // the default: scale steps, and half steps into what comes
	Roots                    // the root where a chord starts, held
	RootsFifths              // root, fifth and octave on every beat
	ChordTones               // tones of the chord on every beat
	ScaleSteps               // chord tones joined by steps of the scale
	TwoFeel                  // long notes, two a bar
)

var styleNames = [...]string{"approaches", "roots", "roots-fifths", "chord-tones", "scale-steps", "two-feel"}

// String returns the style's name on the command line.
func (s Style) String() string { return styleNames[s] }

// StyleNames lists the styles' names, the default first.
func StyleNames() []string { return styleNames[:] }

// ParseStyle reads a style's name, or as much of it as tells it from the others:
// "scale", "fifths", "roots and fifths".
func ParseStyle(name string) (Style, error) {
	asked := plain(name)
	found := []Style{}
	for i, n := range styleNames {
		switch n := plain(n); {
		case n == asked:
			return Style(i), nil
		case asked != "" && strings.Contains(n, asked):
			found = append(found, Style(i))
		}
	}
	if len(found) != 1 {
		return 0, fmt.Errorf("%q is no style; write one of %s", name, strings.Join(styleNames[:], ", "))
	}
	return found[0], nil
}

// plain leaves the letters of a name, in lower case, without "and".
func plain(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return c < 'a' || c > 'z' })
	return strings.Join(slices.DeleteFunc(words, func(w string) bool { return w == "and" }), "")
}

// middle returns the beat that starts the second half of a bar: 3 of 4 and of 3,
// 4 of 5, 6 and 7 (common practice, no source).
func middle(m tune.Meter) int {
	switch beats := m.Beats(); {
	case beats <= 2:
		return 2
	case beats <= 4:
		return 3
	default:
		return 4
	}
}

// allows reports whether the style may put a role on a free beat.
func (s Style) allows(r role) bool {
	switch s {
	case Roots:
		return r == root
	case RootsFifths:
		return r == root || r == fifth
	case ChordTones, TwoFeel:
		return r <= colour
	case ScaleSteps:
		return r <= step
	default:
		return true
	}
}

// plays reports whether the style has a note on a beat; change is set where a
// chord comes in there or has come in since the note before.
func (s Style) plays(m tune.Meter, beat int, change bool) bool {
	if s != Roots && s != TwoFeel || beat == 1 || change {
		return true
	}
	return s == TwoFeel && beat == middle(m)
}
