package drills_test

import (
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

// The ways in which a drill says which note a degree of a chord is.
const (
	noteName   = `([A-G](?:bb?|##?)?)`
	degreeName = `((?:bb?|#)?[0-9]+)`
	symbolName = `(\S+?)`
)

var namings = []struct {
	says                 *regexp.Regexp
	note, degree, symbol int
}{
	{regexp.MustCompile(noteName + `[0-9]?, the ` + degreeName + ` of ` + symbolName + `(?:[,;:]? |[,.;:]?$)`), 1, 2, 3},
	{regexp.MustCompile(noteName + ` is the ` + degreeName + ` of ` + symbolName + `(?:[,;:]? |[,.;:]?$)`), 1, 2, 3},
	{regexp.MustCompile(`(?i:the) ` + degreeName + ` of ` + symbolName + ` is ` + noteName + `(?:[^A-Za-z#]|$)`), 3, 1, 2},
}

// A note that any drill names as a degree of a chord is spelled as that chord spells
// it: by the letter of the degree, counted from the root, and a tone of the chord as
// the chord has it, whatever chord comes next. The letters are the rule of the trade's
// degrees: the 3 of C is some kind of E.
func TestNamedDegreesAreSpelledAsTheirChordSpellsThem(t *testing.T) {
	neck := fretboard.StandardNeck()
	var materials []drills.Material
	for i, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		for _, up := range []int{i % 12, (i + 5) % 12} {
			moved, _, err := tn.Transpose(tn.Key.Up(up), neck.HighestFret)
			require.NoError(t, err)
			materials = append(materials, drills.OfTune(name, moved, neck))
		}
		if i == 9 || testing.Short() && i == 3 {
			break
		}
	}
	odd, err := drills.OfSymbols("odd", "odd", "C7b9 Ebmaj7 Dm7b5 G7alt Gbdim7 Fm7 B7#11 Bb13 Abm6 Db7#9 F#m7 Bmaj7", neck)
	require.NoError(t, err)
	said, heard := 0, map[memory.Kind]bool{}
	check := func(kind memory.Kind, text string) {
		for _, n := range namings {
			for _, m := range n.says.FindAllStringSubmatch(text, -1) {
				c, err := harmony.ParseChord(m[n.symbol])
				require.NoError(t, err, text)
				note, err := harmony.ParseNote(m[n.note])
				require.NoError(t, err, text)
				d, err := harmony.ParseDegree(m[n.degree])
				require.NoError(t, err, text)
				require.Equal(t, d.Of(c.Root), note, text)
				for _, own := range c.Notes() {
					if own.Semitone() == note.Semitone() {
						require.Equal(t, own, note, text)
					}
				}
				said++
				heard[kind] = true
			}
		}
	}
	for _, m := range append(materials, odd) {
		for _, k := range drills.Kinds {
			if k.Ordered && m.Tune == nil || k.Name == memory.Hits || k.Name == memory.Leading && testing.Short() {
				continue
			}
			qs, err := k.Draw(m)
			if k.Ordered && err != nil {
				continue // in this key the line leaves the strings
			}
			require.NoError(t, err)
			most := 6 // of those that speak of shapes and lines
			if k.Name == memory.Find || k.Name == memory.Name || k.Name == memory.Spell || k.Name == memory.Approach {
				most = 60
			}
			qs = qs[:min(most, len(qs))]
			for _, q := range qs {
				ask := q.Ask()
				check(k.Name, ask.Prompt)
				if way, ok := q.(drills.Worked); ok {
					for _, s := range way.Steps() {
						check(k.Name, s)
					}
				}
				for _, text := range append(slices.Clone(q.Right()), "E", "Fb", "B", "b5", "#4", "3", "b9", "9") {
					check(k.Name, q.Judge(drills.Typed(memory.Typed, text)).Reason)
				}
			}
		}
	}
	require.Greater(t, said, 1000)
	for _, kind := range []memory.Kind{memory.Find, memory.Name, memory.Spell, memory.Approach} {
		require.True(t, heard[kind], kind)
	}
}
