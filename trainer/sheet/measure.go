package sheet

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// mm is a length in millimetres. It prints in hundredths.
type mm float64

// String writes the length without its unit.
func (m mm) String() string {
	return strconv.FormatFloat(math.Round(float64(m)*100)/100+0, 'f', -1, 64)
}

// textWidth is a bound of a text's width in a sans-serif face of a size; the
// reader's face is not known. The widths are those of DejaVu Sans, a wide one,
// by kinds of letters.
func textWidth(s string, size mm) mm {
	em := 0.0
	for _, c := range s {
		switch kind := width.LookupRune(c).Kind(); {
		case kind == width.EastAsianWide || kind == width.EastAsianFullwidth:
			em += 1.1
		case strings.ContainsRune("iIjl.,:;'|!()[]/\\ ftr-", c):
			em += 0.4
		case strings.ContainsRune("mMwW@%", c), c > unicode.MaxLatin1 && !unicode.IsLower(c):
			em += 1
		case unicode.IsUpper(c):
			em += 0.75
		default:
			em += 0.63
		}
	}
	return mm(em) * size
}

// wrap breaks a text into lines that fit a width: between words, and inside a
// word only where it alone is too long.
func wrap(s string, size, room mm) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && textWidth(line+" "+word, size) <= room {
			line += " " + word
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; textWidth(line, size) > room; {
			cut := breakIn(line, size, room)
			if cut == len(line) {
				break
			}
			lines, line = append(lines, line[:cut]), line[cut:]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// breakIn is where to break a word: behind the last letter that fits, never
// before the first and never between a letter and its marks.
func breakIn(word string, size, room mm) int {
	cut := 0
	for i, c := range word {
		if i == 0 || unicode.In(c, unicode.M, unicode.Cf) {
			continue
		}
		if cut > 0 && textWidth(word[:i], size) > room {
			return cut
		}
		cut = i
	}
	if cut == 0 || textWidth(word, size) <= room {
		return len(word)
	}
	return cut
}
