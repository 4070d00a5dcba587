package command

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestShapeAnswersInJSON(t *testing.T) {
	out, _, code := runOn(nil, "shape", "x-2-3-2-3-x", "--over", "G7", "--json")
	require.Zero(t, code)
	var read struct {
		Frets    string
		Notes    []string
		Readings []struct {
			Symbol    string
			Degrees   []string
			Inversion string
			Omits     []string
		}
		Over struct {
			Symbol  string
			Degrees []string
			Says    string
		}
	}
	require.NoError(t, json.Unmarshal([]byte(out), &read))
	require.Equal(t, "x-2-3-2-3-x", read.Frets)
	require.Equal(t, []string{"B", "F", "A", "D"}, read.Notes)
	require.Equal(t, "Bm7b5", read.Readings[0].Symbol)
	require.Equal(t, []string{"1", "b5", "b7", "b3"}, read.Readings[0].Degrees)
	require.Equal(t, "root position", read.Readings[0].Inversion)
	require.Empty(t, read.Readings[0].Omits)
	require.Equal(t, "G7", read.Over.Symbol)
	require.Equal(t, []string{"3", "b7", "9", "5"}, read.Over.Degrees)
	require.Equal(t, "root-position m7b5 shape; over G7 it sounds 3 b7 9 5: a rootless 9 with the third in the bass", read.Over.Says)
	require.NotContains(t, out, "null")

	out, _, _ = runOn(nil, "shape", "x-2-3-2-3-x", "--json")
	require.NotContains(t, out, `"over"`)
}

func TestShapeAnswersEachLineInOrder(t *testing.T) {
	out, _, code := runOn(strings.NewReader("x32010\nq\n\nx 0 2 0 1 0\n"), "shape", "-")
	require.Equal(t, ExitBadInput, code)
	lines := strings.Split(strings.TrimSpace(out), "\n")
	require.Len(t, lines, 4)
	require.Contains(t, lines[0], `"frets":"x-3-2-0-1-0"`)
	require.Equal(t, `{"frets":"q","error":"column 1: \"q\" is no fret; write 0 to 24, or x for a string not played"}`, lines[1])
	require.Contains(t, lines[2], `"error":"no frets found; write 6 frets low string to high, such as 3-2-0-0-0-3"`)
	require.Contains(t, lines[3], `"symbol":"Am7"`)
}

func TestShapePrintsANeck(t *testing.T) {
	out, _, code := runOn(nil, "shape", "x", "2", "3", "2", "3", "x", "--over", "G7")
	require.Zero(t, code)
	require.Equal(t, `x-2-3-2-3-x  B F A D

  1   x |-----|-----|-----|
  2     |-----|-----|--5--|
  3     |-----|--9--|-----|
  4     |-----|-----|-b7--|
  5     |=====|==3==|=====|
  6   x |=====|=====|=====|
           1     2     3

Root-position m7b5 shape; over G7 it sounds 3 b7 9 5: a rootless 9 with the third in the bass.

  Bm7b5      1 b5 b7 b3       root position, drop 2
  Dm/B       6 b3 5 1         6 in the bass
  Dm6/B      6 b3 5 1         third inversion, drop 2
  G9/B       3 b7 9 5         first inversion, rootless
`, out)
}

func TestShapeSaysWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"shape", "x-3-2"}, "x-3-2: found 3 frets for 6 strings"},
		{[]string{"shape", "x32010", "--over", "Hm"}, ""},
		{[]string{"shape", "x32010", "--over", ""}, ""},
		{[]string{"shape"}, ""},
		{[]string{"shapes", "C", "--bass", "z"}, ""},
		{[]string{"shapes", "N.C."}, ""},
		{[]string{"shapes", "C", "E"}, ""},
	} {
		_, errs, code := runOn(nil, c.args...)
		require.Equal(t, ExitBadInput, code, c.args)
		require.Contains(t, errs, c.want)
	}
}

func TestShapesAnswersInJSON(t *testing.T) {
	out, _, code := runOn(nil, "shapes", "C7", "--bass", "1", "--json")
	require.Zero(t, code)
	var found []struct {
		Frets   string
		Degrees []string
		Fingers []int
		SpanMM  float64 `json:"span_mm"`
		Effort  float64
	}
	require.NoError(t, json.Unmarshal([]byte(out), &found))
	require.Greater(t, len(found), 20)
	for _, s := range found {
		if s.Frets == "8-x-8-9-8-x" {
			require.Equal(t, []string{"1", "b7", "3", "5"}, s.Degrees)
			require.Equal(t, []int{1, 0, 1, 2, 1, 0}, s.Fingers)
			// 648 mm · (2^(−8/12) − 2^(−9/12)), equal temperament.
			require.Equal(t, 22.9, s.SpanMM)
			require.Positive(t, s.Effort)
			return
		}
	}
	t.Fatal("8-x-8-9-8-x is missing")
}

func TestShapesPrintsTheBestFirst(t *testing.T) {
	out, _, code := runOn(nil, "shapes", "Dm", "--bass", "b3")
	require.Zero(t, code)
	require.True(t, strings.HasPrefix(out, `Dm with its b3 in the bass: 114 shapes, best first.

  1   x |-----|-----|-----|
  2   x |-----|-----|-----|
  3     |--1--|-----|-----|
  4     |--5--|-----|-----|
  5     |=====|=b3==|=====|
  6   x |=====|=====|=====|
           7     8     9

  frets              degrees           fingers       reach
  x-8-7-7-x-x        b3 5 1            x-2-1-1-x-x   24 mm
`), out)
}

// The four inversions of a drop 3 Cmaj7 from string 6, as the design's figures have
// them (3157, 5371, 7513, 1735).
func TestShapesAlongTheNeck(t *testing.T) {
	out, errs, code := runOn(nil, "shapes", "Cmaj7", "--along", "8-x-9-9-8-x", "--json")
	require.Zero(t, code, errs)
	var found []foundShape
	require.NoError(t, json.Unmarshal([]byte(out), &found))
	var got []string
	for _, s := range found {
		got = append(got, s.Frets+" "+strings.Join(s.Degrees, ""))
		require.Len(t, s.Fingers, 6)
		require.Positive(t, s.SpanMM)
	}
	require.Equal(t, []string{"3-x-2-4-1-x 5371", "7-x-5-5-5-x 7513", "8-x-9-9-8-x 1735", "12-x-10-12-12-x 3157"}, got)
	out, _, _ = runOn(nil, "shapes", "C6/9", "--along", "xx2233")
	require.True(t, strings.HasPrefix(out, "C6/9 up the neck: 3 places.\n"), out)
}

func TestShapesOfASlashChordKeepItsBass(t *testing.T) {
	out, _, _ := runOn(nil, "shapes", "C/Bb", "--json")
	var found []struct{ Degrees []string }
	require.NoError(t, json.Unmarshal([]byte(out), &found))
	require.NotEmpty(t, found)
	for _, s := range found {
		require.Equal(t, "b7", s.Degrees[0])
	}
}

// A tune with another ending reads back, and its last shape is that of the ending.
func TestTuneFormatEndsAtAPlace(t *testing.T) {
	var lowest []string
	for _, place := range []string{"1", "2", "3"} {
		text, errs, code := runOn(nil, "tune", "format", "lantern-street", "--ending", place)
		require.Zero(t, code, errs)
		require.Contains(t, text, "\n[End]\n")
		require.Contains(t, text, "A B End")
		out, errs, code := runOn(strings.NewReader(text), "arrange", "-", "--json", "--layer", "bass+halves")
		require.Zero(t, code, errs)
		var a struct {
			Events []struct{ Kind, Frets string }
		}
		require.NoError(t, json.Unmarshal([]byte(out), &a))
		last := a.Events[len(a.Events)-1]
		require.Equal(t, "shape", last.Kind)
		require.Contains(t, text, last.Frets)
		lowest = append(lowest, last.Frets)
	}
	require.Equal(t, []string{"1-x-1-2-1-x", "5-x-3-5-4-x", "8-x-7-8-6-x"}, lowest)
}
