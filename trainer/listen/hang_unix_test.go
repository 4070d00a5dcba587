//go:build unix

package listen

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A folder on a disk that does not answer, here a pipe that nobody writes to, is an
// error within seconds.
func TestAFolderThatHangs(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, unix.Mkfifo(filepath.Join(folder, "inputs.json"), 0o600))
	_, err := StoreIn(folder).Last()
	assert.EqualError(t, err, filepath.Join(folder, "inputs.json")+" does not answer")
	_, err = StoreIn(folder).Open(MicrophonePort, nil, 0)
	assert.ErrorContains(t, err, "does not answer")
}
