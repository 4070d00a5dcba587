//go:build unix

package command

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/adrg/xdg"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/trainer/listen"
	"footfall/trainer/tunebook"
)

// Everything that the program writes, on a disk that is full: one line says so,
// what was there is as it was, and nothing half written is left.
func TestFullDiskEverywhere(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=512k,mode=0700", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no small tmpfs can be mounted here: %s", out)
	}
	defer func() { assert.NoError(t, exec.Command("umount", "-l", dir).Run()) }()
	t.Cleanup(xdg.Reload) // when the folders are the old ones again
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(dir, "config"))
	xdg.Reload()
	run := func(in string, args ...string) (string, error) {
		var out bytes.Buffer
		cmd := New(nil)
		cmd.SetArgs(args)
		cmd.SetIn(strings.NewReader(in))
		cmd.SetOut(&out)
		cmd.SetErr(&out)
		err := cmd.Execute()
		if err != nil {
			out.WriteString(err.Error())
		}
		return out.String(), err
	}
	in := func(name string) string { return filepath.Join(dir, name) }

	// While there is room.
	sheets := []string{"a.html", "a.svg", "a.txt", "a.mid", "a.musicxml"}
	for _, name := range sheets {
		_, err := run("", "sheet", "short-ladder", "-o", in(name))
		require.NoError(t, err)
	}
	require.NoError(t, os.MkdirAll(in("inputs"), 0o700))
	store := listen.StoreIn(in("inputs"))
	require.NoError(t, store.Use("first port"))
	book := tunebook.In(in("data"))
	file, err := tunebook.Read(book.Path("mine"))
	require.NoError(t, err)
	require.NoError(t, file.Replace("tune Mine\n"))
	draft := book.Draft(file.Path())
	require.NoError(t, draft.Keep(1, "tune Mine at work\n"))
	require.NoError(t, os.MkdirAll(in("new"), 0o700))

	ballast, err := os.Create(in("ballast"))
	require.NoError(t, err)
	for size := 64 << 10; size > 0; size /= 2 {
		for err = nil; err == nil; {
			_, err = ballast.Write(make([]byte, size))
		}
		require.ErrorIs(t, err, syscall.ENOSPC)
	}
	require.NoError(t, ballast.Close())
	before := filesBelow(t, dir)

	full := func(what, said string, err error) {
		t.Helper()
		assert.Error(t, err, what)
		assert.Regexp(t, "no space left|disk is full", said, what)
		assert.Equal(t, before, filesBelow(t, dir), what)
	}
	for _, name := range sheets {
		said, err := run("", "sheet", "lantern-street", "-o", in(name))
		full("sheet "+name, said, err)
		assert.Contains(t, said, in(name)+" cannot be written")
	}
	for _, args := range [][]string{{"log", "backup", in("new/backup.db")}, {"settings", "new"}} {
		said, err := run("", args...)
		// The folder of the settings may be made; a file may not be there.
		full(args[0], said, err)
	}
	long := "tune Mine\n" + strings.Repeat("# a long remark\n", 1000)
	for what, err := range map[string]error{
		"a tune saved":     file.Replace(long),
		"a draft":          draft.Keep(2, long),
		"a port picked":    store.Use(strings.Repeat("second port", 1000)),
		"a port's delay":   store.Learn("second port", listen.Calibration{}),
		"a new tune saved": func() error { f, _ := tunebook.Read(book.Path("new")); return f.Replace(long) }(),
	} {
		require.Error(t, err, what)
		full(what, err.Error(), err)
	}
	said, err := run(strings.Repeat("1\n", 3)+"quit\n", "drill", "find", "--plain", "--data", in("data"))
	assert.Contains(t, said, "the disk is full. Make some room")
	require.ErrorContains(t, err, "3 answers could not be written, but lie in ")
	assert.Equal(t, 1, ExitCode(err))
	_, rest, _ := strings.Cut(err.Error(), "lie in ")
	kept, _, _ := strings.Cut(rest, ";")
	defer os.Remove(kept)

	// With room again nothing is lost.
	require.NoError(t, os.Remove(in("ballast")))
	said, err = run("", "log", "import", kept, "--data", in("data"))
	require.NoError(t, err, said)
	assert.Contains(t, said, "3 answers")
	require.NoError(t, file.Replace(long))
}

// filesBelow is what lies in every file below a folder but the history's own.
func filesBelow(t *testing.T, dir string) map[string]string {
	all := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() { // a sound server's client leaves links
			return err
		}
		data, err := os.ReadFile(path)
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		all[path] = string(data)
		return err
	}))
	return all
}
