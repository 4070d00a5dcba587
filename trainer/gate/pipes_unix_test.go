//go:build unix

package gate

import (
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func pipe(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, unix.Mkfifo(path, 0o600))
	return path
}

func TestDevicesAndPipesAreNoFiles(t *testing.T) {
	path := pipe(t)
	_, err := Read(path, 1<<20)
	assert.EqualError(t, err, path+" is a pipe, not a file")
	for _, open := range []func(string) (*File, error){Open, OpenAsked} {
		_, err = open("/dev/zero")
		assert.EqualError(t, err, "/dev/zero is a device, not a file")
	}
}

// A pipe that was asked for is read to its end, however late its writer comes; one that
// opens it and writes nothing ends it too.
func TestAPipeThatWasAskedFor(t *testing.T) {
	for name, write := range map[string]func(*os.File){
		"written in pieces": func(w *os.File) {
			for _, word := range []string{"some ", "words"} {
				time.Sleep(5 * time.Millisecond)
				_, _ = w.WriteString(word)
			}
		},
		"opened and closed": func(*os.File) {},
	} {
		path := pipe(t)
		f, err := OpenAsked(path)
		require.NoError(t, err)
		go func() {
			time.Sleep(50 * time.Millisecond)
			w, err := os.OpenFile(path, os.O_WRONLY, 0)
			if err == nil {
				write(w)
				w.Close()
			}
		}()
		data, err := f.All(1 << 20)
		require.NoError(t, err)
		want := ""
		if name == "written in pieces" {
			want = "some words"
		}
		assert.Equal(t, want, string(data), name)
		require.NoError(t, f.Close())
	}
}

// A signal that ends the program takes what is temporary with it.
func TestASignalRemovesWhatIsTemporary(t *testing.T) {
	if os.Getenv("FOOTFALL_TEST_CHILD") != "" {
		_, _, err := Temporary()
		require.NoError(t, err)
		os.Stdout.WriteString("made\n")
		time.Sleep(time.Minute)
		os.Exit(1)
	}
	folder := t.TempDir()
	for _, s := range []os.Signal{unix.SIGTERM, unix.SIGINT, unix.SIGHUP} {
		if signal.Ignored(s) {
			continue // as for whoever runs the tests in the background, or by nohup
		}
		child := exec.Command(os.Args[0], "-test.run=^TestASignalRemovesWhatIsTemporary$")
		child.Env = append(os.Environ(), "FOOTFALL_TEST_CHILD=1", "TMPDIR="+folder)
		out, err := child.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, child.Start())
		said := make([]byte, 5)
		_, err = out.Read(said)
		require.NoError(t, err)
		require.Equal(t, "made\n", string(said))
		made, err := os.ReadDir(folder)
		require.NoError(t, err)
		require.Len(t, made, 1)
		require.NoError(t, child.Process.Signal(s))
		err = child.Wait()
		require.Error(t, err)
		assert.True(t, strings.HasPrefix(err.Error(), "signal: "), err)
		left, err := os.ReadDir(folder)
		require.NoError(t, err)
		assert.Empty(t, left, s)
	}
}
