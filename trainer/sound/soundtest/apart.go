package soundtest

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// apart names the test that runs in a process of its own.
const apart = "FOOTFALL_TEST_APART"

// Apart runs the test that calls it in a process of its own, at the same time as the
// other tests of the package: for a test that mostly waits, and that has a sound server
// or folders of its own, of which the process's environment tells. It returns true in that process, where the test does
// its work, and false in the one that waits for its end and has its result.
func Apart(t *testing.T) bool {
	t.Helper()
	if os.Getenv(apart) == t.Name() {
		return true
	}
	args := []string{"-test.run=^" + t.Name() + "$", "-test.v", "-test.short=" + strconv.FormatBool(testing.Short())}
	if end, limited := t.Deadline(); limited {
		args = append(args, "-test.timeout="+time.Until(end).String())
	}
	child := exec.CommandContext(t.Context(), os.Args[0], args...)
	child.Env = append(os.Environ(), apart+"="+t.Name())
	told, err := os.Create(filepath.Join(t.TempDir(), "told")) // a buffer would take memory while other tests count it
	require.NoError(t, err)
	defer told.Close()
	child.Stdout, child.Stderr = told, told
	require.NoError(t, child.Start())
	t.Parallel() // waits for the tests that do not call it
	ended := child.Wait()
	text, err := os.ReadFile(told.Name())
	require.NoError(t, err)
	t.Logf("%s", text)
	require.NoError(t, ended, "in a process of its own")
	if strings.Contains(string(text), "--- SKIP: "+t.Name()) {
		t.SkipNow()
	}
	return false
}
