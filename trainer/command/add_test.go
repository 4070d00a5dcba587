package command

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
)

func TestAddATypedChart(t *testing.T) {
	data := t.TempDir()
	out, errs, code := runOn(strings.NewReader("Cellar Stairs\nKey: F\nTempo: 130\nF6 D7 Gm7 C7 x2\n"), "tune", "add", "-", "--json", "--data", data)
	require.Equal(t, 0, code, errs)
	var got struct {
		Name, Title, Key, File string
		Tempo                  float64
		Bars                   int
		Composed               bool
		Losses                 []struct{ What, Kind string }
	}
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	assert.Equal(t, "cellar-stairs", got.Name)
	assert.Equal(t, []any{"Cellar Stairs", "F", 130.0, 8, true}, []any{got.Title, got.Key, got.Tempo, got.Bars, got.Composed})
	text, err := os.ReadFile(got.File)
	require.NoError(t, err)
	tn, faults := tune.Read(string(text))
	require.Empty(t, faults)
	assert.Equal(t, tune.Ratio{Long: 2, Short: 1}, tn.Swing.Ratio)
	assert.Equal(t, "nothing says how it swings: eighths are swung, 2 to 1", got.Losses[1].What)

	// Another of the same title stands beside it, and one that comes with the program is left alone.
	for _, c := range []struct{ title, name string }{{"Cellar Stairs", "cellar-stairs-2"}, {"Lantern Street", "lantern-street-2"}} {
		out, errs, code = runOn(strings.NewReader("C F G7 C"), "tune", "add", "-", "--title", c.title, "--json", "--data", data)
		require.Equal(t, 0, code, errs)
		assert.Contains(t, out, `"name":"`+c.name+`"`)
	}
	out, _, code = runOn(nil, "arrange", "cellar-stairs-2", "--data", data)
	require.Equal(t, 0, code)
	assert.Contains(t, out, "Cellar Stairs")
}

func TestAddSaysWhatIsWrongAndSavesNothing(t *testing.T) {
	data := t.TempDir()
	for in, want := range map[string]string{
		"| H7 |":         `line 1, column 3: found "H7"`,
		"MThd":           "with --chords",
		"tune  x\nkey H": "line 2",
	} {
		_, errs, code := runOn(strings.NewReader(in), "tune", "add", "-", "--data", data)
		assert.Equal(t, ExitBadInput, code, in)
		assert.Contains(t, errs, want)
	}
	found, err := filepath.Glob(filepath.Join(data, "tunes", "*.tune"))
	require.NoError(t, err)
	assert.Empty(t, found)
}
