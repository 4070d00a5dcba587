package harmony

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// declined lists the aliases of the oracle that are read in another way or not
// at all, each with the reason.
var declined = map[string]string{
	"4":        "in charts sus4; the source means a stack of fourths",
	"quartal":  "the name of a way to build chords, not a symbol in charts",
	"alt7":     "in charts 7alt; the source gives this one other notes",
	"7b13":     b13Keeps,
	"9b13":     b13Keeps,
	"m11A":     "the source's own name; no chart has a capital A there",
	"b9sus":    "a B before it, or any natural root, makes it a flat root: Cb9sus is a Cb chord; 7b9sus is read",
	"M7add13":  "the source adds a 9 that the symbol does not name, unlike its own 7add13",
	"7b5b9":    b5Replaces,
	"7b9b5":    b5Replaces,
	"7b5#9":    b5Replaces,
	"7#9b5":    b5Replaces,
	"7b5b13":   b5Replaces,
	"9b5b13":   b5Replaces,
	"7b5b9b13": b5Replaces,
	"6b5":      b5Replaces,
	"M6b5":     b5Replaces,
}

const b5Replaces = "a b5 takes the place of the 5, as in the source's own 7b5 and 9b5 (common practice, no source); here the source keeps the 5 and adds #11"

const b13Keeps = "a b13 keeps the 5, as in the source's own 7b9b13 and 7#9b13 (common practice, no source)"

type oracle struct {
	Types  []struct{ Aliases, Intervals []string }
	Chords []struct {
		Root, Type string
		Notes      []string
	}
}

func readOracle(t *testing.T) (o oracle) {
	text, err := os.ReadFile("testdata/chord-tones.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &o))
	return o
}

// The oracle is tonal 6.4.2 (npm, MIT): 106 chord types, each spelled on 18
// roots by its ChordType.all() and Chord.getChord().
func TestSymbolsAgreeWithTheOracle(t *testing.T) {
	oracle := readOracle(t)
	aliases := map[string][]string{}
	count := 0
	for _, ty := range oracle.Types {
		aliases[ty.Aliases[0]] = ty.Aliases
		count += len(ty.Aliases)
	}
	require.Len(t, oracle.Chords, 106*18)
	bad := map[string]string{}
	for _, c := range oracle.Chords {
		for _, alias := range aliases[c.Type] {
			got, err := ParseChord(c.Root + alias)
			if err != nil {
				bad[alias] = err.Error()
				continue
			}
			var notes []string
			for _, n := range got.Notes() {
				notes = append(notes, n.String())
			}
			want := slices.Clone(c.Notes)
			slices.Sort(notes)
			slices.Sort(want)
			if !slices.Equal(notes, want) {
				bad[alias] = c.Root + ": " + strings.Join(notes, " ") + " want " + strings.Join(want, " ")
			}
		}
	}
	for a, why := range bad {
		if declined[a] == "" {
			t.Errorf("%q: %s", a, why)
		}
	}
	for a := range declined {
		require.Contains(t, bad, a, "declined without need")
	}
	require.LessOrEqual(t, len(declined)*10, count, "at most 10 %% of %d aliases", count)
}

// Every spelling that the oracle has for a chord type is one quality, save those
// that are read in another way on purpose.
func TestSpellingsOfTheOracleAreOneQuality(t *testing.T) {
	groups := 0
	for _, ty := range readOracle(t).Types {
		found := map[Quality]string{}
		for _, alias := range ty.Aliases {
			if declined[alias] != "" && declined[alias] != b13Keeps {
				continue
			}
			q, err := ParseQuality(alias)
			require.NoError(t, err, alias)
			found[q] = alias
		}
		require.LessOrEqual(t, len(found), 1, "%v", found)
		groups += len(found)
	}
	require.Equal(t, 102, groups, "all but alt7, 4, m11A and M7add13")
}
