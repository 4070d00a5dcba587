package fretboard

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseFrets(t *testing.T) {
	for _, s := range []string{"x-3-2-0-1-0", "x32010", "X32010", "x 3 2 0 1 0", "x,3,2,0,1,0", "x, 3, 2, 0, 1, 0", " x-3-2-0-1-0 ", "x – 3 – 2 – 0 – 1 – 0"} {
		frets, err := Standard.ParseFrets(s)
		require.NoError(t, err, s)
		assert.Equal(t, []int{-1, 3, 2, 0, 1, 0}, frets, s)
	}
	frets, err := Standard.ParseFrets("x-10-12-10-11-x")
	require.NoError(t, err)
	assert.Equal(t, []int{-1, 10, 12, 10, 11, -1}, frets)
	for n := 4; n <= 8; n++ {
		tuning := make(Tuning, n)
		_, err := tuning.ParseFrets(tuning.exampleFrets())
		assert.NoError(t, err)
	}
}

func TestParseFretsSaysWhatIsWrong(t *testing.T) {
	for s, want := range map[string]string{
		"":              "no frets found; write 6 frets low string to high, such as 3-2-0-0-0-3",
		"x-3-2-0-1":     "found 5 frets for 6 strings; write 6 frets low string to high, such as 3-2-0-0-0-3",
		"x3201":         "found 5 frets for 6 strings; write 6 frets low string to high, such as 3-2-0-0-0-3",
		"x-3-2-0-1-0-0": "found 7 frets for 6 strings; write 6 frets low string to high, such as 3-2-0-0-0-3",
		"x-3-q-0-1-0":   `column 5: "q" is no fret; write 0 to 24, or x for a string not played`,
		"x3q010":        `column 3: "q" is no fret; write 0 to 24, or x for a string not played`,
		"x-3--0-1-0":    `column 5: "-" is no fret; write 0 to 24, or x for a string not played`,
		"-3-2-0-1-0":    `column 1: "-" is no fret; write 0 to 24, or x for a string not played`,
		"x-3-2-0-1-":    `column 10: "-" is no fret; write 0 to 24, or x for a string not played`,
		"x-3-25-0-1-0":  "column 5: fret 25 is past fret 24; write 0 to 24, or x for a string not played",
		"x-x-x-x-x-x":   "no string sounds; give at least one a fret from 0 to 24",
		"♭-3-2-0-1-0":   `column 1: "♭" is no fret; write 0 to 24, or x for a string not played`,
		"x-3-♭-0-1-0":   `column 5: "♭" is no fret; write 0 to 24, or x for a string not played`,
	} {
		_, err := Standard.ParseFrets(s)
		assert.EqualError(t, err, want, s)
	}
}

func TestFretsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 8).Draw(t, "strings")
		frets := rapid.SliceOfN(rapid.IntRange(-1, 24), n, n).Draw(t, "frets")
		frets[rapid.IntRange(0, n-1).Draw(t, "sounding")] = 5
		back, err := make(Tuning, n).ParseFrets(FormatFrets(frets))
		require.NoError(t, err)
		require.Equal(t, frets, back)
	})
}

func FuzzParseFrets(f *testing.F) {
	for _, s := range []string{"x-3-2-0-1-0", "x32010", "x 10 12, 10-11 x", "--", "♭", "x--"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		frets, err := Standard.ParseFrets(s)
		if err != nil {
			return
		}
		require.Len(t, frets, 6)
		back, err := Standard.ParseFrets(FormatFrets(frets))
		require.NoError(t, err)
		require.Equal(t, frets, back)
		neck := StandardNeck()
		neck.Read(frets)
		neck.Fingering(DefaultHand(), frets)
	})
}
