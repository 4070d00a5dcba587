package command

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/trainer/history"
)

// practised makes a folder with a history of a few answers, given in one evening,
// whenever the test runs.
func practised(t *testing.T, answers int) string {
	t.Helper()
	dir := t.TempDir()
	evening := time.Date(2026, time.March, 3, 19, 0, 0, 0, time.Local)
	s, err := history.Open(history.Path(dir), func() time.Time { return evening }, nil)
	require.NoError(t, err)
	defer s.Close()
	ctx := context.Background()
	sit, err := s.Begin(ctx, history.Sitting{Began: evening.Add(-time.Hour), Drill: "find", Tune: "lantern-street"})
	require.NoError(t, err)
	for i := range answers {
		_, err := s.Append(ctx, history.Answer{
			Sitting: sit.ID, Item: memory.Item{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: []string{"C", "D", "G"}[i%3], String: 5},
			Verdict: memory.Verdict(i % 3), Took: 2 * time.Second, Place: fretboard.Place{String: 5, Fret: i % 12}, Given: "3",
		})
		require.NoError(t, err)
	}
	return dir
}

func TestLogMovesAHistoryBetweenMachines(t *testing.T) {
	from, to := practised(t, 9), t.TempDir()
	for _, form := range [][]string{{}, {"--json"}, {"--csv"}} {
		out, _, code := runOn(nil, append([]string{"log", "export", "--data", from}, form...)...)
		require.Zero(t, code)
		file := filepath.Join(t.TempDir(), "moved")
		require.NoError(t, os.WriteFile(file, []byte(out), 0o600))
		_, errs, code := runOn(nil, "log", "import", file, "--data", to)
		require.Zero(t, code, errs)
	}
	out, _, code := runOn(nil, "log", "check", "--json", "--data", to)
	require.Zero(t, code)
	require.JSONEq(t, `{"sittings":1,"answers":9,"takes":0,"unjudged":0,"unknown_items":0,"unknown_answers":0,"ahead":0,"faults":[],"left_out":0,"rebuilt":false}`, out)

	copied := filepath.Join(t.TempDir(), "copy.db")
	_, _, code = runOn(nil, "log", "backup", copied, "--data", from)
	require.Zero(t, code)
	_, _, code = runOn(nil, "log", "backup", copied, "--data", from)
	require.Equal(t, ExitBadInput, code)
	text, err := os.ReadFile(copied)
	require.NoError(t, err)
	out, _, code = runOn(bytes.NewReader(text), "log", "import", "-", "--data", to)
	require.Zero(t, code)
	require.Equal(t, "New here: 0 sittings, 0 answers, 0 takes.\n", out)
}

func TestLogFaults(t *testing.T) {
	_, _, code := runOn(strings.NewReader("no history"), "log", "import", "-", "--data", t.TempDir())
	require.Equal(t, ExitBadInput, code)
	_, _, code = runOn(nil, "log", "import", "no/such/file", "--data", t.TempDir())
	require.Equal(t, ExitBadInput, code)
	_, _, code = runOn(nil, "log", "export", "--csv", "--json", "--data", t.TempDir())
	require.Equal(t, ExitBadInput, code)

	dir := t.TempDir()
	require.NoError(t, os.WriteFile(history.Path(dir), []byte("no history at all"), 0o600))
	for _, args := range [][]string{{"log", "check"}, {"log", "export"}, {"review"}} {
		_, _, code = runOn(nil, append(args, "--data", dir)...)
		require.Equal(t, ExitFailure, code)
	}
	text, err := os.ReadFile(history.Path(dir))
	require.NoError(t, err)
	require.Equal(t, "no history at all", string(text), "left as it is")
}

func TestReview(t *testing.T) {
	dir := practised(t, 9)
	out, _, code := runOn(nil, "review", "--json", "--data", dir)
	require.Zero(t, code)
	var v struct {
		Asked, Right int
		Days         []map[string]any
		Neck         []map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(out), &v))
	require.Equal(t, 9, v.Asked)
	require.Equal(t, 6, v.Right)
	require.Len(t, v.Days, 1)
	require.Len(t, v.Neck, 9)

	out, _, code = runOn(nil, "review", "--data", dir)
	require.Zero(t, code)
	for _, want := range []string{"6 right of 9 asked.", "Days", "Degree against chord quality", "6 of 9", "The neck: missed of asked"} {
		require.Contains(t, out, want)
	}
	out, _, code = runOn(nil, "review", "--csv", "--data", dir)
	require.Zero(t, code)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"progress", "kept", "new"}, rows[0][:3])

	out, _, code = runOn(nil, "review", "--since", "2100-01-01", "--data", dir)
	require.Zero(t, code)
	require.Contains(t, out, "Questions that come back, by day")
	_, errs, code := runOn(nil, "review", "--since", "soon", "--data", dir)
	require.Equal(t, ExitBadInput, code, errs)

	out, _, code = runOn(nil, "log", "export", "--summary", "--data", dir)
	require.Zero(t, code)
	require.Contains(t, out, `"asked": 9`)
	require.NotContains(t, out, `"given"`)
}

// Three passes that nobody has judged when they end are kept with their minutes, and
// looked back on; one is judged after the next.
func TestPassesWithoutAVerdict(t *testing.T) {
	dir := t.TempDir()
	said := 0
	p := sitInFor(t, func(e told) string {
		if e["event"] != "pass" {
			return ""
		}
		said++
		if said == 2 {
			return `{"clean":true,"pass":1}` + "\n" + `{"skip":true}`
		}
		return `{"skip":true}`
	}, "2026-12-01T18:00:00Z", "play", "lantern-street", "--section", "A", "--tempo", "96", "--passes", "3", "--events", "--data", dir)
	require.Empty(t, p.all("error"))
	out, _, code := runOn(nil, "log", "export", "--data", dir)
	require.Zero(t, code)
	var kept struct {
		Takes []struct {
			Clean    *bool
			LengthMS int `json:"length_ms"`
			Tempo    float64
		}
	}
	require.NoError(t, json.Unmarshal([]byte(out), &kept))
	require.Len(t, kept.Takes, 3)
	for i, take := range kept.Takes {
		require.Equal(t, 20_000, take.LengthMS, "8 bars of 4 beats at 96")
		require.Equal(t, 96.0, take.Tempo)
		require.Equal(t, i == 0, take.Clean != nil && *take.Clean)
	}
	out, _, code = runOn(nil, "review", "--json", "--data", dir)
	require.Zero(t, code)
	var v struct {
		Passes      int
		PassMinutes float64 `json:"pass_minutes"`
		Days        []struct{ Passes int }
		Tempos      []struct{ Passes, Unjudged int }
	}
	require.NoError(t, json.Unmarshal([]byte(out), &v))
	require.Equal(t, 3, v.Passes)
	require.Equal(t, 1.0, v.PassMinutes)
	require.Equal(t, 3, v.Days[0].Passes)
	require.Equal(t, 2, v.Tempos[0].Unjudged)
}
