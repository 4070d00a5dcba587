package command

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTodayLaysOutTheDay(t *testing.T) {
	dir := t.TempDir()
	out, _, code := runOn(nil, "today", "--json", "--minutes", "30", "--tune", "third-floor-waltz", "--data", dir)
	require.Zero(t, code)
	var plan struct {
		Minutes int
		Steps   []struct {
			Kind, Tune, Ramp string
			Minutes          int
		}
	}
	require.NoError(t, json.Unmarshal([]byte(out), &plan))
	require.Equal(t, 30, plan.Minutes)
	total := 0
	for _, s := range plan.Steps {
		total += s.Minutes
	}
	require.LessOrEqual(t, total, 30)
	require.Equal(t, "level", plan.Steps[0].Kind)
	again, _, _ := runOn(nil, "today", "--json", "--minutes", "30", "--tune", "third-floor-waltz", "--data", dir)
	require.Equal(t, out, again)

	out, _, code = runOn(nil, "today", "--json", "--seed", "7", "--data", dir)
	require.Zero(t, code)
	require.Contains(t, out, `"seed":7,`)

	_, _, code = runOn(nil, "today", "--minutes", "0", "--data", dir)
	require.Equal(t, ExitBadInput, code)
	_, _, code = runOn(nil, "today", "--tune", "no-such-tune", "--data", dir)
	require.Equal(t, ExitBadInput, code)
}

func TestTodayIsGoneThroughInLines(t *testing.T) {
	dir := t.TempDir()
	// The placing round: an answer, and quit; every other step left out.
	out, _, code := runOn(strings.NewReader("\n0\nC\n1\nquit\n"+strings.Repeat("skip\n", 9)), "today", "--plain", "--data", dir)
	require.Zero(t, code)
	require.Contains(t, out, "1. Find your level")
	require.Contains(t, out, "That is all for today.")
	out, _, _ = runOn(nil, "review", "--json", "--data", dir)
	require.NotContains(t, out, `"asked":0,`, "what was answered is in the history")
	out, _, code = runOn(strings.NewReader(""), "today", "--plain", "--data", dir)
	require.Zero(t, code, "the end of the input ends the day")
	require.Contains(t, out, "1. Find your level", "the plan of the day stands")
	require.NotContains(t, out, "Done already", "what was left is not done")
}

func TestTodayTakesATeachersLesson(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "thirds.lesson")
	require.NoError(t, os.WriteFile(file, []byte("lesson Thirds\ngoal Name them\n[text]\nLook.\n[practice]\ndrill | spell | chords C F | degrees 3 | done 2 of 2\n"), 0o600))
	out, _, code := runOn(strings.NewReader("\n\nskip\n"), "today", "--plain", "--lesson", file, "--data", dir)
	require.Zero(t, code)
	require.Contains(t, out, "Thirds: Name them")
	require.Contains(t, out, "Look.")
	require.Contains(t, out, "Finished when: 2 right of 2.")

	require.NoError(t, os.WriteFile(file, []byte("lesson Thirds\n[text]\n[practice]\nsing\n"), 0o600))
	_, _, code = runOn(nil, "today", "--lesson", file, "--data", dir)
	require.Equal(t, ExitBadInput, code)
}
