package drills_test

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/printer"
	"go/token"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// twoBars is a tune to walk.
func twoBars(t *testing.T) *tune.Tune {
	row, faults := tune.Read("tune Two Bars\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | Dm7 | G7 |\nbass | 1 /b3 /5 \\b3 | 1 \\b7 \\6 \\5 |\n")
	require.Empty(t, faults)
	return row
}

// The keys of every kind are what they were: a history is kept by them.
func TestKeysAreTheSameForEver(t *testing.T) {
	neck := fretboard.StandardNeck()
	line, err := drills.KindsNamed("line")
	require.NoError(t, err)
	walk, err := line[0].Draw(drills.OfTune("two-bars", twoBars(t), neck))
	require.NoError(t, err)
	keys := []string{walk[0].Item().Key(), memory.Item{Kind: memory.Passage, Tune: "two-bars", Section: "A", Layer: fretboard.BassChanges.String()}.Key()}
	for _, symbol := range strings.Fields("D-7 A7(b9) C E♭maj7 G6/9/B Bb7alt Cm/maj7 F7(no3)") {
		c := chord(t, symbol)
		d := c.Degrees[1]
		keys = append(keys, drills.Find{Chord: c, Degree: d, String: 5, Neck: neck}.Item().Key(), drills.Spell{Chord: c, Degree: d}.Item().Key(),
			drills.Name{Chord: c, Degree: d, Place: fretboard.Place{String: 6, Fret: 3}}.Item().Key(),
			drills.Build{Chord: c, Bass: d, String: 6, Neck: neck, Hand: fretboard.DefaultHand()}.Item().Key())
	}
	for _, hung := range [][2]string{
		{"G7", "x-2-3-2-3-x"}, {"C", "5-x-5-5-5-x"}, {"Ebmaj7", "x-10-12-10-11-x"}, {"Am7b5", "x-6-7-5-8-x"}, {"D-7", "10-x-10-10-10-x"},
	} {
		c := chord(t, hung[0])
		frets, err := neck.Tuning.ParseFrets(hung[1])
		require.NoError(t, err)
		for _, about := range []string{memory.AboutInversion, memory.AboutDegrees, memory.AboutUse} {
			keys = append(keys, drills.Shape{Chord: c, Frets: frets, Neck: neck, About: about}.Item().Key())
		}
		keys = append(keys, drills.Same{Chord: c, Frets: frets, Neck: neck}.Item().Key())
	}
	dm, g7 := chord(t, "D-7"), chord(t, "G7(b9)/B")
	keys = append(keys, drills.Approach{Chord: dm, Next: g7, By: harmony.Degree{Number: 2, Alter: -1}, Neck: neck}.Item().Key(),
		drills.Leading{Chord: dm, Next: g7, Meter: tune.Meter{Upper: 4, Lower: 4}, Neck: neck}.Item().Key(),
		drills.Ear{Chord: dm, Bass: dm.Degrees[1], About: memory.AboutBass, Neck: neck}.Item().Key(),
		drills.Ear{Chord: chord(t, "C"), Bass: dm.Degrees[0], About: memory.AboutQuality, Neck: neck}.Item().Key())
	for _, change := range [][3]string{{"Dm7", "x-5-7-5-6-x", "G7"}, {"Bb", "6-x-8-7-6-x", "Bdim7"}, {"E7b9", "x-7-6-7-6-x", "A-7"}} {
		frets, err := neck.Tuning.ParseFrets(change[1])
		require.NoError(t, err)
		for _, about := range []string{memory.AboutNearest, memory.AboutVoices} {
			keys = append(keys, drills.Nearest{Chord: chord(t, change[0]), Frets: frets, Next: chord(t, change[2]), Neck: neck, About: about}.Item().Key())
		}
	}
	for _, figure := range []string{"1", "1 2+ | 1+ 4+"} {
		r, err := harmony.ParseRhythm(tune.Meter{Upper: 4, Lower: 4}, figure)
		require.NoError(t, err)
		keys = append(keys, drills.Hits{Rhythm: r, Tempo: 80}.Item().Key(), drills.Hits{Rhythm: r, Swung: true, Tempo: 160}.Item().Key())
	}
	golden, err := os.ReadFile("testdata/keys.txt")
	require.NoError(t, err)
	assert.Equal(t, string(golden), strings.Join(keys, "\n")+"\n")
}

// allKeys are the keys of every question of every kind over chords of many sorts,
// each of which reads back as an item that the program knows.
func allKeys(t *testing.T) (keys []string, prompts []string) {
	m, err := drills.OfSymbols("", "", "Dm7 D-7 A7(b9) C E♭maj7 Bm7b5 F#dim7 G6/9 Bb7alt Gsus4 D5 Cm/maj7 F7no3", fretboard.StandardNeck())
	require.NoError(t, err)
	for _, k := range drills.Kinds {
		from := m
		if k.Ordered {
			from = drills.OfTune("two-bars", twoBars(t), m.Neck)
		}
		qs, err := k.Draw(from)
		require.NoError(t, err)
		for _, q := range qs {
			it, err := memory.ParseKey(q.Item().Key())
			require.NoError(t, err)
			require.Equal(t, q.Item(), it)
			require.True(t, it.Known(), it.Key())
			keys, prompts = append(keys, it.Key()), append(prompts, q.Ask().Prompt)
		}
	}
	return keys, prompts
}

// reworded names, in the environment of a test that runs with other texts, the
// file that has the keys.
const reworded = "FOOTFALL_REWORDED"

func TestKeysWithOtherTexts(t *testing.T) {
	path := os.Getenv(reworded)
	if path == "" {
		t.Skip("TestRewordingChangesNoKey runs it")
	}
	keys, prompts := allKeys(t)
	for _, prompt := range prompts {
		require.Contains(t, prompt, "~", "the texts were not swapped")
	}
	was, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(was), strings.Join(keys, "\n"))
}

// Every text that a player reads is altered in the program's source, prompts,
// explanations, names of inversions and uses alike; the keys stay.
func TestRewordingChangesNoKey(t *testing.T) {
	if testing.Short() || os.Getenv(reworded) != "" {
		t.Skip("builds the drills with other texts")
	}
	overlay := struct{ Replace map[string]string }{map[string]string{}}
	swapped := 0
	for _, room := range []string{".", "memory", "../fretboard", "../harmony"} {
		files, err := filepath.Glob(filepath.Join(room, "*.go"))
		require.NoError(t, err)
		for _, file := range files {
			// What the first build wrote is no text of this program.
			if strings.HasSuffix(file, "_test.go") || strings.HasSuffix(file, "firstbuild.go") {
				continue
			}
			set := token.NewFileSet()
			source, err := parser.ParseFile(set, file, nil, parser.ParseComments) // with what is embedded
			require.NoError(t, err)
			ast.Inspect(source, func(n ast.Node) bool {
				if _, imports := n.(*ast.ImportSpec); imports {
					return false
				}
				text, ok := n.(*ast.BasicLit)
				if !ok || text.Kind != token.STRING {
					return true
				}
				s, err := strconv.Unquote(text.Value)
				require.NoError(t, err)
				if prose.MatchString(s) {
					text.Value = strconv.Quote(s + "~")
					swapped++
				}
				return true
			})
			path, err := filepath.Abs(file)
			require.NoError(t, err)
			overlay.Replace[path] = filepath.Join(t.TempDir(), filepath.Base(file))
			out, err := os.Create(overlay.Replace[path])
			require.NoError(t, err)
			require.NoError(t, printer.Fprint(out, set, source))
			require.NoError(t, out.Close())
		}
	}
	require.Greater(t, swapped, 200)
	list, err := json.Marshal(overlay)
	require.NoError(t, err)
	dir := t.TempDir()
	keys, _ := allKeys(t)
	require.Greater(t, len(keys), 300)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "overlay.json"), list, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "keys"), []byte(strings.Join(keys, "\n")), 0o600))
	run := exec.Command("go", "test", "-vet=off", "-overlay", filepath.Join(dir, "overlay.json"), "-run", "^TestKeysWithOtherTexts$", "-count=1", "-v", ".")
	run.Env = append(os.Environ(), reworded+"="+filepath.Join(dir, "keys"))
	out, err := run.CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.Contains(t, string(out), "PASS: TestKeysWithOtherTexts")
}

// prose is a text with two words, and no list of chords or degrees.
var prose = regexp.MustCompile(`(^| )(%[a-z] )?[a-z]{2,}[ ,.:;?]|[ ,.:;?%s]+ [a-z]{2,}`)

// A chord is one memory however it is typed: strings 6 and 5 for each degree. The
// groups are those of tonal 6.4.2 (npm, MIT), as far as symbols are read so.
func TestSpellingsOfAChordAreOneMemory(t *testing.T) {
	text, err := os.ReadFile("../harmony/testdata/chord-tones.json")
	require.NoError(t, err)
	var oracle struct{ Types []struct{ Aliases []string } }
	require.NoError(t, json.Unmarshal(text, &oracle))
	groups := [][]string{{"m7", "-7", "min7", "mi7"}}
	for _, ty := range oracle.Types {
		groups = append(groups, ty.Aliases)
	}
	several := 0
	for _, group := range groups {
		keys := map[string]map[string]bool{}
		sounds := map[string]int{}
		for _, alias := range group {
			m, err := drills.OfSymbols("", "", "D"+alias, fretboard.StandardNeck())
			if err != nil {
				continue // harmony's test lists those that are not read
			}
			qs, err := drills.Kinds[0].Draw(m)
			require.NoError(t, err)
			degrees := m.Chords[0].Quality().Name()
			if keys[degrees] == nil {
				keys[degrees] = map[string]bool{}
			}
			sounds[degrees] = len(m.Chords[0].Degrees)
			for _, q := range qs {
				keys[degrees][q.Item().Key()] = true
			}
		}
		for quality, kept := range keys {
			assert.Len(t, kept, 2*sounds[quality], "%s of %v", quality, group)
		}
		if len(keys) > 1 {
			several++
		}
	}
	assert.Equal(t, 7, several, "six groups with a b5 that the source takes for a #11, and Db9sus, a chord of Db")
}
