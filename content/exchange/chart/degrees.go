package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
)

var (
	numeral = regexp.MustCompile(`^([b#♭♯]?)(VII|III|VI|IV|II|V|I|vii|iii|vi|iv|ii|v|i)([^a-zA-Z/][^/]*|m[^/]*|M[^/]*|dim[^/]*|aug[^/]*|sus[^/]*|add[^/]*|alt|o7?|h7?|)(?:/([b#♭♯]?[1-7]))?$`)
	figured = regexp.MustCompile(`^([b#♭♯]?)([1-7])((?:-|m|maj|°|o|ø|dim|sus|\+|Δ|\^)?(?:maj7|7|9|6)?)(?:/([b#♭♯]?[1-7]))?$`)
	// figureLine is a line of bar lines, holds and figures alone.
	figureLine = regexp.MustCompile(`^[|:\s]*(?:[b#♭♯]?[1-7](?:[-m°oø+Δ^/]\S*|maj\S*|dim\S*|sus\S*|7)?[|:,\s]+){3,}$`)
	keySaid    = regexp.MustCompile(`(?i)(?:\b(?:key|tonart)\b\s*(?:of|is)?\s*[:=-]?\s*|(?:^|[\s,(])in (?:the key of )?)([a-h][#b♯♭]?)(?:[\s-]*(minor|min|moll|major|maj|dur|m)\b)?(?:[\s,;.:)\]}]|$)`)
	keyMark    = regexp.MustCompile(`^\s*([A-G][#b♯♭]?)(m?):\s`)
)

// inDegrees reports whether a chart names its chords by the degrees of the key: in
// numerals, or in figures on lines of their own.
func inDegrees(lines []string) (numerals, figures bool) {
	roman, chords, figs := 0, 0, 0
	for _, line := range lines {
		line = keySaid.ReplaceAllString(timesEnd.ReplaceAllString(line, ""), "")
		if figureLine.MatchString(line + " ") {
			figs++
		}
		for _, w := range strings.FieldsFunc(line, func(c rune) bool { return strings.ContainsRune(" \t|,()[]:", c) }) {
			switch {
			case numeral.MatchString(w):
				roman++
			case len(w) > 1 || strings.Contains("CDEFG", w):
				if _, err := harmony.ParseChord(w); err == nil {
					chords++
				}
			}
		}
	}
	return roman > 2 && roman > 2*chords, figs > 0 && figs >= chords
}

// degrees is a key whose degrees stand for chords.
type degrees struct {
	key *harmony.Key
	// figures is set where figures name them, 2- for IIm.
	figures bool
	// minors has a plain figure 2, 3 or 6 of a major key mean its minor chord.
	minors bool
}

// degreesOf looks for the key of a chart in degrees, unless one is given, and tells
// how its figures are read.
func degreesOf(lines []string, given *harmony.Key) (d *degrees, told []transcribe.Loss) {
	numerals, figures := inDegrees(lines)
	if !numerals && !figures {
		return nil, nil
	}
	d = &degrees{key: given, figures: !numerals, minors: true}
	for i, line := range lines {
		if m := keySaid.FindStringSubmatch(line); m != nil && d.key == nil {
			if k, err := keyNamed(m[1], m[2]); err == nil {
				d.key = &k
			}
		} else if m := keyMark.FindStringSubmatch(line); m != nil && d.key == nil {
			if k, err := keyNamed(m[1], m[2]); err == nil {
				d.key, lines[i] = &k, strings.Repeat(" ", len(m[0]))+line[len(m[0]):]
			}
		}
		for _, w := range strings.Fields(line) {
			if m := figured.FindStringSubmatch(w); m != nil && d.figures && minorMark.MatchString(m[3]) {
				d.minors = false
			}
		}
	}
	if d.key != nil && d.figures {
		what := fmt.Sprintf("figures are read as degrees of %s", d.key)
		if d.minors && !d.key.Minor {
			what += ", a plain 2, 3 or 6 as minor"
		}
		told = []transcribe.Loss{{What: what, Doubt: true}}
	}
	return d, told
}

// romans are the numerals of figures.
var romans = []string{"I", "II", "III", "IV", "V", "VI", "VII"}

// chord writes a degree as a chord symbol, and leaves another word as it is. In minor
// a plain III, VI or VII is that of the natural scale, a diminished one that of a
// raised seventh. Common practice, no source.
func (d *degrees) chord(word string) string {
	if m := figured.FindStringSubmatch(word); m != nil && d.figures {
		roman := romans[m[2][0]-'1']
		plain := m[1]+m[3] == ""
		if minor := d.key != nil && d.key.Minor; plain && (d.minors && !minor && strings.Contains("236", m[2]) || minor && strings.Contains("124", m[2])) {
			roman = strings.ToLower(roman)
		}
		word = m[1] + roman + m[3]
		if m[4] != "" {
			word += "/" + m[4]
		}
	}
	m := numeral.FindStringSubmatch(word)
	if m == nil || d.key == nil {
		return word
	}
	number := int8(slices.Index(romans, strings.ToUpper(m[2])) + 1)
	small, quality := m[2] == strings.ToLower(m[2]), m[3]
	raised := number == 7 && (otherMark.MatchString(quality) || strings.HasPrefix(quality, "h"))
	root := harmony.Degree{Number: number, Alter: d.alter(m[1], number, raised)}.Of(d.key.Tonic).String()
	if small && !minorMark.MatchString(quality) && !otherMark.MatchString(quality) && !strings.HasPrefix(quality, "h") {
		quality = "m" + quality
	}
	if m[4] != "" {
		n := int8(m[4][len(m[4])-1] - '0')
		quality += "/" + harmony.Degree{Number: n, Alter: d.alter(m[4][:len(m[4])-1], n, false)}.Of(d.key.Tonic).String()
	}
	return root + quality
}

// alter is how a degree of the key stands to that of the major scale.
func (d *degrees) alter(sign string, number int8, raised bool) int8 {
	switch {
	case sign == "b", sign == "♭", sign == "" && d.key.Minor && !raised && strings.ContainsRune("367", rune('0'+number)):
		return -1
	case sign != "":
		return 1
	}
	return 0
}
