package plain

import (
	"regexp"
	"strings"

	"footfall/harmony"
)

// What is written as musicians write it and is spoken otherwise, alone between spaces and
// punctuation: a degree with an alteration, a note with one, a chord symbol that is no
// word, and a shape's frets, low string first.
var (
	altered = regexp.MustCompile(`^(bb|b|#|##)[0-9]{1,2}$`)
	noted   = regexp.MustCompile(`^[A-G](bb|b|#|##)$`)
	symbol  = regexp.MustCompile(`^[A-G][b#]?(m|maj|dim|aug|sus|add|alt|°|ø|[0-9(]|/[A-G])\S*$`)
	fretted = regexp.MustCompile(`^(x|[0-9]{1,2})(-(x|[0-9]{1,2})){3,}$`)
	around  = regexp.MustCompile(`^(["(]*)(.*?)([.,:;?!"]*)$`)
)

// spoken writes a text as a musician says it and a screen reader says it well: "flat
// three" for b3, "B flat major seven" for Bbmaj7, "mute, 3, 2, 3" for x-3-2-3.
func spoken(text string) string {
	words := strings.Split(text, " ")
	for i, w := range words {
		m := around.FindStringSubmatch(w)
		words[i] = m[1] + spokenWord(m[2]) + m[3]
	}
	return strings.Join(words, " ")
}

func spokenWord(w string) string {
	switch {
	case altered.MatchString(w):
		if d, err := harmony.ParseDegree(w); err == nil {
			return d.Spoken()
		}
	case noted.MatchString(w):
		if n, err := harmony.ParseNote(w); err == nil {
			return n.Spoken()
		}
	case symbol.MatchString(w):
		if c, err := harmony.ParseChord(w); err == nil {
			return c.Spoken()
		}
	case fretted.MatchString(w):
		return strings.ReplaceAll(strings.ReplaceAll(w, "x", "mute"), "-", ", ")
	}
	return w
}
