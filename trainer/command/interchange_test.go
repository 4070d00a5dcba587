package command

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/content"
	"footfall/harmony/tune"
)

func TestExportAndImportGiveTheSameTune(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{"lantern-street", "rope-swing-at-dusk", "pump-house-vamp"} {
		text, ok := content.TuneText(name)
		require.True(t, ok)
		document, errs, code := runOn(nil, "tune", "export", name)
		require.Equal(t, 0, code, errs)
		got, errs, code := runOn(strings.NewReader(document), "tune", "import", "-")
		require.Equal(t, 0, code, errs)
		assert.Empty(t, errs)
		assert.Equal(t, text, got)

		packed := filepath.Join(folder, name+".mxl")
		_, errs, code = runOn(nil, "tune", "export", name, "-o", packed)
		require.Equal(t, 0, code, errs)
		got, errs, code = runOn(nil, "tune", "import", packed)
		require.Equal(t, 0, code, errs)
		assert.Equal(t, text, got)

		sheet := filepath.Join(folder, name+".musicxml")
		_, errs, code = runOn(nil, "sheet", name, "-o", sheet)
		require.Equal(t, 0, code, errs)
		got, errs, code = runOn(nil, "tune", "import", sheet)
		require.Equal(t, 0, code, errs)
		assert.Equal(t, text, got)
	}
	// In a key where the line is folded the notation still reads.
	document, errs, code := runOn(nil, "tune", "export", "pump-house-vamp", "--key", "Em")
	require.Equal(t, 0, code, errs)
	got, errs, code := runOn(strings.NewReader(document), "tune", "import", "-")
	require.Equal(t, 0, code, errs)
	assert.Contains(t, got, "chords | Em7")
	_, errs, code = runOn(strings.NewReader(got), "tune", "check", "-")
	assert.Equal(t, 0, code, errs)

	out, errs, code := runOn(nil, "tune", "export", "short-ladder", "--json")
	require.Equal(t, 0, code, errs)
	var answer map[string]string
	require.NoError(t, json.Unmarshal([]byte(out), &answer))
	assert.Contains(t, answer["musicxml"], "<work-title>Short Ladder</work-title>")
	out, errs, code = runOn(nil, "tune", "export", "short-ladder", "--json", "-o", filepath.Join(folder, "s.xml"))
	require.Equal(t, 0, code, errs)
	assert.Contains(t, out, `"bars":16`)

	_, errs, code = runOn(nil, "tune", "export", "short-ladder", "-o", filepath.Join(folder, "x.pdf"))
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errs, "give an ending of .musicxml, .xml or .mxl")
}

func TestImportChordLines(t *testing.T) {
	got, errs, code := runOn(strings.NewReader("| Dm7 | G7 | Cmaj7 | % |\n"), "tune", "import", "-", "--title", "Turn", "--tempo", "120", "--key", "C")
	require.Equal(t, 0, code, errs)
	assert.Equal(t, "nothing says how it swings: eighths are straight\n", errs)
	assert.Equal(t, "tune   Turn\nkey    C\nmeter  4/4\ntempo  120\nswing  1:1\n\n[A]\nchords | Dm7 | G7 | Cmaj7 | % |\n", got)

	got, errs, code = runOn(strings.NewReader("Dm7 G7 Cmaj7 %"), "tune", "import", "--json", "-", "--meter", "3/4")
	require.Equal(t, 0, code, errs)
	var answer struct {
		Text   string
		Losses []struct{ What string }
	}
	require.NoError(t, json.Unmarshal([]byte(got), &answer))
	assert.Contains(t, answer.Text, "meter  3/4")
	require.Len(t, answer.Losses, 3)
	assert.Contains(t, answer.Losses[1].What, "no key is named: C")

	for in, want := range map[string]string{
		"| H7 |":             `line 1, column 3: found "H7"`,
		"":                   "no chords",
		"<html></html>":      `the document is a "html"`,
		"PK\x03\x04":         "cannot be unpacked",
		"MThd":               "with --chords",
		"<score-partwise/>":  "no measures",
		"<score-partwise><p": "the XML cannot be read",
	} {
		_, errs, code := runOn(strings.NewReader(in), "tune", "import", "-")
		assert.Equal(t, ExitBadInput, code, in)
		assert.Contains(t, errs, want)
	}
	for _, flags := range [][]string{{"--key", "H"}, {"--tempo", "10"}, {"--meter", "8/4"}, {"--chords", "key-ring"}} {
		_, _, code := runOn(strings.NewReader("| C |"), append([]string{"tune", "import", "-"}, flags...)...)
		assert.Equal(t, ExitBadInput, code, flags)
	}
}

// A file without chord symbols is refused with what would do; with --propose it gets
// chords, each in doubt. Without a title it is called as its file is.
func TestImportProposesChords(t *testing.T) {
	note := func(step string, octave int) string {
		return fmt.Sprintf("<note><pitch><step>%s</step><octave>%d</octave></pitch><duration>1</duration></note>", step, octave)
	}
	path := filepath.Join(t.TempDir(), "gate_post.musicxml")
	require.NoError(t, os.WriteFile(path, []byte(`<score-partwise><part-list><score-part id="P1"><part-name>Bass</part-name></score-part></part-list><part id="P1"><measure>`+
		`<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`+note("D", 3)+note("F", 3)+note("A", 3)+note("C", 4)+`</measure></part></score-partwise>`), 0o600))
	_, errs, code := runOn(nil, "tune", "import", path)
	assert.Equal(t, ExitBadInput, code)
	assert.Contains(t, errs, "--chords")
	assert.Contains(t, errs, "--propose")
	out, errs, code := runOn(nil, "tune", "import", path, "--propose")
	require.Zero(t, code, errs)
	assert.Contains(t, out, "tune   Gate Post\n")
	assert.Contains(t, out, "chords | Dm7 ")
	assert.Contains(t, errs, "bar 1: Dm7 is proposed from the notes")
	out, errs, code = runOn(nil, "tune", "import", path, "--propose", "--json")
	require.Zero(t, code, errs)
	assert.Contains(t, out, `"bar":1,"what":"Dm7 is proposed from the notes`)
	assert.Contains(t, out, `"doubt":true`)
}

func TestExportIsWholeOrNotThere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "no", "such", "folder.mxl")
	_, _, code := runOn(nil, "tune", "export", "short-ladder", "-o", path)
	assert.Equal(t, ExitBadInput, code)
	_, err := os.Stat(path)
	assert.ErrorIs(t, err, os.ErrNotExist)
}

// What the program writes as MIDI, a track a string, comes back note for note by the
// chords alone.
func TestOwnMIDIComesBack(t *testing.T) {
	folder := t.TempDir()
	all, back := 0, 0
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		file := filepath.Join(folder, name+".mid")
		_, errs, code := runOn(nil, "sheet", name, "-o", file)
		require.Zero(t, code, errs)
		bare, faults := tune.Read(tune.Write(tn))
		require.Empty(t, faults)
		for i := range bare.Sections {
			bare.Sections[i].Comping = tune.NoComping
			for k := range bare.Sections[i].Bars {
				b := &bare.Sections[i].Bars[k]
				b.Bass, b.Hits, b.Shapes = nil, nil, nil
			}
		}
		chords := filepath.Join(folder, name+".tune")
		require.NoError(t, os.WriteFile(chords, []byte(tune.Write(bare)), 0o600))
		out, errs, code := runOn(nil, "tune", "import", file, "--chords", chords)
		require.Zero(t, code, errs)
		read, faults := tune.Read(out)
		require.Empty(t, faults, out)
		got := map[tune.Position]int{}
		line, err := read.Line(tune.Within(40, 60))
		require.NoError(t, err)
		for _, n := range line {
			got[n.At] = n.Pitch.MIDI() % 12
		}
		line, err = tn.Line(tune.Within(40, 60))
		require.NoError(t, err)
		for _, n := range line {
			all++
			if class, ok := got[n.At]; ok && class == n.Pitch.MIDI()%12 {
				back++
			}
		}
	}
	assert.GreaterOrEqual(t, float64(back), 0.99*float64(all), "%d of %d notes", back, all)
}
