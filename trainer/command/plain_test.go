package command

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// With --plain every answer is whole lines that can be read out: no tables, no
// boxes, no rows of strings, and no escape codes.
func TestPlainAnswersCanBeReadOut(t *testing.T) {
	data := practised(t, 9)
	for line, want := range map[string]string{
		"chord Cm7b5 C/E N.C.":         "C major over E: 1 C, 3 E, 5 G, over E, the 3.\n",
		"shape 8-x-8-9-8-x --over Gm7": "It is C seven: 1, flat seven, 3, 5, root position, drop 3.\n",
		"shapes Cm7 --bass b3":         "1. From string 6: 11, muted, 10, 12, 11, muted. Root-position 6 shape; over C minor seven",
		"arrange lantern-street":       "\nBeat 1: 1 of B flat major seven, B flat, string 6 fret 6, finger ",
		"shapes Cmaj7 --along 8x998x":  "\n1. From string 6: 3, muted, 2, 4, 1, muted. Second-inversion major seven shape; over C major seven it sounds 5, 3, 7, 1",
		"tune show lantern-street":     "\nSection A.\nbar 1: B flat major seven, one ",
		"arrange lantern-street --why": "\nChoice 2, shape from string 6: ",
		"walk lantern-street --judge":  "\nGood, beat ",
		"tune list":                    "key-ring: Key Ring, key C, 4/4, 16 bars. ",
		"review":                       "\nchord ",
		"today --minutes 60":           "Break: hands off the guitar for five minutes.",
		"hear " + heardTake:            " s, bass, ",
		"play key-ring --silent --section A --layer bass --tempo 300 --port none": "\nG seven.\n",
	} {
		out, errs, code := runOn(strings.NewReader(""), append(strings.Fields(line), "--plain", "--data", data)...)
		require.Zero(t, code, "%s: %s", line, errs)
		assert.Contains(t, out, want, line)
		for l := range strings.Lines(out) {
			assert.NotRegexp(t, "[\x1b|\t\u2500-\u259f]", l, line)
			assert.NotRegexp(t, `\S {2,}\S`, l, line)
		}
	}
}
