//go:build !windows

package main_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The program is killed while a tune is edited: what was put in is offered when
// the tune is edited again, and the file is written only by saving.
func TestUnsavedWorkOutlivesAKill(t *testing.T) {
	t.Parallel()
	data := t.TempDir()
	x := onTerminal(t, program(t, data, "--data", data))
	x.wait("add a tune")
	x.press("\x1b[F")
	x.press("e")
	x.wait("edit · ")
	x.press("b3\r")
	x.wait("not saved")
	require.Eventually(t, func() bool {
		drafts, _ := filepath.Glob(filepath.Join(data, "drafts", "*.tune"))
		return len(drafts) == 1
	}, 60*time.Second, 5*time.Millisecond)
	require.NoError(t, x.cmd.Process.Kill())
	<-x.done
	saved := func() []string {
		names, err := filepath.Glob(filepath.Join(data, "tunes", "*.tune"))
		require.NoError(t, err)
		return names
	}
	require.Empty(t, saved())

	x = onTerminal(t, program(t, data, "--data", data))
	x.wait("add a tune")
	x.press("\x1b[F")
	x.press("e")
	x.wait("never saved is still here")
	x.press("\r")
	x.wait("unsaved work is back")
	x.press("\x13")
	x.wait("Saved in")
	require.Len(t, saved(), 1)
	text, err := os.ReadFile(saved()[0])
	require.NoError(t, err)
	assert.Regexp(t, `bass   \| b3 `, string(text))
	x.press("q")
	<-x.done

	out, err := program(t, data, "--data", data, "tune", "show", strings.TrimSuffix(filepath.Base(saved()[0]), ".tune")).Output()
	require.NoError(t, err)
	assert.Contains(t, string(out), "b3", "the player's own stands before the built-in one")
}
