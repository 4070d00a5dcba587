//go:build !windows

package main_test

import (
	"bufio"
	"encoding/json"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// kill -9 at random moments: every answer whose verdict was shown is in the
// history, at most one a round is there that was not shown yet, and the history
// is sound.
func TestKilledInTheMidstOfADrill(t *testing.T) {
	rounds := 200
	if testing.Short() {
		rounds = 8
	}
	chance := rand.New(rand.NewPCG(1, 1))
	data := t.TempDir()
	shown := 0
	for round := range rounds {
		c := program(t, data, "drill", "find", "--plain", "--questions", "100000")
		in, err := c.StdinPipe()
		require.NoError(t, err)
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		go func() { // fret 3 is always an answer, seldom the right one
			for {
				if _, err := io.WriteString(in, "3\n"); err != nil {
					return
				}
			}
		}()
		lines := bufio.NewScanner(out)
		require.True(t, lines.Scan(), "the drill begins")
		killed := time.AfterFunc(time.Duration(chance.IntN(40_000))*time.Microsecond, func() { c.Process.Kill() })
		for lines.Scan() {
			if l := lines.Text(); strings.HasPrefix(l, "Right") || strings.HasPrefix(l, "Missed") {
				shown++
			}
		}
		killed.Stop()
		c.Wait()
		kept := answers(t, data)
		require.GreaterOrEqual(t, kept, shown, "round %d", round)
		require.LessOrEqual(t, kept, shown+1, "round %d: one answer may be kept and not shown yet", round)
		shown = kept
	}
	require.Greater(t, shown, rounds, "kills came after answers")

	c := program(t, data, "log", "check", "--json")
	out, err := c.Output()
	require.NoError(t, err)
	var checked struct {
		Answers int
		Faults  []string
		Rebuilt bool
	}
	require.NoError(t, json.Unmarshal(out, &checked))
	require.Equal(t, shown, checked.Answers)
	require.Empty(t, checked.Faults)
	require.False(t, checked.Rebuilt)
}
