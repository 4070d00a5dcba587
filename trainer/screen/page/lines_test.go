package page

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestLinesBreakAtSpacesAlone(t *testing.T) {
	for text, want := range map[string]string{
		"play 3-2-0-0-0-3 now":            "play\n3-2-0-0-0-3\nnow",
		"F#m7b5(add11)/C# over b7":        "F#m7b5(add11\n)/C# over b7",
		"by 2026-12-03, in 12 days":       "by\n2026-12-03,\nin 12 days",
		"two  spaces stay":                "two  spaces\nstay",
		"one\ntwo three":                  "one\ntwo three",
		"":                                "",
		"a-word-that-is-longer-than-that": "a-word-that-\nis-longer-th\nan-that",
	} {
		assert.Equal(t, want, Wrapped(text, 12), text)
	}
}

// Whatever the text, no line is too long, no letter is lost, and a word that fits a line
// is on one.
func TestNoWordIsBrokenThatFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-zA-Z0-9#♭/(),.-]{1,14}`), 1, 20).Draw(t, "words")
		width := rapid.IntRange(1, 40).Draw(t, "width")
		lines := Wrapped(strings.Join(words, " "), width)
		var long bool
		for _, w := range words {
			long = long || ansi.StringWidth(w) > width
		}
		if !long {
			assert.Equal(t, words, strings.Fields(lines))
		}
		assert.Equal(t, strings.Join(words, ""), strings.Join(strings.Fields(lines), ""))
		for l := range strings.SplitSeq(lines, "\n") {
			if ansi.StringWidth(l) > width {
				t.Fatalf("%d columns of %d: %q", ansi.StringWidth(l), width, l)
			}
		}
	})
}

// Whatever the text and the room, as many lines as there may be at most, none too long, and
// dots where something is left out.
func TestTextsAreCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.StringMatching(`[a-z語…,-]{1,14}`), 1, 20).Draw(t, "words")
		text, width, most := strings.Join(words, " "), rapid.IntRange(2, 40).Draw(t, "width"), rapid.IntRange(1, 3).Draw(t, "most")
		dots := rapid.SampledFrom([]string{"…", "..."}).Draw(t, "dots")
		lines := Cut(text, width, most, dots)
		if len(lines) > most {
			t.Fatalf("%d lines of %d", len(lines), most)
		}
		for _, l := range lines {
			if ansi.StringWidth(l) > width {
				t.Fatalf("%d columns of %d: %q", ansi.StringWidth(l), width, l)
			}
		}
		if whole := Wrapped(text, width); strings.Count(whole, "\n") < most && strings.Join(lines, "\n") != whole {
			t.Fatalf("%q, not %q", lines, whole)
		}
	})
}

// A line of one column has no room for a wide character.
func TestWrappedInOneColumn(t *testing.T) {
	assert.Equal(t, "語\n語\n\na", Wrapped("語語 a", 1))
	assert.Equal(t, "\u0301語\n", Wrapped("\u0301語", 1))
}

func TestADayIsWrittenWithItsYearWhereThatIsAnother(t *testing.T) {
	assert.Equal(t, "Dec 3", ByDay("2026-12-03", "2026-11-30"))
	assert.Equal(t, "Jan 3, 2027", ByDay("2027-01-03", "2026-11-30"))
	assert.Equal(t, "someday", ByDay("someday", "2026-11-30"))
}
