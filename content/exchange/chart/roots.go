package chart

import (
	"fmt"
	"regexp"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
)

// roots is how a chart writes the roots of its chords.
type roots struct {
	// minor is set where a small letter means a minor chord; lower where it is but
	// another way of writing the capital.
	minor, lower bool
	// german is set where H is B, and flat where B then is Bb.
	german, flat bool
	// degrees is set where degrees of a key stand for chords.
	degrees *degrees
	told    []transcribe.Loss
}

var (
	small      = regexp.MustCompile(`^([a-g])([#b♯♭]?)(.*)$`)
	minorMark  = regexp.MustCompile(`^(m|mi|min|-)([^ai]|$)`)
	otherMark  = regexp.MustCompile(`^(dim|o|°|ø|aug|\+|sus)`)
	germanFlat = regexp.MustCompile(`^[Bb]([^b#♭♯\d]|7|6|$)`)
	germanH    = regexp.MustCompile(`^[Hh](?:[^b#♭♯]|$)`)
	germanRoot = regexp.MustCompile(`^(?:([CDFGAcdfga])is|([DGCdgc])es|([EAea])s)(.*)$`)
	germanWord = regexp.MustCompile(`(?i)\b(?:tonart|moll|dur|takt|strophe|refrain|teil|deutsch|german)\b`)
	germanOnly = regexp.MustCompile(`(?i)\b(?:tonart|takt|strophe|teil|vorspiel|zwischenspiel|nachspiel|deutsch)\b|\b[A-Ha-h](?:is|e?s)?[- ](?:Moll|Dur)\b`)
	jazzMajor  = regexp.MustCompile(`^([A-G][#b]*)j([79]?)`)
	smallBass  = regexp.MustCompile(`/([a-g])([#b♯♭]?)$`)
)

// rootsOf looks through all of a chart: small letters are minor chords where they
// stand beside capitals, none of either being marked as minor.
func rootsOf(lines []string) roots {
	lowers, uppers, marked, markedUpper, markedMajor := 0, 0, 0, 0, 0
	hs, bs, flats, says, only := 0, 0, 0, false, false
	for _, line := range lines {
		if germanWord.MatchString(line) {
			says = true
		}
		only = only || germanOnly.MatchString(line)
		if !chordsOnly(line) {
			continue
		}
		words := strings.FieldsFunc(line, func(c rune) bool { return strings.ContainsRune(" \t|,()[]:", c) })
		for i, w := range words {
			switch {
			case germanH.MatchString(w):
				if _, err := harmony.ParseChord(capital(fromH(w))); err == nil {
					hs++
				}
			case germanFlat.MatchString(w):
				bs++
			case w[0] == 'B':
				flats++
			}
			if germanRoot.MatchString(w) && w[0] < 'a' && sharpened(w) != w {
				says, only = true, true
			}
			w = fromH(w)
			if c, err := harmony.ParseChord(w); err == nil && !c.None {
				uppers++
				if minorMark.MatchString(strings.TrimLeft(w[1:], "#b")) {
					markedUpper++
				}
				continue
			}
			m := small.FindStringSubmatch(w)
			if m == nil || alteredBy.MatchString(w) || w == "b" && i > 0 && len(words[i-1]) == 1 && words[i-1] < "a" {
				continue // a flat, apart from its root
			}
			if _, err := harmony.ParseChord(capital(w)); err != nil {
				continue
			}
			lowers++
			switch {
			case strings.HasPrefix(m[3], "maj"), otherMark.MatchString(m[3]):
				markedMajor++
			case minorMark.MatchString(m[3]):
				marked++
			}
		}
	}
	r := roots{}
	tell := func(format string, args ...any) {
		r.told = append(r.told, transcribe.Loss{What: fmt.Sprintf(format, args...), Doubt: true})
	}
	if hs > 1 || hs > 0 && (lowers > 0 || says) {
		r.german, r.flat = true, bs > 0 && flats == 0
		if r.flat {
			tell("H is read as B, and B as Bb")
		} else {
			tell("H is read as B")
		}
	}
	if hs == 0 && only && bs > 0 && flats == 0 {
		r.german, r.flat = true, true
		tell("the chart has German words: B is read as Bb")
	}
	switch {
	case lowers == 0:
	case uppers > 0 && marked == 0 && markedUpper == 0 && lowers > 0:
		r.minor = true
		tell("roots in small letters are read as minor chords")
	case uppers == 0:
		r.lower = true
		if marked == 0 && markedMajor < lowers {
			tell("all roots are in small letters and none is marked as minor: they are read as major")
		}
	case marked+markedMajor == lowers:
		r.lower = true
	}
	return r
}

// chordsOnly reports whether most words of a line could be chords.
func chordsOnly(line string) bool {
	all, chords := 0, 0
	for _, w := range strings.FieldsFunc(line, func(c rune) bool { return strings.ContainsRune(" \t|,()[]:", c) }) {
		if w == "%" || w == "/" || w == "." || w == "-" {
			continue
		}
		all++
		if _, err := harmony.ParseChord(capital(sharpened(fromH(w)))); err == nil {
			chords++
		}
	}
	return chords > 0 && chords*2 > all
}

// fromH writes a root H, as German charts have it, as B.
func fromH(word string) string {
	switch {
	case strings.HasPrefix(word, "H"):
		return "B" + word[1:]
	case strings.HasPrefix(word, "h"):
		return "b" + word[1:]
	}
	return word
}

func capital(word string) string {
	if word == "" {
		return ""
	}
	return strings.ToUpper(word[:1]) + word[1:]
}

// sharpened writes a German root such as Fis or Es as F# or Eb.
func sharpened(word string) string {
	m := germanRoot.FindStringSubmatch(word)
	if m == nil || m[3] != "" && strings.HasPrefix(m[4], "us") {
		return word
	}
	sign := "b"
	if m[1] != "" {
		sign = "#"
	}
	if out := m[1] + m[2] + m[3] + sign + m[4]; capitalReads(out) {
		return out
	}
	return word
}

// fix returns a word with its root and its bass in capitals, a small root marked as
// minor where that is what the chart means by it.
func (r roots) fix(word string) string {
	if r.degrees != nil {
		word = r.degrees.chord(word)
	}
	word = jazzMajor.ReplaceAllString(sharpened(word), "${1}maj$2")
	if r.flat && germanFlat.MatchString(word) {
		word = word[:1] + "b" + word[1:]
	}
	if r.german {
		word = fromH(word)
		if k := strings.LastIndex(word, "/"); k > 0 {
			word = word[:k+1] + fromH(word[k+1:])
		}
	}
	if m := smallBass.FindStringSubmatch(word); m != nil {
		word = word[:len(word)-len(m[0])] + "/" + capital(m[0][1:])
	}
	m := small.FindStringSubmatch(word)
	switch {
	case m == nil:
	case r.minor && otherMark.MatchString(m[3]):
		return capital(word)
	case r.minor:
		return capital(m[1]) + m[2] + "m" + m[3]
	case r.lower:
		return capital(word)
	}
	return word
}

func capitalReads(text string) bool {
	_, err := harmony.ParseChord(capital(text))
	return err == nil
}

var (
	// sungRoot is a root as it is named in Romance languages.
	sungRoot = regexp.MustCompile(`(?i)(^|[\s|(/,:-])(do|r[ée]|mi|fa|sol|la|si)( ?(?:dièse|diese|bémol|bemol|sostenido)|#|b)?(m|maj|min|M|-|\+|dim|aug|sus|add|°|o|ø|Δ|[679]|1[13]|[^\p{L}\d]|$)`)
	sungOnly = regexp.MustCompile(`(?i)^(?:r[ée]|mi|fa|sol|la|si)(?:#|b)?(?:m|maj|min|M|dim|[679]|$)`)
	sung     = map[string]string{"do": "C", "re": "D", "ré": "D", "mi": "E", "fa": "F", "sol": "G", "la": "A", "si": "B"}
)

// inLetters writes the roots of a text in letters.
func inLetters(text string) string {
	for range 2 { // a sign between two roots is part of the first
		text = sungRoot.ReplaceAllStringFunc(text, func(found string) string {
			m := sungRoot.FindStringSubmatch(found)
			sign := strings.NewReplacer(" ", "", "dièse", "#", "diese", "#", "sostenido", "#", "bémol", "b", "bemol", "b").Replace(strings.ToLower(m[3]))
			return m[1] + sung[strings.ToLower(m[2])] + sign + m[4]
		})
	}
	return text
}

// fromSung writes the lines of a chart in letters whose roots are do, re, mi: where such
// words are more than the chords in letters, on lines of little else.
func fromSung(lines []string) (told []transcribe.Loss) {
	all, letters := 0, 0
	var at []int
	for i, line := range lines {
		words, roots := 0, 0
		for _, w := range strings.FieldsFunc(line, func(c rune) bool { return strings.ContainsRune(" |,()[]:-/%.\t", c) }) {
			words++
			if sungOnly.MatchString(w) || strings.HasPrefix(w, "Do") {
				roots++
			} else if _, err := harmony.ParseChord(w); err == nil {
				letters++
			}
		}
		if roots > 0 && 2*roots >= words {
			all += roots
			at = append(at, i)
		}
	}
	if all < 3 || all <= letters {
		return nil
	}
	for _, i := range at {
		lines[i] = inLetters(lines[i])
	}
	return []transcribe.Loss{{What: "do, re, mi are read as C, D, E", Doubt: true}}
}
