package main_test

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// zeros never end.
type zeros struct{}

func (zeros) Read(b []byte) (int, error) {
	clear(b)
	return len(b), nil
}

// A hundred megabytes that are no recording, and a stream of zeros that never ends, are
// refused by how they begin: nothing more of them is read.
func TestWhatIsNoRecordingIsNotRead(t *testing.T) {
	dir := t.TempDir()
	big := filepath.Join(dir, "big.wav")
	require.NoError(t, os.WriteFile(big, bytes.Repeat([]byte("no WAV. "), 100<<17), 0o600))
	bare := exec.Command(program(t, dir, "version").Path, "version")
	require.NoError(t, bare.Run())
	for _, args := range [][]string{{"hear", "FILE"}, {"score", "key-ring", "--take", "FILE"}, {"score", "key-ring", "--free", "--take", "FILE"}} {
		for _, in := range []io.Reader{nil, zeros{}} {
			name, begins := big, `with "no W`
			if in != nil {
				name, begins = "-", `with "\x00\x00\x00\x00`
			}
			line := strings.Fields(strings.ReplaceAll(strings.Join(args, " "), "FILE", name))
			c := program(t, dir, line...)
			var errs bytes.Buffer
			c.Stdin, c.Stderr = in, &errs
			assert.Error(t, c.Run(), line)
			assert.Equal(t, 2, c.ProcessState.ExitCode(), line)
			assert.Contains(t, errs.String(), begins, line)
			assert.Contains(t, errs.String(), "not with a WAV header", line)
			assert.Less(t, resident(c), resident(bare)+20_000, "%q in kB, where a command that reads nothing takes %d", line, resident(bare))
		}
	}
}

// A pipe that TZ names for the zone is not waited for.
func TestAPipeForAZone(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "zone")
	require.NoError(t, unix.Mkfifo(pipe, 0o600))
	c := program(t, dir, "today", "--json")
	c.Env = append(c.Env, "TZ=:"+pipe)
	out, err := c.CombinedOutput()
	require.NoError(t, err, string(out))
}
