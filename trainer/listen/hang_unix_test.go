//go:build unix

package listen

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A pipe that nobody writes to in the place of the file is an error, at once.
func TestAPipeInThePlaceOfTheFile(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, unix.Mkfifo(filepath.Join(folder, "inputs.json"), 0o600))
	_, err := StoreIn(folder).Last()
	assert.EqualError(t, err, filepath.Join(folder, "inputs.json")+" is a pipe, not a file")
	_, err = StoreIn(folder).Open(MicrophonePort, nil, 0)
	assert.ErrorContains(t, err, "is a pipe, not a file")
}
