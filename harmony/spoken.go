package harmony

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// numerals are the words for degrees and for what chord symbols count.
var numerals = [...]string{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen"}

// accidentalWords is how an alteration is spoken, with a space behind it.
func accidentalWords(alter int8) string {
	return [...]string{"double flat ", "flat ", "", "sharp ", "double sharp "}[alter+2]
}

// Spoken says the degree as a musician does, and a screen reader well: "flat three".
// It is for alterations from −2 to 2.
func (d Degree) Spoken() string { return accidentalWords(d.Alter) + numerals[d.Number] }

// Spoken says the note's name: "B flat". It is for alterations from −2 to 2.
func (n Note) Spoken() string {
	return strings.TrimSpace(n.Letter.String() + " " + accidentalWords(n.Alter))
}

// qualityWords are the parts of the names of qualities in words, those that begin with
// others first.
var qualityWords = []struct{ text, word string }{
	{"Maj", "major"}, {"maj", "major"}, {"madd", "minor add"}, {"m", "minor"}, {"dim", "diminished"}, {"aug", "augmented"}, {"sus", "sus"}, {"add", "add"}, {"no", "without"},
	{"bb", "double flat"}, {"b", "flat"}, {"#", "sharp"},
	{"13", "thirteen"}, {"11", "eleven"}, {"9", "nine"}, {"8", "eight"}, {"7", "seven"}, {"6", "six"}, {"5", "five"}, {"4", "four"}, {"3", "three"}, {"2", "two"},
	{"(", ""}, {")", ""}, {",", ""}, {"/", ""}, {" ", ""},
}

// Spoken says what follows the root in the quality's name: "minor seven flat five",
// "major" where nothing does.
func (q Quality) Spoken() string {
	var words []string
	name := q.Name()
	if name == "" || strings.ContainsRune("(b#", rune(name[0])) {
		words = append(words, "major")
	}
next:
	for name != "" {
		for _, w := range qualityWords {
			if rest, ok := strings.CutPrefix(name, w.text); ok {
				if w.word != "" {
					words = append(words, w.word)
				}
				name = rest
				continue next
			}
		}
		words = append(words, strconv.Quote(name)) // no name has other parts, as a test holds
		break
	}
	return strings.Join(words, " ")
}

// Spoken says the chord: "B flat major seven over F".
func (c Chord) Spoken() string {
	if c.None {
		return "no chord"
	}
	text := fmt.Sprintf("%s %s", c.Root.Spoken(), c.Quality().Spoken())
	if c.Bass != c.Root {
		text += " over " + c.Bass.Spoken()
	}
	return text
}

// written is how a spoken word is written: numerals, mute strings and the words of
// chord symbols. A degree's direction stands before it.
var written = map[string]string{
	"mute": "x", "muted": "x", "flat": "b", "sharp": "#", "minor": "m", "major": "maj", "diminished": "dim", "augmented": "aug",
	"sus": "sus", "add": "add", "without": "no", "over": "/", "up": "/", "down": `\`,
}

// Unspoken writes what was said as musicians write it, so that what Spoken says can be
// read again: "flat three" is b3, "E flat minor seven over G flat" Ebm7/Gb, "mute, 3, 5"
// x 3 5, "the and of two" 2+, "string 5 fret three" 5 3. A text without such words is
// returned as it is.
func Unspoken(text string) string {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" \t,.:;", r) })
	var out []string
	// chord is set while words belong to a symbol, glue where the next numeral belongs to
	// what stands before it.
	chord, glue, found := false, false, false
	put := func(s string, joined bool) {
		if joined && len(out) > 0 {
			out[len(out)-1] += s
		} else {
			out = append(out, s)
		}
	}
	for i, w := range words {
		next := ""
		if i+1 < len(words) {
			next = words[i+1]
		}
		said, isWord := written[w]
		number := slices.Index(numerals[:], w)
		switch {
		case w == "the", w == "then", w == "and" && next == "of", (w == "string" || w == "fret") && (next != "" && numeralOf(next) != ""):
			found = found || w != "the" && w != "then"
		case w == "double":
			found = true
			if next == "flat" || next == "sharp" {
				put(written[next], chord || glue)
				glue = true
			}
		case w == "of" && i > 0 && words[i-1] == "and":
		case i > 1 && w != "" && words[i-1] == "of" && words[i-2] == "and" && numeralOf(w) != "":
			put(numeralOf(w)+"+", false)
		case w == "flat" || w == "sharp":
			found = true
			put(said, chord || glue)
			glue = true
		case w == "up" || w == "down":
			found, chord, glue = true, false, true
			put(said, false)
		case w == "over":
			found = true
			put(said, chord)
			chord, glue = false, true
		case w == "mute" || w == "muted":
			found, chord, glue = true, false, false
			put(said, false)
		case isWord:
			found = true
			put(said, chord)
			chord, glue = true, true
		case number >= 0:
			found = true
			put(strconv.Itoa(number), chord || glue)
			glue = false
		case len(w) == 1 && w[0] >= 'a' && w[0] <= 'g' && w != next:
			put(strings.ToUpper(w), glue)
			chord, glue = true, false
		default:
			put(w, (chord || glue) && numeralOf(w) != "")
			chord, glue = chord && numeralOf(w) != "", false
		}
	}
	if !found {
		return text
	}
	return strings.Join(out, " ")
}

// numeralOf is the digits of a numeral, "" of any other word.
func numeralOf(w string) string {
	if n := slices.Index(numerals[:], w); n >= 0 {
		return strconv.Itoa(n)
	}
	if strings.Trim(w, "0123456789") == "" {
		return w
	}
	return ""
}
