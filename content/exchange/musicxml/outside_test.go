package musicxml

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"footfall/content"
	"footfall/harmony/tune"
	"footfall/harmony/tune/tunetest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Where the outside checkers are. Tests that need one say so where it is not.
const (
	// schemaFolder has the MusicXML 4.0 schema, musicxml.xsd, and its catalog.
	schemaFolder = "FOOTFALL_MUSICXML_SCHEMA"
	// engraverFolder has the npm package verovio in its node_modules.
	engraverFolder = "FOOTFALL_VEROVIO"
)

// written writes documents of all built-in tunes and of random ones, with
// tablature data and diagrams, and returns their paths.
func written(t *testing.T, random int) []string {
	folder := t.TempDir()
	var paths []string
	add := func(tn *tune.Tune, low, high int) {
		_, document, err := writtenWith(tn, tune.Within(low, high))
		if err != nil {
			return
		}
		path := filepath.Join(folder, fmt.Sprintf("%02d.musicxml", len(paths)))
		require.NoError(t, os.WriteFile(path, document, 0o644))
		paths = append(paths, path)
	}
	for _, name := range content.TuneNames() {
		tn, _ := content.Tune(name)
		add(tn, low, high)
	}
	for i := range random {
		add(tunetest.Tune().Example(i), 20, 115)
	}
	return paths
}

// TestSchema validates documents against the MusicXML 4.0 schema (W3C Music
// Notation Community Group), by xmllint.
func TestSchema(t *testing.T) {
	schema := os.Getenv(schemaFolder)
	if schema == "" {
		t.Skip(schemaFolder + " does not name the folder of the MusicXML 4.0 schema")
	}
	paths := written(t, 40)
	schema, err := filepath.Abs(schema)
	require.NoError(t, err)
	cmd := exec.Command("xmllint", append([]string{"--nonet", "--noout", "--schema", filepath.Join(schema, "musicxml.xsd")}, paths...)...)
	cmd.Env = append(os.Environ(), "XML_CATALOG_FILES="+filepath.Join(schema, "catalog.xml"))
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Equal(t, len(paths), bytes.Count(out, []byte(" validates")))
}

// TestEngraver has documents read and drawn by verovio, an independent engraver,
// and compares its counts with what was written.
func TestEngraver(t *testing.T) {
	if testing.Short() {
		t.Skip("starts node")
	}
	folder := os.Getenv(engraverFolder)
	if folder == "" {
		t.Skip(engraverFolder + " does not name a folder with verovio in its node_modules")
	}
	paths := written(t, 10)
	out, err := exec.Command("node", append([]string{"testdata/engrave.mjs", folder}, paths...)...).Output()
	require.NoError(t, err, string(out))
	lines := bytes.Split(bytes.TrimSpace(out), []byte("\n"))
	require.Len(t, lines, len(paths))
	for i, path := range paths {
		document, err := os.ReadFile(path)
		require.NoError(t, err)
		var found struct{ Measures, Notes, Harmonies, Drawn int }
		require.NoError(t, json.Unmarshal(lines[i], &found))
		count := func(s string) int { return bytes.Count(document, []byte(s)) }
		parts := count("<part id=")
		assert.Equal(t, count("<measure ")/parts, found.Measures, path)
		assert.Equal(t, count("<pitch>"), found.Notes, path)
		assert.Equal(t, count("<harmony>"), found.Harmonies, path)
		assert.Equal(t, found.Notes, found.Drawn, path)
	}
}
