package fretboard

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony"
)

// position is one of the 1,035 guitar positions of @tombatossals/chords-db
// 0.5.1 (npm, MIT), kept in testdata/guitar-positions.json.
type position struct {
	Key, Suffix, Frets, Fingers string
	MIDI                        []int
}

func positions(t testing.TB) []position {
	t.Helper()
	text, err := os.ReadFile("testdata/guitar-positions.json")
	require.NoError(t, err)
	var file struct{ Positions []position }
	require.NoError(t, json.Unmarshal(text, &file))
	require.Len(t, file.Positions, 1035)
	return file.Positions
}

// sourceSuffixes maps the source's own suffixes to the symbols of Footfall;
// others stand for themselves. alt and 7sg do not say what they hold: their
// positions hold 1 3 b5 and 1 3 5 b7.
var sourceSuffixes = map[string]string{
	"major": "", "minor": "m", "alt": "(b5)", "7sg": "7", "69": "6/9", "m69": "m6/9", "aug7": "7#5", "aug9": "9#5",
	"mmaj7": "mMaj7", "mmaj7b5": "mMaj7b5", "mmaj9": "mMaj9", "mmaj11": "mMaj11",
}

// unreadable lists the positions that are not read back among the first three
// readings, with the reason: what they hold by computation from their frets.
var unreadable = map[string]string{
	"C 9 8-10-8-7-8-10":      "no third: holds 1 9 5 b7, as its fifth string is at 10, not 7",
	"C# aug 4-4-6-4-7-4":     "holds C#7sus4: no third, no #5",
	"C# 7b5 x-x-12-13-13-14": "holds D7b5, a fret too high",
	"C# 11 x-4-3-0-0-4":      "holds b5 and 5, no 11",
	"C# 11 9-8-9-8-8-9":      "holds b5 and 9, no 11",
	"C# 9#11 x-3-2-0-0-3":    "holds Cmaj7, another root",
	"D mmaj11 5-5-5-7-7-5":   "holds 3, no b3 and no 7",
	"Eb maj7b5 x-6-7-7-8-6":  "holds the natural 5 as well: Ebmaj7#11",
	"E madd9 x-x-3-1-1-3":    "holds Fm(add9), a fret too high",
	"E madd9 x-8-6-0-6-8":    "holds Fm(add9), a fret too high",
	"F /A 5-3-3-5-6-0":       "holds the 7 on its open first string: Fmaj7/A",
	"G m11 x-x-5-5-7-7":      "holds the major third and seventh: Gmaj11",
	"Ab 7b9 x-x-4-5-4-5":     "no root: its four notes are dim7 chords on each of them, which are nearer names",
	"A dim 5-3-x-4-3-x":      "holds 1 b3 2 4: no b5",
	"A m/G# x-x-4-5-5-5":     "its bass is F#, not G#",
	"Bb 6 x-13-11-11-10-x":   "holds 1 b6 b3 7: no 3 and no 6",
	"B aug x-14-13-12-12-0":  "holds the 4 as well, on its open first string",
}

var keys = map[string]int{
	"C": 0, "C#": 1, "D": 2, "D#": 3, "Eb": 3, "E": 4, "F": 5, "F#": 6, "G": 7, "G#": 8, "Ab": 8, "A": 9, "Bb": 10, "B": 11,
}

func TestReadingThePublishedPositions(t *testing.T) {
	neck := StandardNeck()
	all := positions(t)
	for _, p := range all {
		suffix, bass, slash := strings.Cut(p.Suffix, "/")
		if s, ok := sourceSuffixes[suffix]; ok {
			suffix = s
		}
		readings := neck.Read(fretsOf(t, p.Frets))
		found := slices.IndexFunc(readings[:min(3, len(readings))], func(r Reading) bool {
			return r.Chord.Quality().Name() == suffix && r.Chord.Root.Semitone() == keys[p.Key] &&
				(!slash || r.Chord.Bass.Semitone() == keys[bass])
		})
		name := p.Key + " " + p.Suffix + " " + p.Frets
		if reason, ok := unreadable[name]; ok {
			assert.Negative(t, found, "%s is read after all, though: %s", name, reason)
			continue
		}
		var symbols []string
		for _, r := range readings {
			symbols = append(symbols, r.Chord.Symbol)
		}
		assert.GreaterOrEqual(t, found, 0, "%s is read as %v", name, symbols)
	}
	assert.LessOrEqual(t, float64(len(unreadable)), 0.03*float64(len(all)))
}

// The source gives the notes of each position; the neck must sound the same.
func TestThePublishedPositionsSound(t *testing.T) {
	neck := StandardNeck()
	for _, p := range positions(t) {
		notes, _ := neck.sounds(fretsOf(t, p.Frets))
		require.Equal(t, p.MIDI, notes, "%s %s %s", p.Key, p.Suffix, p.Frets)
	}
}

// unplayed lists the published positions whose lowest note lies on string 6 or
// 5 and which the rules of the search do not allow, with the reason.
var unplayed = map[string]string{
	"C maj13 x-3-2-2-0-1":       "holds 4, outside maj13",
	"C# aug 4-4-6-4-7-4":        "holds C#7sus4",
	"C# 11 x-4-3-0-0-4":         "holds b5, outside 11",
	"C# 11 9-8-9-8-8-9":         "holds b5, outside 11",
	"C# 9#11 x-3-2-0-0-3":       "holds Cmaj7",
	"C# 13 x-4-3-3-0-2":         "holds 4, outside 13",
	"D maj13 x-5-5-6-7-7":       "holds 4, outside maj13",
	"D mmaj11 5-5-5-7-7-5":      "holds 3, outside mMaj11",
	"Eb 13 6-6-6-6-8-8":         "holds 4, outside 13",
	"Eb 13 11-11-11-12-13-13":   "holds 4, outside 13",
	"Eb maj7b5 x-6-7-7-8-6":     "holds 5, outside maj7b5",
	"E 13 0-0-0-1-2-2":          "holds 4, outside 13",
	"E 13 7-7-7-7-9-9":          "holds 4, outside 13",
	"E madd9 x-8-6-0-6-8":       "holds Fm(add9)",
	"F 13 1-1-1-2-3-3":          "holds 4, outside 13",
	"F 13 8-8-8-8-10-10":        "holds 4, outside 13",
	"F maj13 x-8-8-9-10-10":     "holds 4, outside maj13",
	"F /A 5-3-3-5-6-0":          "holds 7, outside the triad",
	"F# 13 2-2-1-3-0-0":         "holds 4, outside 13",
	"Ab maj13 4-4-5-5-6-4":      "holds 4, outside maj13",
	"Ab maj13 x-11-11-12-13-13": "holds 4, outside maj13",
	"A dim 5-3-x-4-3-x":         "holds 9 and 4, outside dim",
	"A 13 5-4-4-0-3-0":          "holds 4, outside 13",
	"Bb 6 x-13-11-11-10-x":      "holds b3, b6 and 7, outside 6",
	"Bb 13 6-5-0-0-4-4":         "holds 4, outside 13",
	"B aug x-14-13-12-12-0":     "holds 4, outside aug",
	"B 13 2-2-2-2-4-4":          "holds 4, outside 13",
	"B 13 7-7-7-8-9-9":          "holds 4, outside 13",
	"C 9 8-10-8-7-8-10":         "lacks the third, and no hand lays a barre at 8 that leaves a 7 inside it",
	"E mmaj7b5 0-1-1-0-x-0":     "mutes a string between two open ones",
	"C 11 x-3-2-3-1-1":          "holds 3, which an 11 leaves out",
	"C 11 8-7-0-0-6-6":          "holds 3, which an 11 leaves out",
	"D 11 x-5-5-5-7-5":          "holds 3, which an 11 leaves out",
	"Eb 11 x-6-5-6-4-4":         "holds 3, which an 11 leaves out",
	"Eb 11 11-11-11-12-11-11":   "holds 3, which an 11 leaves out",
	"E 11 0-0-4-4-3-4":          "holds 3, which an 11 leaves out",
	"E 11 x-7-7-7-9-7":          "holds 3, which an 11 leaves out",
	"F 11 3-3-3-3-4-5":          "holds 3, which an 11 leaves out",
	"F 11 x-8-8-8-10-8":         "holds 3, which an 11 leaves out",
	"F# 11 2-1-2-1-0-0":         "holds 3, which an 11 leaves out",
	"F# 11 x-9-8-9-7-7":         "holds 3, which an 11 leaves out",
	"G 11 3-2-0-0-1-1":          "holds 3, which an 11 leaves out",
	"G 11 x-10-9-10-8-8":        "holds 3, which an 11 leaves out",
	"Ab 11 6-6-6-6-7-8":         "holds 3, which an 11 leaves out",
	"Ab 11 x-11-11-11-13-11":    "holds 3, which an 11 leaves out",
	"A 11 5-4-0-0-0-3":          "holds 3, which an 11 leaves out",
	"A 11 7-7-7-7-8-9":          "holds 3, which an 11 leaves out",
	"Bb 11 6-5-0-5-4-4":         "holds 3, which an 11 leaves out",
	"Bb 11 x-13-12-13-11-11":    "holds 3, which an 11 leaves out",
	"B 11 2-2-2-2-4-2":          "holds 3, which an 11 leaves out",
	"B 11 9-9-9-9-10-11":        "holds 3, which an 11 leaves out",
	"A maj11 10-0-9-9-9-9":      "its lowest note is the open string 5, under a string 6 that sounds",
}

func TestSearchFindsThePublishedPositions(t *testing.T) {
	neck, hand := StandardNeck(), DefaultHand()
	looked := 0
	for _, p := range positions(t) {
		suffix, _, _ := strings.Cut(p.Suffix, "/")
		if s, ok := sourceSuffixes[suffix]; ok {
			suffix = s
		}
		q := qualities()[slices.IndexFunc(qualities(), func(q quality) bool { return q.Name == suffix })]
		root := rootNames[keys[p.Key]][0]
		chord := harmony.Chord{Root: root, Bass: root, Degrees: q.Degrees}
		frets := fretsOf(t, p.Frets)
		_, lowest := neck.sounds(frets)
		if lowest != soundOf(neck, frets, 0) && lowest != soundOf(neck, frets, 1) {
			continue
		}
		looked++
		shapes := neck.Shapes(hand, Query{Chord: chord, Bass: chord.DegreeOf(lowest)})
		found := slices.ContainsFunc(shapes, func(s Shape) bool { return slices.Equal(s.Frets, frets) })
		name := p.Key + " " + p.Suffix + " " + p.Frets
		if reason, ok := unplayed[name]; ok {
			assert.False(t, found, "%s is found after all, though it %s", name, reason)
			continue
		}
		assert.True(t, found, "%s is missing", name)
	}
	assert.Equal(t, 830, looked)
}

// soundOf returns the MIDI number that string index i sounds, −1 for none.
func soundOf(n Neck, frets []int, i int) int {
	if frets[i] < 0 {
		return -1
	}
	return n.Tuning[i] + frets[i]
}

// Every published position but two can be held, and most are held with the
// fingers that the source gives.
func TestFingeringThePublishedPositions(t *testing.T) {
	same, all := 0, positions(t)
	for _, p := range all {
		f, ok := StandardNeck().Fingering(DefaultHand(), fretsOf(t, p.Frets))
		name := p.Key + " " + p.Suffix + " " + p.Frets
		if name == "C 9 8-10-8-7-8-10" || name == "E mmaj7b5 0-1-1-0-x-0" {
			assert.False(t, ok, "%s is held, though it %s", name, unplayed[name])
			continue
		}
		require.True(t, ok, name)
		if strings.Trim(strings.ReplaceAll(fmt.Sprint(f.Fingers), " ", "-"), "[]") == p.Fingers {
			same++
		}
	}
	assert.Greater(t, float64(same), 0.8*float64(len(all)))
}
