//go:build !windows

package main_test

import (
	"bufio"
	"encoding/json"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// kill -9 at random moments: every answer whose verdict was shown is in the
// history, at most one a round is there that was not shown yet, and the history
// is sound.
func TestKilledInTheMidstOfADrill(t *testing.T) {
	t.Parallel()
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
		var killed *time.Timer
		for lines.Scan() {
			if l := lines.Text(); strings.HasPrefix(l, "Correct") || strings.HasPrefix(l, "Wrong") {
				if shown++; killed == nil { // some answers from here
					killed = time.AfterFunc(time.Duration(chance.IntN(40_000))*time.Microsecond, func() { c.Process.Kill() })
				}
			}
		}
		c.Wait()
		require.NotNil(t, killed, "the drill begins")
		kept := answers(t, data)
		require.GreaterOrEqual(t, kept, shown, "round %d", round)
		require.LessOrEqual(t, kept, shown+1, "round %d: one answer may be kept and not shown yet", round)
		shown = kept
	}
	require.GreaterOrEqual(t, shown, rounds, "kills came after answers")

	require.Equal(t, shown, sound(t, data).Answers)
}

// checked is what log check tells.
type checked struct {
	Answers, Takes int
	Faults         []string
	Rebuilt        bool
}

// sound checks that the history has no fault.
func sound(t *testing.T, data string) checked {
	t.Helper()
	c := program(t, data, "log", "check", "--json")
	out, err := c.Output()
	require.NoError(t, err)
	var got checked
	require.NoError(t, json.Unmarshal(out, &got))
	require.Empty(t, got.Faults)
	require.False(t, got.Rebuilt)
	return got
}

// shortTune takes 0.4 s a pass.
const shortTune = "tune Short\nkey C\nmeter 2/4\ntempo 300\n\n[A]\nchords | C |\nbass | 1 5 |\n"

// The same for passes of a play-along, each judged by the player.
func TestKilledInTheMidstOfAPlayAlong(t *testing.T) {
	t.Parallel()
	rounds := 5
	if testing.Short() {
		rounds = 2
	}
	if n, err := strconv.Atoi(os.Getenv("FOOTFALL_TEST_KILLS")); err == nil {
		rounds = n // each takes a second
	}
	chance := rand.New(rand.NewPCG(2, uint64(rounds)))
	data := t.TempDir()
	short := filepath.Join(data, "short.tune")
	require.NoError(t, os.WriteFile(short, []byte(shortTune), 0o600))
	shown := 0
	for round := range rounds {
		c := program(t, data, "play", short, "--plain", "--silent", "--passes", "1000", "--port", "none")
		in, err := c.StdinPipe()
		require.NoError(t, err)
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		var killed *time.Timer
		for lines := bufio.NewScanner(out); lines.Scan(); {
			switch l := lines.Text(); {
			case strings.HasPrefix(l, "Was pass"):
				if killed == nil { // two or three passes from here
					killed = time.AfterFunc(time.Duration(300+chance.IntN(700))*time.Millisecond, func() { c.Process.Kill() })
				}
				_, _ = io.WriteString(in, "yes\n") // the program may be gone
			case strings.HasSuffix(l, ": clean."):
				shown++
			}
		}
		c.Wait()
		kept := sound(t, data).Takes
		require.GreaterOrEqual(t, kept, shown, "round %d", round)
		require.LessOrEqual(t, kept, shown+1, "round %d: one pass may be kept and not shown yet", round)
		shown = kept
	}
	require.GreaterOrEqual(t, shown, rounds, "kills came after passes")
}
