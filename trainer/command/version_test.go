package command

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestVersionSaysHowItWasBuilt(t *testing.T) {
	var out bytes.Buffer
	cmd := New(nil)
	cmd.SetArgs([]string{"version", "--json"})
	cmd.SetOut(&out)
	require.NoError(t, cmd.Execute())
	var b build
	require.NoError(t, json.Unmarshal(out.Bytes(), &b))
	assert.Equal(t, Version, b.Version)
	assert.NotEmpty(t, b.Go)
}

func TestManualHasAPageForEachCommand(t *testing.T) {
	dir := t.TempDir()
	cmd := New(nil)
	cmd.SetArgs([]string{"manual", dir})
	require.NoError(t, cmd.Execute())
	for _, c := range New(nil).Commands() {
		if !c.IsAvailableCommand() || c.Name() == "completion" || c.Name() == "help" {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, "footfall-"+c.Name()+".1"))
		require.NoError(t, err, c.Name())
		assert.Contains(t, string(text), ".SH")
	}
}

func TestManualNeedsAFolder(t *testing.T) {
	cmd := New(nil)
	cmd.SetArgs([]string{"manual", filepath.Join(t.TempDir(), "none")})
	assert.Equal(t, ExitBadInput, ExitCode(cmd.Execute()))
}
