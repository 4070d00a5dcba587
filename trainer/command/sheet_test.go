package command

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/go-audio/wav"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gitlab.com/gomidi/midi/v2/smf"

	"footfall/content"
)

func TestSheetWritesMIDIOfEveryTune(t *testing.T) {
	dir := t.TempDir()
	for _, name := range content.TuneNames() {
		path := filepath.Join(dir, name+".mid")
		out, errs, code := runOn(nil, "sheet", name, "-o", path)
		require.Zero(t, code, "%s: %s", name, errs)
		assert.Contains(t, out, path)
		file, err := smf.ReadFile(path)
		require.NoError(t, err)
		assert.EqualValues(t, 8, file.NumTracks(), name)
	}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, len(content.TuneNames()), "no parts are left behind")
}

const twoBars = "tune Two\nkey C\nmeter 4/4\ntempo 120\n[A]\nchords | C | G7 |\nbass | 1 3 5 3 | \\1 3 5 3 |\n"

func TestSheetWritesWAV(t *testing.T) {
	path := filepath.Join(t.TempDir(), "two.WAV")
	out, errs, code := runOn(strings.NewReader(twoBars), "sheet", "-", "-o", path, "--json", "--tempo", "240", "--layer", "bass")
	require.Zero(t, code, errs)
	var said map[string]any
	require.NoError(t, json.Unmarshal([]byte(out), &said))
	assert.Equal(t, map[string]any{"file": path, "tune": "Two", "layer": "bass", "bars": 2.0, "tempo": 240.0}, said)
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	d := wav.NewDecoder(f)
	require.True(t, d.IsValidFile())
	length, err := d.Duration()
	require.NoError(t, err)
	assert.InDelta(t, 2, length.Seconds(), 0.5, "two bars at 240, rung out")
}

func TestSheetFaults(t *testing.T) {
	dir := t.TempDir()
	stuck := twoBars + "shapes | . . . . | 3-x-x-x-x-15 . . . |\n"
	for want, args := range map[string][]string{
		"no file is given: name one with -o": {"sheet", "-"},
		"give one of .html .svg .txt":        {"sheet", "-", "-o", filepath.Join(dir, "x.mod")},
		"standard output takes text only":    {"sheet", "-", "-o", "-.mid"},
		"and not with --json":                {"sheet", "-", "-o", "-", "--json"},
		"give 30 to 300 BPM":                 {"sheet", "-", "-o", filepath.Join(dir, "x.mid"), "--tempo", "12"},
		"bar 2 beat 1":                       {"sheet", "-", "-o", filepath.Join(dir, "x.mid")},
		"there is no folder":                 {"sheet", "short-ladder", "-o", filepath.Join(dir, "none", "x.mid")},
	} {
		text := twoBars
		if want == "bar 2 beat 1" {
			text = stuck
		}
		_, errs, code := runOn(strings.NewReader(text), args...)
		assert.Equal(t, ExitBadInput, code, want)
		assert.Contains(t, errs, want)
	}
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, entries)
}

func TestSheetWritesHandouts(t *testing.T) {
	dir := t.TempDir()
	for ending, start := range map[string]string{".html": "<!DOCTYPE html>", ".svg": "<svg ", ".txt": "Two\n", ".musicxml": "<?xml"} {
		path := filepath.Join(dir, "two"+ending)
		_, errs, code := runOn(strings.NewReader(twoBars), "sheet", "-", "-o", path, "--tempo", "77")
		require.Zero(t, code, errs)
		file, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(string(file), start), ending)
		assert.Contains(t, string(file), "77", "the tempo that was asked for")
		out, errs, code := runOn(strings.NewReader(twoBars), "sheet", "-", "-o", "-"+ending, "--tempo", "77")
		require.Zero(t, code, errs)
		assert.Equal(t, string(file), out, "on standard output")
	}
	text, _, _ := runOn(strings.NewReader(twoBars), "sheet", "-", "-o", "-")
	arranged, _, _ := runOn(strings.NewReader(twoBars), "arrange", "-")
	assert.Equal(t, arranged, text)
}

func TestSheetLeavesAFileAloneThatItCannotReplace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.html")
	require.NoError(t, os.WriteFile(path, []byte("kept"), 0o644))
	_, _, code := runOn(strings.NewReader("tune T\n[A]\nchords | H |\n"), "sheet", "-", "-o", path)
	assert.Equal(t, ExitBadInput, code)
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "kept", string(file))
}
