package session

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// An answer is named where its words stand in a text, not where its letters do, and the
// number of a string or a fret names none.
func TestAnswersAreHeldWordForWord(t *testing.T) {
	for _, c := range []struct {
		text, answer string
		holds        bool
	}{
		{"It is Bb, the 1 of Bbmaj7.", "1", true},
		{"G, string 5 fret 10, the b3 of Em7b5.", "5", false},
		{"G, string 6 fret 3.", "3", false},
		{"It is A, the b5 of Ebm7b5.", "5", false},
		{"String 5, fret 10 is G, the 5 of Cm7.", "5", true},
		{"It is Bb.", "B", false},
		{"A half step leads into G: 1 /3 /5 \\#4.", "1 /3 /5 \\#4", true},
		{"", "1", false}, {"1", "", true},
	} {
		assert.Equal(t, c.holds, holds(c.text, c.answer), "%q in %q", c.answer, c.text)
	}
}
