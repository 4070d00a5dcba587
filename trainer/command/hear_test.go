package command

import (
	"bytes"
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const heardTake = "../listen/hearing/testdata/clean-line.wav"

func TestHearListsNotes(t *testing.T) {
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
