package drills_test

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
)

// The keys that the first build (commit 9e8aed6) wrote for its questions over C,
// each with its chord, its shape or its degree and string, and what it asked. A
// question that is asked now finds there what was learned: under its own key, or,
// of a shape, under its degrees.
func TestTheFirstBuildsQuestionsAreFound(t *testing.T) {
	text, err := os.ReadFile("testdata/first-build.txt")
	require.NoError(t, err)
	neck := fretboard.StandardNeck()
	found, lost := map[string]int{}, []string{}
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		f := strings.Split(line, "\t")
		require.Len(t, f, 5, line)
		c, key := chord(t, f[1]), f[4]
		if f[0] == "shape" || f[0] == "same" {
			frets, err := neck.Tuning.ParseFrets(f[2])
			require.NoError(t, err)
			var q drills.Question = drills.Same{Chord: c, Frets: frets, Neck: neck}
			if f[0] == "shape" {
				q = drills.Shape{Chord: c, Frets: frets, Neck: neck, About: strings.TrimPrefix(f[3], "name and ")}
			}
			old, ok := q.Item().Lender()
			require.True(t, ok)
			upgraded, lend := memory.Upgrade(key)
			assert.True(t, lend, line)
			if old.Key() == upgraded {
				found[f[0]]++
			} else {
				lost = append(lost, f[1]+" "+f[2]+": "+upgraded+", now "+old.Key())
			}
			continue
		}
		at := strings.Fields(f[2])
		d := degree(t, at[0])
		str, err := strconv.Atoi(at[1])
		require.NoError(t, err)
		q := map[string]drills.Question{
			"find": drills.Find{Chord: c, Degree: d, String: str, Neck: neck}, "name": drills.Name{Chord: c, Degree: d, Place: fretboard.Place{String: str}},
			"build": drills.Build{Chord: c, Bass: d, String: str, Neck: neck},
		}[f[0]]
		upgraded, lend := memory.Upgrade(key)
		assert.Equal(t, q.Item().Key(), upgraded, line)
		assert.False(t, lend, line)
		found[f[0]]++
	}
	// The sentence of each of these is that of a shape of another chord too.
	assert.Equal(t, []string{
		"Csus4 x-10-10-10-x-x: shape:use:5 1 2 4, now shape:use:5 1 4", "Cdim x-6-4-5-x-x: shape:use:b3 1 b5 b7, now shape:use:b3 1 b5",
	}, lost)
	assert.Equal(t, map[string]int{"find": 99, "name": 99, "build": 95, "shape": 283, "same": 17}, found)
}
