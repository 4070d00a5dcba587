package main_test

import (
	"bytes"
	"fmt"
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

// A tune of four thousand bars is composed and arranged within the memory that
// every command may take.
func TestLongTunesTakeTheMemoryOfShortOnes(t *testing.T) {
	if testing.Short() {
		t.Skip("composes four thousand bars")
	}
	dir := t.TempDir()
	chords := []string{"Dm7", "G7", "Cmaj7", "A7", "Fm7", "Bb7", "Ebmaj7", "Em7b5", "A7b9", "Gm7", "C7", "F6", "Am7"}
	var text strings.Builder
	text.WriteString("tune Long\nkey C\nmeter 4/4\ntempo 120\n")
	for section := range 20 {
		fmt.Fprintf(&text, "\n[S%d]\nchords |", section)
		for bar := range 200 {
			text.WriteString(" " + chords[(section*7+bar*5+bar*bar/9)%len(chords)] + " |")
		}
		text.WriteString("\n")
	}
	tune := filepath.Join(dir, "long.tune")
	require.NoError(t, os.WriteFile(tune, []byte(text.String()), 0o600))
	ran := func(args ...string) []byte {
		c := program(t, dir, args...)
		out, err := c.Output()
		require.NoError(t, err, args)
		assert.Less(t, resident(c), int64(mostResident), "%q in kB", args)
		return out
	}
	require.NoError(t, os.WriteFile(tune, ran("walk", tune, "--seed", "1"), 0o600))
	ran("arrange", tune, "--json")
}
