package command

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/guard/racetest"
)

const heardTake = "../hearing/testdata/clean-line.wav"

func TestHearListsNotes(t *testing.T) {
	racetest.Alone(t)
	out, errs, code := runOn(strings.NewReader(""), "hear", "--json", heardTake)
	require.Equal(t, 0, code)
	require.Empty(t, errs)
	var notes []map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &notes))
	bass := 0
	for _, n := range notes {
		if n["part"] == "bass" {
			bass++
		}
	}
	require.Equal(t, 24, bass)
	for _, field := range []string{"onset_s", "duration_s", "midi", "cents", "part", "confidence", "told_s"} {
		assert.Contains(t, notes[0], field)
	}
	assert.Equal(t, 45.0, notes[0]["midi"])
	assert.Equal(t, "bass", notes[0]["part"])

	file, err := os.ReadFile(heardTake)
	require.NoError(t, err)
	piped, _, code := runOn(bytes.NewReader(file), "hear", "--json", "-")
	require.Equal(t, 0, code)
	require.Equal(t, out, piped)

	table, _, code := runOn(strings.NewReader(""), "hear", heardTake)
	require.Equal(t, 0, code)
	assert.Contains(t, table, "A2")
}

func TestHearSaysWhatIsWrongWithAFile(t *testing.T) {
	racetest.Alone(t)
	file, err := os.ReadFile(heardTake)
	require.NoError(t, err)
	_, errs, code := runOn(bytes.NewReader(file[:len(file)/2]), "hear", "--json", "-")
	assert.Equal(t, 0, code)
	assert.Contains(t, errs, "cut short")

	out, _, code := runOn(strings.NewReader("MThd\x00\x00\x00\x06"), "hear", "-")
	assert.Equal(t, ExitBadInput, code)
	assert.Empty(t, out)

	_, _, code = runOn(strings.NewReader(""), "hear", "not-there.wav")
	assert.Equal(t, ExitBadInput, code)
}

func TestHearHearsNothingInSilence(t *testing.T) {
	silence := []byte("RIFF\x24\x10\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data\x00\x10\x00\x00")
	silence = append(silence, make([]byte, 4096)...)
	out, _, code := runOn(bytes.NewReader(silence), "hear", "--json", "-")
	assert.Equal(t, 0, code)
	assert.Equal(t, "[]\n", out)
	out, _, _ = runOn(bytes.NewReader(silence), "hear", "-")
	assert.Contains(t, out, "No note")
}

// A take rendered by the program's own strings, click and all, is scored as it
// was played; two bass notes changed by a fret are found wrong, and nothing else.
func TestScoreHearsARecording(t *testing.T) {
	if testing.Short() {
		t.Skip("analyses ten seconds of sound")
	}
	const played = `tune   Ladder Yard
key    C
meter  4/4
tempo  120

[A]
chords | C6         | Am7         | Dm7          | G7        |
bass   | 1 3 /5 6   | \1 b3 5 \b3 | 1 b3 5 \b3   | \1 3 5 b7  |
`
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	tune := write("a.tune", played)
	asked := write("b.tune", strings.Replace(strings.Replace(played, "| 1 3 /5 6 ", "| 1 3 /b5 6", 1), "5 b7  |", "5 7   |", 1))
	recording := filepath.Join(dir, "take.wav")
	_, errs, code := runOn(strings.NewReader(""), "sheet", tune, "--layer", "bass", "-o", recording)
	require.Equal(t, 0, code, errs)

	for _, c := range []struct {
		tune                   string
		matched, wrong, missed int
	}{{tune, 16, 0, 0}, {asked, 14, 2, 0}} {
		out, errs, code := runOn(strings.NewReader(""), "score", c.tune, "--layer", "bass", "--take", recording, "--json")
		require.Equal(t, 0, code, errs)
		var got struct {
			Expected, Matched, Wrong, Missed, Extra int
			Mean                                    float64 `json:"mean_ms"`
		}
		require.NoError(t, json.Unmarshal([]byte(out), &got))
		assert.Equal(t, 16, got.Expected)
		assert.Equal(t, c.matched, got.Matched)
		assert.Equal(t, c.wrong, got.Wrong)
		assert.Equal(t, c.missed, got.Missed)
		assert.Zero(t, got.Extra)
		assert.InDelta(t, 0, got.Mean, 10)
	}
}
