package walk

import (
	"fmt"
	"slices"
	"strings"

	"footfall/harmony/tune"
)

// Style is what a composed line is made of: its rhythm, and the notes that it
// may take.
type Style uint8

// The styles, the default first.
const (
	Approaches Style = iota
	Roots
	RootsFifths
	TwoFeel
	ChordTones
	ScaleSteps
	Pedal
	Bossa
	Ballad
)

// styles has a row for each style.
var styles = [...]struct {
	name string
	// also are other names that the trade has for it.
	also []string
	// says is what a listener hears.
	says string
	// most is the last of the roles that a free note may take.
	most role
	// leads is set where the last note before a chord may be a half step from it
	// that the style has not else.
	leads bool
	// noise is the most that a seed adds to or takes from a note's cost.
	noise  float64
	rhythm rhythm
}{
	Approaches:  {"approaches", []string{"walking"}, "quarter notes, and a half step into what comes", chrome, false, 0.95, quarters},
	Roots:       {"roots", nil, "the root where a chord starts, held", root, false, 0.3, onChanges},
	RootsFifths: {"roots-fifths", []string{"two-beat"}, "two long notes a bar, roots and fifths that lie under the hand", fifth, false, 0.5, inTwo},
	TwoFeel:     {"two-feel", nil, "two long notes a bar, tones of the chord and a step into what comes", colour, true, 0.8, inTwo},
	ChordTones:  {"chord-tones", []string{"arpeggios"}, "quarter notes, tones of the chord alone", colour, false, 4.8, quarters},
	ScaleSteps:  {"scale-steps", []string{"steps"}, "quarter notes, steps of the scale between tones of the chord", step, false, 4.6, quarters},
	Pedal:       {"pedal", []string{"pedal-points"}, "quarter notes over one note that comes back under the changes", step, false, 4.2, quarters},
	Bossa:       {"bossa", []string{"bossa-nova"}, "dotted quarters and eighths, roots and fifths", colour, true, 0.5, dotted},
	Ballad:      {"ballad", nil, "long notes, and a pick-up into what comes", step, true, 0.8, pickUps},
}

// rhythm is where a style has its notes.
type rhythm uint8

const (
	quarters  rhythm = iota // on every beat
	onChanges               // on the first beat and where a chord starts
	inTwo                   // there and in the middle of the bar
	dotted                  // on every other beat, and on the offbeat before the next of these
	pickUps                 // on the first beat, where a chord starts, and before the bar line
)

// String returns the style's name on the command line.
func (s Style) String() string { return styles[s].name }

// Says tells in a few words what a listener hears.
func (s Style) Says() string { return styles[s].says }

// StyleNames lists the styles' names, the default first.
func StyleNames() []string {
	names := make([]string, len(styles))
	for i := range styles {
		names[i] = styles[i].name
	}
	return names
}

// ParseStyle reads a style's name, or as much of it as tells it from the others:
// "scale", "fifths", "roots and fifths", "two-beat".
func ParseStyle(name string) (Style, error) {
	asked := plain(name)
	var found []Style
	for i := range styles {
		part := false
		for _, n := range append([]string{styles[i].name}, styles[i].also...) {
			if plain(n) == asked {
				return Style(i), nil
			}
			part = part || asked != "" && strings.Contains(plain(n), asked)
		}
		if part {
			found = append(found, Style(i))
		}
	}
	if len(found) != 1 {
		return 0, fmt.Errorf("%q is no style; write one of %s", name, strings.Join(StyleNames(), ", "))
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

// quarter reports whether the style has a note on every beat.
func (s Style) quarter() bool { return styles[s].rhythm == quarters }

// allows reports whether the style may put a role on a free beat.
func (s Style) allows(r role) bool { return r <= styles[s].most }

// plays reports whether the style has a note on a half beat of a bar, counted
// from 0; change is set where a chord comes in there or has come in since the
// note before. chance is a number that the bar draws from the seed.
func (s Style) plays(m tune.Meter, half int, change bool, chance uint64) bool {
	beat, off := half/2+1, half%2 == 1
	switch r := styles[s].rhythm; {
	case !off && (beat == 1 || change || r == quarters):
		return true
	case r == inTwo:
		return !off && beat == middle(m)
	case r == dotted:
		return beat%2 == 1 && !off || beat%2 == 0 && off
	case r == pickUps && m.Beats() > 2:
		switch chance % 4 {
		case 0:
			return !off && beat == m.Beats()
		case 1:
			return !off && beat == middle(m) || off && beat == m.Beats()
		case 2:
			return beat == m.Beats()
		}
		return !off && (beat == middle(m) || beat == m.Beats() && m.Beats() > 3)
	case r == pickUps:
		return off && beat == 2 && chance%2 == 0
	}
	return false
}
