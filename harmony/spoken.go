package harmony

import (
	"fmt"
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
