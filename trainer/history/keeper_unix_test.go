//go:build unix

package history_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/history"
)

func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=2m,mode=0777", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no small tmpfs can be mounted here: %s", out)
	}
	defer func() { assert.NoError(t, exec.Command("umount", "-l", dir).Run()) }()
	path := filepath.Join(dir, history.FileName)
	ballast := filepath.Join(dir, "ballast")

	c := &clock{now: start}
	k := keep(t, path, c)
	p := newPlayer(1)
	sit(t, k, p, 10, history.Unknown)
	text := strings.Repeat("x", 4096)
	f, err := os.Create(ballast)
	require.NoError(t, err)
	for err == nil {
		_, err = f.WriteString(text)
	}
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.NoError(t, f.Close())

	failed := 0
	for range 60 {
		if _, err := k.Append(ctx, p.answer()); err != nil {
			require.Equal(t, history.DiskFull, history.TroubleOf(err), "%v", err)
			failed++
		}
	}
	require.Positive(t, failed, "the disk is full")
	assert.Contains(t, k.Notice(), "Make some room")
	require.NoError(t, os.Remove(ballast))
	c.Move(3 * time.Second)
	sit(t, k, p, 1, history.Unknown)
	require.NoError(t, k.Close())
	wantKept(t, path, 71)
}

// TestReadOnlyFolder runs this test again as a user who may not write there,
// since a test that runs as root may write anywhere.
func TestReadOnlyFolder(t *testing.T) {
	if path := os.Getenv("FOOTFALL_TEST_READ_ONLY"); path != "" {
		k := keep(t, path, &clock{now: start})
		assert.Contains(t, k.Notice(), "read-only")
		p := newPlayer(1)
		sit(t, k, p, 3, history.ReadOnly)
		assert.Equal(t, 3, asked(t, k))
		require.ErrorContains(t, k.Close(), "3 answers could not be written")
		return
	}
	dir, err := os.MkdirTemp("", "footfall-read-only-")
	require.NoError(t, err)
	defer os.RemoveAll(dir)
	require.NoError(t, os.Chmod(dir, 0o555))
	asNobody(t, "TestReadOnlyFolder", filepath.Join(dir, history.FileName))
}

// asNobody runs a test again, of the history at path, as a user who may write
// nothing there.
func asNobody(t *testing.T, test, path string) {
	t.Helper()
	binary, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(binary, "-test.run", "^"+test+"$")
	cmd.Env = append(os.Environ(), "FOOTFALL_TEST_READ_ONLY="+path)
	cmd.Dir = "/"
	if os.Geteuid() == 0 {
		copied := filepath.Join(os.TempDir(), fmt.Sprintf("%s-%d.test", test, os.Getpid()))
		text, err := os.ReadFile(binary)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(copied, text, 0o755))
		defer os.Remove(copied)
		cmd.Path = copied
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), "PASS")
}

// A history that may only be read is read, by the commands and by practice, whose
// answers are kept elsewhere; nothing of it changes. It runs again as a user who may
// not write, as TestReadOnlyFolder does.
func TestReadOnlyHistory(t *testing.T) {
	if path := os.Getenv("FOOTFALL_TEST_READ_ONLY"); path != "" {
		before := filesIn(t, filepath.Dir(path), "killed")
		s, err := history.Read(path, nil, nil)
		require.NoError(t, err)
		assert.Len(t, allAnswers(t, s), 40)
		checked, err := s.Check(ctx)
		require.NoError(t, err)
		assert.Equal(t, history.Checked{Sittings: 1, Answers: 40, Faults: []string{}}, checked)
		require.NoError(t, s.Close())
		k := keep(t, path, &clock{now: start.AddDate(1, 0, 0)})
		assert.Contains(t, k.Notice(), "read-only")
		assert.Equal(t, 40, asked(t, k))
		states, err := k.States(ctx)
		require.NoError(t, err)
		assert.NotEmpty(t, states)
		sit(t, k, newPlayer(2), 3, history.ReadOnly)
		require.ErrorContains(t, k.Close(), "3 answers could not be written")
		_, _, err = history.Repair(ctx, path, nil)
		assert.Equal(t, history.ReadOnly, history.TroubleOf(err), "%v", err)
		assert.Equal(t, before, filesIn(t, filepath.Dir(path), "killed"))
		return
	}
	dir, err := os.MkdirTemp("", "footfall-read-only-")
	require.NoError(t, err)
	defer os.RemoveAll(dir)
	killed := filepath.Join(dir, "killed")
	require.NoError(t, os.MkdirAll(killed, 0o755))
	require.NoError(t, os.Chmod(dir, 0o755))
	s := open(t, filepath.Join(dir, history.FileName))
	newPlayer(1).play(t, s, 40)
	for name, text := range filesIn(t, dir, "killed") {
		require.NoError(t, os.WriteFile(filepath.Join(killed, name), []byte(text), 0o444))
	}
	require.NoError(t, s.Close())
	require.NoError(t, os.Chmod(s.File(), 0o444))
	for _, folder := range []string{killed, dir} {
		require.NoError(t, os.Chmod(folder, 0o555))
		asNobody(t, "TestReadOnlyHistory", filepath.Join(folder, history.FileName))
	}
}
