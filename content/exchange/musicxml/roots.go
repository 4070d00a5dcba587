package musicxml

import (
	"regexp"
	"slices"
	"strings"

	"footfall/harmony"
)

// scale is what numerals count in: a tonic, and by how much each step is raised above
// that of the major scale.
type scale struct {
	tonic  harmony.Note
	raised [7]int8
}

// scaleOf returns the scale of a key; false where there is none.
func scaleOf(fifths *int, mode string) (scale, bool) {
	if fifths == nil || *fifths < -7 || *fifths > 7 {
		return scale{}, false
	}
	steps := stepsOf(mode)
	return scale{harmony.KeyOf(*fifths, steps[2] < 0).Tonic, steps}, true
}

// stepsOf returns the steps of a mode: of a minor one without more the natural ones
// (MusicXML 4.0, numeral-mode).
func stepsOf(mode string) (raised [7]int8) {
	mode = strings.ToLower(strings.TrimSpace(mode))
	if mode != "aeolian" && !strings.HasSuffix(mode, "minor") {
		return raised
	}
	raised = [7]int8{2: -1, 5: -1, 6: -1}
	switch mode {
	case "melodic minor":
		raised[5], raised[6] = 0, 0
	case "harmonic minor":
		raised[6] = 0
	}
	return raised
}

func (s scale) step(n, alter int) harmony.Note {
	return harmony.Degree{Number: int8(n), Alter: s.raised[n-1] + int8(alter)}.Of(s.tonic)
}

// function is a Roman numeral with what raises or lowers it, and signs that do not.
var function = regexp.MustCompile(`(?i)^([b♭]?)([#♯]?)(vii|vi|iv|v|iii|ii|i)[^/a-z]*$`)

var romans = []string{"i", "ii", "iii", "iv", "v", "vi", "vii"}

// rootOf reads what a harmony stands on: its root with the text that it is set in, or a
// step of the key in force, by its number or as a function.
func rootOf(h *harmonyElement, key *keyElement) (root harmony.Note, text string, ok bool) {
	if len(h.Roots) > 0 {
		return readStep(h.Roots[0].Step, h.Roots[0].Alter)
	}
	var in scale
	if key != nil {
		in, ok = scaleOf(key.Fifths, key.Mode)
	}
	switch {
	case len(h.Numerals) > 0:
		// Each is a step of what the one behind it names: V of II.
		for i, n := range slices.Backward(h.Numerals) {
			if n.Key != nil {
				in, ok = scaleOf(n.Key.Fifths, n.Key.Mode)
			}
			if !ok || n.Root < 1 || n.Root > len(romans) {
				return root, "", false
			}
			if root = in.step(n.Root, number(n.Alter)); i < len(h.Kinds) {
				in = scale{root, stepsOf(h.Kinds[i].Value)}
			}
		}
	case len(h.Functions) == 1 && ok:
		found := function.FindStringSubmatch(strings.TrimSpace(h.Functions[0]))
		if found == nil {
			return root, "", false
		}
		root = in.step(1+slices.Index(romans, strings.ToLower(found[3])), sign(found[2])-sign(found[1]))
	default:
		return root, "", false
	}
	if root.Alter < -1 || root.Alter > 1 { // as a chart writes it
		root = harmony.Key{Tonic: root}.Up(0).Tonic
	}
	return root, root.String(), ok
}

// sign counts an accidental that is there.
func sign(text string) int { return min(1, len(text)) }

// readStep reads a root or bass: its letter and alteration, and its text as the
// writer set it where that says the same.
func readStep(s step, alter string) (harmony.Note, string, bool) {
	n, err := harmony.ParseNote(strings.TrimSpace(s.Step))
	if err != nil || n.Alter != 0 {
		return n, "", false
	}
	n.Alter = int8(number(alter))
	if n.Alter < -2 || n.Alter > 2 {
		return n, "", false
	}
	if t, err := harmony.ParseNote(strings.TrimSpace(s.Text)); s.Text != "" && err == nil && t == n {
		return n, strings.TrimSpace(s.Text), true
	}
	return n, n.String(), true
}
