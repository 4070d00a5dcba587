package chart_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content/exchange/chart"
)

// TestBarsInWords has lines that say in words what is played again, behind two parts and
// behind the mark of a section. The wordings are common practice, no source.
func TestBarsInWords(t *testing.T) {
	const (
		parts   = "A:\n| C | F |\n\nB:\n| Dm | G |\n"
		verses  = "Verse\n| C | F |\nChorus\n| Dm | G |\n"
		unnamed = "C F\nC F\n\nDm G\n"
	)
	for _, c := range []struct{ before, line, want string }{
		{parts, "A again", "C | F | Dm | G | C | F"},
		{parts, "then A again", "C | F | Dm | G | C | F"},
		{parts, "and back to A", "C | F | Dm | G | C | F"},
		{parts, "then the A part again", "C | F | Dm | G | C | F"},
		{parts, "go back to the A section", "C | F | Dm | G | C | F"},
		{parts, "repeat A", "C | F | Dm | G | C | F"},
		{parts, "play A twice", "C | F | Dm | G | C | F | C | F"},
		{parts, "A x2", "C | F | Dm | G | C | F | C | F"},
		{parts, "repeat A, then B twice", "C | F | Dm | G | C | F | Dm | G | Dm | G"},
		{parts, "A again and out", "C | F | Dm | G | C | F"},
		{parts, "last A", "C | F | Dm | G | C | F"},
		{parts, "A again, last bar G7", "C | F | Dm | G | C | G7"},
		{parts, "play it all again", "C | F | Dm | G | C | F | Dm | G"},
		{parts, "repeat the whole thing", "C | F | Dm | G | C | F | Dm | G"},
		{parts, "back to the top", "C | F | Dm | G | C | F | Dm | G"},
		{parts, "from the top once more", "C | F | Dm | G | C | F | Dm | G"},
		{parts, "D.C., out on bar 2", "C | F | Dm | G | C | F"},
		{parts, "then the first part again", "C | F | Dm | G | C | F"},
		{parts, "repeat last 2 bars", "C | F | Dm | G | Dm | G"},
		{parts, "repeat bars 1-2", "C | F | Dm | G | C | F"},
		{parts, "repeat bars 2 to 3", "C | F | Dm | G | F | Dm"},
		{parts, "play that twice", "C | F | Dm | G | Dm | G"},
		{parts, "play it 2 times", "C | F | Dm | G | Dm | G"},
		{parts, "end on C6", "C | F | Dm | G | C6"},
		{parts, "first 2 bars of B again", "C | F | Dm | G | Dm | G"},
		{parts, "C: same as A but last bar is A7\n", "C | F | Dm | G | C | A7"},
		{parts, "Outro: last 2 bars of A x2", "C | F | Dm | G | C | F | C | F"},
		{verses, "verse again", "C | F | Dm | G | C | F"},
		{verses, "Repeat verse and chorus", "C | F | Dm | G | C | F | Dm | G"},
		{verses, "Back to verse, then chorus twice", "C | F | Dm | G | C | F | Dm | G | Dm | G"},
		{verses, "(Verse x2)", "C | F | Dm | G | C | F | C | F"},
		{verses, "Verse 2: same", "C | F | Dm | G | C | F"},
		{verses, "Solo: over the verse chords", "C | F | Dm | G | C | F"},
		{verses, "Outro: as chorus", "C | F | Dm | G | Dm | G"},
		{verses, "Solo (chorus changes x2)", "C | F | Dm | G"},
		{unnamed, "and back to the first bit", "C | F | C | F | Dm | G | C | F | C | F"},
		{unnamed, "then the first line again", "C | F | C | F | Dm | G | C | F"},
		{unnamed, "that bit twice", "C | F | C | F | Dm | G | Dm | G"},
		{unnamed, "play 3 times", "C | F | C | F | Dm | G | Dm | G | Dm | G"},
		{verses, "Then verse and chorus again, finish on C", "C | F | Dm | G | C | F | Dm | G | C"},
		{verses, "Verse again\n| C | G |", "C | F | Dm | G | C | G"},
		{verses, "Solo same as verse x2", "C | F | Dm | G | C | F | C | F"},
		{verses, "Verse 2 (same chords)", "C | F | Dm | G | C | F"},
		{unnamed, "repeat both lines\n", "C | F | C | F | Dm | G | Dm | G"},
		{unnamed, "4/4, about 112, play it 2 times", "C | F | C | F | Dm | G | Dm | G"},
		{unnamed, "play it 2x then solos", "C | F | C | F | Dm | G | Dm | G"},
		{verses, "VERSE 2 = same as verse", "C | F | Dm | G | C | F"},
		{verses, "[Solo] segno\n| C | G |\nD.S.", "C | F | Dm | G | C | G | C | G"},
		{unnamed, "same again", "C | F | C | F | Dm | G | Dm | G"},
	} {
		t.Run(c.line, func(t *testing.T) {
			bars, _, _ := played(t, c.before+c.line)
			assert.Equal(t, c.want, bars)
		})
	}
	bars, _, _ := played(t, "Intro: last 2 bars of A\nA: C | F | G\nB: Dm | G")
	assert.Equal(t, "F | G | C | F | G | Dm | G", bars)
	bars, _, _ = played(t, "Intro (2 beats each)\nC F G C\nVerse (one bar each)\nDm G")
	assert.Equal(t, "C F | G C | Dm | G", bars)
	bars, _, _ = played(t, "V - C - F\nCh - G - C\nSolo same as verse x2\nCh")
	assert.Equal(t, "C | F | G | C | C | F | C | F | G | C", bars)
	bars, _, _ = played(t, "Intro:\ne|-----------------|\nB|---1-----1-------|\nG|-0---0-0---0-----|\n\nC | F")
	assert.Equal(t, "C | F", bars)
	bars, _, _ = played(t, "A (8) x2\nC / / / | F / / / |\n\nB (8)\nG / / / | C / / / |")
	assert.Equal(t, "C | F | C | F | G | C", bars)
	bars, _, _ = played(t, "1st strain (twice)\n|: C | F :|\n2nd strain (twice)\n|: G | C :|")
	assert.Equal(t, "C | F | C | F | G | C | G | C", bars)
	bars, _, _ = played(t, "A   Dm7 - 2 bars\nA   Dm7 - 2 bars\nB   Ebm7 - 1 bar")
	assert.Equal(t, "Dm7 | Dm7 | Dm7 | Dm7 | Ebm7", bars)
	bars, _, _ = played(t, "A: C | F\nB: Dm | G\nPlay A A B A")
	assert.Equal(t, "C | F | C | F | Dm | G | C | F", bars)
	bars, _, _ = played(t, "Groove:  | E9 | % |  x2\nBridge: | A9 | B9 |")
	assert.Equal(t, "E9 | E9 | E9 | E9 | A9 | B9", bars)
	bars, _, _ = played(t, "A: C | F\nB: Dm | G\nA2 = A\n")
	assert.Equal(t, "C | F | Dm | G | C | F", bars)
}

// TestWordsToSing has lines that only sound as if they told what is played.
func TestWordsToSing(t *testing.T) {
	for _, line := range []string{"play it again", "over and over", "once more", "take me to the top", "I'm going back to the start", "and then again", "twice around the block", "the last time that I saw you"} {
		bars, _, _ := played(t, "C F\nwalking along by the water\nG C\n"+line)
		assert.Equal(t, "C | F | G | C", bars, line)
	}
}

// TestTitlesAndFacts has first lines with a number of the tune, comments that say how to
// play, and a blues with its key. The wordings are common practice, no source.
func TestTitlesAndFacts(t *testing.T) {
	for _, c := range []struct {
		text, title, key string
		tempo            float64
	}{
		{"#3 - The Rope Bridge\nDm7 | G7", "The Rope Bridge", "C", 100},
		{"#11 \"Wet Boots\"   (clean)\nDm7 | G7", "Wet Boots", "C", 100},
		{"# Wet Boots\n# key D minor / slow / 76 bpm\nDm7 | G7", "Wet Boots", "Dm", 76},
		{"# played loud\n// tempo: 84\nDm7 | G7", "", "C", 84},
		{"Wet Boots\nEb blues, medium, 132\nEb7 | Ab7", "Wet Boots", "Eb", 132},
		{"Eb blues\nEb7 | Ab7 | Eb7 | Bb7", "Eb blues", "Eb", 100},
		{"F blues, the long version\nF7 | Bb7 | F7 | C7", "F blues, the long version", "F", 100},
		{"C minor blues for the yard, 120\nCm7 | Fm7 | Cm7 | G7", "C minor blues for the yard", "Cm", 120},
	} {
		t.Run(c.text, func(t *testing.T) {
			s, faults := chart.Read(c.text)
			require.Empty(t, faults)
			tn, _ := s.Tune(40, 60)
			assert.Equal(t, c.title, s.Title)
			assert.Equal(t, c.key, tn.Key.String())
			assert.Equal(t, c.tempo, tn.Tempo)
		})
	}
}
