package command

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony/tune"

	"footfall/trainer/tunebook"
)

// fiveFaults has faults on lines 2, 4, 6, 7 (two) of one text.
const fiveFaults = "tune T\nkey H\nmeter 4/4\ntempo fast\n[A]\nchords | Dm7 | Qm7 |\nbass | 1 2 x 4 | 1 3 5 |\n"

func TestTuneCheckNamesAllFaults(t *testing.T) {
	path := filepath.Join(t.TempDir(), "bad.tune")
	require.NoError(t, os.WriteFile(path, []byte(fiveFaults), 0o644))
	out, errs, code := runOn(nil, "tune", "check", path)
	assert.Equal(t, ExitBadInput, code)
	assert.Empty(t, out)
	for _, want := range []string{
		"line 2, column 5: found \"H\"", "line 4, column 7: found \"fast\"", "line 6, column 16: found \"Qm7\"",
		"line 7, column 12: found \"x\"", "line 7, column 18: found 3 tokens", "5 faults",
	} {
		assert.Contains(t, errs, want)
	}

	out, _, code = runOn(strings.NewReader(fiveFaults), "tune", "check", "--json", "-")
	assert.Equal(t, ExitBadInput, code)
	var faults []tune.Fault
	require.NoError(t, json.Unmarshal([]byte(out), &faults))
	require.Len(t, faults, 5)
	assert.Equal(t, 2, faults[0].Line)
	assert.Equal(t, 5, faults[0].Column)
	assert.Equal(t, `"H"`, faults[0].Found)
	assert.Contains(t, faults[0].Want, "a key")

	// A line that leaves the two strings is a fault at the token that leads out.
	out, _, code = runOn(strings.NewReader("tune T\nkey C\nmeter 2/4\ntempo 90\n[A]\nchords | C |\nbass | 1 /5 |\n[B]\nchords | C |\nbass | 1 /5 |\n"), "tune", "check", "--json", "-")
	assert.Equal(t, ExitBadInput, code)
	require.NoError(t, json.Unmarshal([]byte(out), &faults))
	require.Len(t, faults, 1)
	assert.Equal(t, [2]int{10, 10}, [2]int{faults[0].Line, faults[0].Column})

	out, errs, code = runOn(nil, "tune", "check", "--json", "short-ladder")
	assert.Equal(t, 0, code, errs)
	assert.Equal(t, "[]\n", out)
}

func TestTuneFormatIsAFixedPoint(t *testing.T) {
	for _, name := range content.TuneNames() {
		text, _ := content.TuneText(name)
		out, errs, code := runOn(strings.NewReader(strings.ReplaceAll(text, " |", "\t|")), "tune", "format", "-")
		require.Equal(t, 0, code, errs)
		assert.Equal(t, text, out)
	}
	out, errs, code := runOn(strings.NewReader(fiveFaults), "tune", "format", "-")
	assert.Equal(t, ExitBadInput, code)
	assert.Empty(t, out)
	assert.Equal(t, 5, strings.Count(errs, "; want "))
}

func TestTuneFormatInAnotherKey(t *testing.T) {
	out, errs, code := runOn(nil, "tune", "format", "pump-house-vamp", "--key", "C#m")
	require.Equal(t, 0, code, errs)
	assert.Empty(t, errs)
	assert.Contains(t, out, "key    C#m\n")
	assert.Contains(t, out, "chords | C#m7              |")
	assert.Contains(t, out, "| x-4-6-4-5-4 . . . |")

	// In E minor the first note is the open E, and bar 2 leads below it.
	_, errs, code = runOn(nil, "tune", "format", "pump-house-vamp", "--key", "Em")
	assert.Equal(t, 0, code)
	assert.Contains(t, errs, "the bass row leaves the bass strings: bar 2 (A bar 2) beat 4")

	for arg, want := range map[string]string{"H": `--key "H" is no key`, "C": "give a key in minor"} {
		_, errs, code = runOn(nil, "tune", "format", "pump-house-vamp", "--key", arg)
		assert.Equal(t, ExitBadInput, code)
		assert.Contains(t, errs, want)
	}
}

func TestTuneListAndShow(t *testing.T) {
	out, _, code := runOn(nil, "tune", "list", "--json")
	require.Equal(t, 0, code)
	var list []map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &list))
	require.GreaterOrEqual(t, len(list), 10)
	for _, s := range list {
		for _, field := range []string{"name", "title", "key", "meter", "bars", "trains"} {
			assert.NotEmpty(t, s[field], field)
		}
		shown, errs, code := runOn(nil, "tune", "show", s["name"].(string))
		require.Equal(t, 0, code, errs)
		assert.Contains(t, shown, s["title"])
		for line := range strings.Lines(shown) {
			assert.LessOrEqual(t, len([]rune(line)), lineWidth+1, line)
		}
	}
	out, _, code = runOn(nil, "tune", "show", "--json", "third-floor-waltz")
	require.Equal(t, 0, code)
	var d detail
	require.NoError(t, json.Unmarshal([]byte(out), &d))
	require.Len(t, d.Line, 49)
	// G2 B2 D3 by hand, MIDI 43 47 50.
	assert.Equal(t, []int{43, 47, 50}, []int{d.Line[0].MIDI, d.Line[1].MIDI, d.Line[2].MIDI})
}

// A beat is counted one way in every answer: 1 to the meter, .5 for its second half.
func TestBeatsAreCountedOneWay(t *testing.T) {
	text := "tune Half\nkey C\nmeter 4/4\ntempo 100\nswing 2:1\n\n[A]\nchords | C |\nbass | \\1 3 5,6 3 |\n"
	want := []float64{1, 2, 3, 3.5, 4}
	type at struct{ Beat float64 }
	var shown struct{ Line []at }
	var arranged struct{ Events []at }
	for c, into := range map[string]any{"tune show - --json": &shown, "arrange - --layer bass --json": &arranged} {
		out, errs, code := runOn(strings.NewReader(text), strings.Fields(c)...)
		require.Zero(t, code, errs)
		require.NoError(t, json.Unmarshal([]byte(out), into))
	}
	beats := func(events []at) (list []float64) {
		for _, e := range events {
			list = append(list, e.Beat)
		}
		return list
	}
	assert.Equal(t, want, beats(shown.Line))
	assert.Equal(t, want, beats(arranged.Events))
}

func TestTuneArguments(t *testing.T) {
	for arg, want := range map[string]string{
		"no-such-tune":     "neither a tune nor a file",
		"missing/file":     "there is no file",
		"missing.tune":     "there is no file",
		t.TempDir():        "is a folder",
		"../tunes/x":       "there is no file",
		"../content/tunes": "there is no file",
	} {
		_, errs, code := runOn(nil, "tune", "show", arg)
		assert.Equal(t, ExitBadInput, code, arg)
		assert.Contains(t, errs, want)
	}
	_, errs, code := runOn(strings.NewReader(strings.Repeat("# long\n", 1<<20)), "tune", "check", "-")
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errs, "longer than 2 MB")
}

// The player's own tunes are there by name, before built-in ones of the same
// name, and a file among them that is no tune is told and left out.
func TestOwnTunesByName(t *testing.T) {
	data := t.TempDir()
	for name, title := range map[string]string{"my-gate": "My Gate", "lantern-street": "Lantern Street, My Way"} {
		f, err := tunebook.Read(tunebook.In(data).Path(name))
		require.NoError(t, err)
		require.NoError(t, f.Replace("tune "+title+"\nkey C\nmeter 4/4\ntempo 60\n[A]\nchords | C |\nbass | 1 3 5 6 |\n"))
	}
	require.NoError(t, os.WriteFile(tunebook.In(data).Path("broken"), []byte("tune\n"), 0o600))
	out, errs, code := runOn(nil, "tune", "list", "--json", "--data", data)
	require.Equal(t, 0, code)
	assert.Contains(t, errs, "broken.tune is no tune yet: line 1")
	var list []tuneSummary
	require.NoError(t, json.Unmarshal([]byte(out), &list))
	titles := map[string]string{}
	for _, s := range list {
		assert.NotContains(t, titles, s.Name)
		titles[s.Name] = s.Title
	}
	assert.Equal(t, "My Gate", titles["my-gate"])
	assert.Equal(t, "Lantern Street, My Way", titles["lantern-street"])
	for name, title := range titles {
		out, errs, code := runOn(nil, "tune", "format", name, "--data", data)
		require.Equal(t, 0, code, errs)
		assert.Contains(t, out, title)
	}
	_, errs, code = runOn(nil, "tune", "show", "none", "--data", data)
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errs, "my-gate")
	out, _, code = runOn(nil, "--json", "--data", data)
	require.Equal(t, 0, code)
	assert.Contains(t, out, "My Gate")
	assert.NotContains(t, out, `"Lantern Street"`)
}

// A row that leaves the strings in another key is told with one fix for all of it.
func TestCheckOffersTheWholeRow(t *testing.T) {
	moved, errs, code := runOn(nil, "tune", "format", "coal-shed-minor", "--key", "Em")
	require.Zero(t, code)
	require.Contains(t, errs, "leaves the bass strings")
	_, errs, code = runOn(strings.NewReader(moved), "tune", "check", "-")
	require.Equal(t, ExitBadInput, code)
	require.Contains(t, errs, "this makes the whole row right:\n[A]\nbass")
	out, _, _ := runOn(strings.NewReader(moved), "tune", "check", "-", "--json")
	var faults []fileFault
	require.NoError(t, json.Unmarshal([]byte(out), &faults))
	require.Len(t, faults, 1)
	require.Contains(t, errs, faults[0].Fix)
}

// All that cannot be arranged is a fault with its place, and a note outside a chord is told.
func TestCheckTellsWhatCannotBeArranged(t *testing.T) {
	text := "tune Pins\nkey C\nmeter 4/4\ntempo 100\n\n[A]\nchords | Dm7 | G7 |\nbass | 1 /b3 /5 \\b3 | \\1 /3 /5 \\3 |\nhits | on . . . | on . on . |\n" +
		"shapes | 10-x-10-11-10-x . . . | 3-x-9-4-3-x . 3-x-3-4-3-x . |\n"
	out, errs, code := runOn(strings.NewReader(text), "tune", "check", "-", "--json")
	assert.Equal(t, ExitBadInput, code)
	var faults []fileFault
	require.NoError(t, json.Unmarshal([]byte(out), &faults))
	require.Len(t, faults, 2)
	at := func(f fileFault) []int { return []int{f.Line, f.Column} }
	assert.Equal(t, []int{10, 34}, at(faults[0]))
	assert.Contains(t, faults[0].Found, "in section A, bar 2, beat 1: the shape 3-x-9-4-3-x cannot be held")
	assert.Equal(t, []int{10, 48}, at(faults[1]))
	assert.Contains(t, faults[1].Found, "in section A, bar 2, beat 3: the shape 3-x-3-4-3-x has G2 lowest, but the bass line has D3 here")
	assert.Contains(t, errs, "bar 1, beat 1: over Dm7 the shape 10-x-10-11-10-x has the 3, outside the chord")
	_, errs, code = runOn(strings.NewReader(text), "arrange", "-", "--layer", "bass+halves")
	assert.NotZero(t, code)
	assert.Contains(t, errs, "cannot be held")
}

// The tunes that lessons bring are listed with their lesson, found by name and title, and
// printed; so are a teacher's.
func TestTunesOfLessons(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "Chalk.lesson")
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(givenLesson, "TITLE", "One bar only", 1)), 0o600))
	_, errs, code := runOn(nil, "today", "--lesson", file, "--json", "--data", dir)
	require.Zero(t, code, errs)
	list, _, _ := runOn(nil, "tune", "list", "--data", dir)
	assert.Regexp(t, `(?m)^lesson-teacher-chalk +One Bar +C`, list)
	assert.Contains(t, list, "\nlesson-teacher-chalk\n  From your teacher's lesson One bar only.\n")
	assert.Contains(t, list, "\nlesson-roots-on-two-strings\n  From the lesson Roots on two strings.\n")
	for _, name := range []string{"lesson-teacher-chalk", "one bar", "lesson-roots-on-two-strings", "Eight Front Doors"} {
		sheet := filepath.Join(dir, "sheet.html")
		_, errs, code := runOn(nil, "sheet", name, "-o", sheet, "--data", dir)
		require.Zero(t, code, errs)
		_, errs, code = runOn(nil, "arrange", name, "--json", "--data", dir)
		require.Zero(t, code, errs)
		_, errs, code = runOn(strings.NewReader(""), "drill", "find", "--tune", name, "--json", "--data", dir)
		require.Zero(t, code, errs)
	}
	shown, _, _ := runOn(nil, "tune", "show", "one bar", "--json", "--data", dir)
	assert.Contains(t, shown, `"name":"lesson-teacher-chalk"`)
}
