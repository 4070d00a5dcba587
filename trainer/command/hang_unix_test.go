//go:build unix

package command

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/adrg/xdg"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// Pipes that nobody writes to in the place of files: each is told of, and practice goes
// on without it.
func TestFilesThatHang(t *testing.T) {
	ownFolders(t)
	t.Setenv("TMPDIR", t.TempDir()) // what could not be kept lands there
	own := filepath.Join(xdg.DataHome, "footfall")
	files := []string{
		filepath.Join(xdg.ConfigHome, "footfall", "settings.toml"), filepath.Join(own, "history.db"),
		filepath.Join(own, "inputs.json"), filepath.Join(own, "tunes", "x.tune"),
	}
	for _, file := range files {
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o700))
		require.NoError(t, unix.Mkfifo(file, 0o600))
	}
	out, errs, code := runOn(strings.NewReader("3\nquit\n"), "drill", "--plain")
	assert.Equal(t, ExitFailure, code, "the answer is not kept where it should be")
	assert.Contains(t, out, "right of 1.")
	assert.Contains(t, errs, files[0]+" is a pipe, not a file, so the defaults hold")
	assert.Contains(t, errs, "What you do now is kept in memory: the history "+files[1]+" cannot be opened: "+files[1]+" is a pipe, not a file.")
	assert.Contains(t, errs, files[3]+" is a pipe, not a file")
	_, errs, code = runOn(nil, "listen", "--ports")
	assert.Equal(t, ExitFailure, code)
	assert.Contains(t, errs, files[2]+" is a pipe, not a file")
}
