package tunebook

import (
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A disk that takes no more (here: the system's limit on the size of a file)
// leaves the file as it was, and nothing beside it. It is tried in a process of its
// own: the limit holds for every file that a process writes, what it tells go test too.
func TestADiskThatIsFull(t *testing.T) {
	if os.Getenv("FOOTFALL_TEST_FULL_DISK") == "" {
		cmd := exec.Command(os.Args[0], "-test.run", "^TestADiskThatIsFull$", "-test.v")
		cmd.Env = append(os.Environ(), "FOOTFALL_TEST_FULL_DISK=1")
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
		require.Contains(t, string(out), "--- PASS: TestADiskThatIsFull")
		return
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "a.tune")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o600))
	f, err := Read(path)
	require.NoError(t, err)
	d := In(dir).Draft(path)
	require.NoError(t, d.Keep(1, "draft"))

	signal.Ignore(syscall.SIGXFSZ)
	defer signal.Reset(syscall.SIGXFSZ)
	var limit syscall.Rlimit
	require.NoError(t, syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit))
	small := limit
	small.Cur = 1000
	require.NoError(t, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &small))
	long := strings.Repeat("new ", 1000)
	err, draftErr := f.Replace(long), d.Keep(2, long)
	require.NoError(t, syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit))

	require.ErrorIs(t, err, syscall.EFBIG)
	require.ErrorIs(t, draftErr, syscall.EFBIG)
	data, _ := os.ReadFile(path)
	assert.Equal(t, "old", string(data))
	text, _, _, _ := d.Found()
	assert.Equal(t, "draft", text)
	entries, _ := os.ReadDir(dir)
	assert.Len(t, entries, 2, "the file and the drafts' folder")
	require.NoError(t, f.Replace(long), "and once there is room it is written")
}

func TestAFolderThatMayNotBeWritten(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root may write anywhere; run it as another user")
	}
	dir := t.TempDir()
	path := filepath.Join(dir, "a.tune")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o600))
	f, err := Read(path)
	require.NoError(t, err)
	require.NoError(t, os.Chmod(dir, 0o500))
	defer os.Chmod(dir, 0o700)
	require.ErrorIs(t, f.Replace("new"), os.ErrPermission)
	data, _ := os.ReadFile(path)
	assert.Equal(t, "old", string(data))
}
