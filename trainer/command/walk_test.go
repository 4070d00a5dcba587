package command

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"footfall/harmony/tune"
)

func TestWalkPrintsATune(t *testing.T) {
	out, _, code := runOn(nil, "walk", "tin-kettle-blues", "--seed", "4")
	require.Zero(t, code)
	tn, faults := tune.Check(out, tune.Within(40, 60))
	require.Empty(t, faults)
	require.Equal(t, "Tin Kettle Blues", tn.Title)
	again, _, _ := runOn(nil, "walk", "tin-kettle-blues", "--seed", "4")
	require.Equal(t, out, again)
	other, _, _ := runOn(nil, "walk", "tin-kettle-blues", "--seed", "5")
	require.NotEqual(t, out, other)
	moved, _, code := runOn(nil, "walk", "tin-kettle-blues", "--key", "Ab")
	require.Zero(t, code)
	require.Contains(t, moved, "key    Ab")
}

func TestWalkGivesNotesWithReasons(t *testing.T) {
	out, _, code := runOn(nil, "walk", "tin-kettle-blues", "--json", "--style", "chord-tones")
	require.Zero(t, code)
	var line walked
	require.NoError(t, json.Unmarshal([]byte(out), &line))
	require.Equal(t, "chord-tones", line.Style)
	require.Len(t, line.Events, 48)
	for _, e := range line.Events {
		require.NotEmpty(t, e.Reason)
		require.Equal(t, "bass", e.Kind)
		require.Equal(t, 1.0, e.Beats)
		require.False(t, e.Kept)
	}
	require.Equal(t, "1", line.Events[0].Degree)
	require.Equal(t, 41, line.Events[0].MIDI)
}

const faulty = `tune x
key C
meter 4/4
tempo 120

[A]
chords | Dm7        | G7          | C         | C |
bass   | 1 /2 /b3 \2 | \4 \3 \2 \1 | 1 /3,/5 \3 \1 | . . . . |
`

func TestWalkKeepsWrittenBars(t *testing.T) {
	out, _, code := runOn(strings.NewReader(faulty), "walk", "-")
	require.Zero(t, code)
	require.Contains(t, out, `1 /2 /b3 \2 | \4 \3 \2 \1 | 1 /3,/5 \3 \1 |`)
	require.NotContains(t, out, ". . . .")
}

func TestWalkJudges(t *testing.T) {
	out, _, code := runOn(strings.NewReader(faulty), "walk", "-", "--judge", "--json")
	require.Zero(t, code)
	var remarks []remarked
	require.NoError(t, json.Unmarshal([]byte(out), &remarks))
	found := false
	for _, r := range remarks {
		if r.Rule == "arrival" {
			found = true
			require.True(t, r.Grave)
			require.Equal(t, 2, r.Bar)
			require.Len(t, strings.Fields(r.Better), 4)
			require.NotEmpty(t, r.Source)
			require.Equal(t, 5, r.Grade)
			require.Greater(t, *r.BetterGrade, r.Grade)
		}
	}
	require.True(t, found)

	out, _, code = runOn(strings.NewReader(faulty), "walk", "-", "--judge")
	require.Zero(t, code)
	require.Contains(t, out, "bar 2, section A bar 2, grade 5\n  fault  beat 1: G7 comes in over its 4")
	require.Contains(t, out, "better: ")
	require.Contains(t, out, "where the rules come from")

	out, _, _ = runOn(strings.NewReader("tune x\nkey C\nmeter 4/4\ntempo 90\n\n[A]\nchords | C |\n"), "walk", "-", "--judge")
	require.Contains(t, out, "no remarks")
}

func TestWalkRefuses(t *testing.T) {
	for _, args := range [][]string{
		{"walk"}, {"walk", "no-such-tune"}, {"walk", "tin-kettle-blues", "--style", "stride"},
		{"walk", "tin-kettle-blues", "--seed", "x"}, {"walk", "tin-kettle-blues", "--key", "H"},
	} {
		_, errs, code := runOn(nil, args...)
		require.Equal(t, ExitBadInput, code, "%q: %s", args, errs)
	}
	_, _, code := runOn(strings.NewReader("tune x\nkey C\nmeter 4/4\ntempo 90\n\n[A]\nchords | N.C. |\n"), "walk", "-")
	require.Equal(t, ExitBadInput, code)
}

func TestWalkFromABar(t *testing.T) {
	kept, _, code := runOn(nil, "tune", "format", "tin-kettle-blues")
	require.Zero(t, code)
	row := func(text, section string) string {
		_, text, _ = strings.Cut(text, "["+section+"]\n")
		_, text, _ = strings.Cut(text, "bass ")
		text, _, _ = strings.Cut(text, "\n")
		return strings.Join(strings.Fields(text), " ")
	}
	for _, from := range []string{"B", "B1", "5"} {
		out, _, code := runOn(nil, "walk", "tin-kettle-blues", "--from", from)
		require.Zero(t, code, from)
		require.Equal(t, row(kept, "A"), row(out, "A"), from)
		require.NotEqual(t, row(kept, "B"), row(out, "B"), from)
	}
	// The bars that another tune gives are kept, the others composed.
	text, _, _ := runOn(nil, "tune", "format", "tin-kettle-blues")
	given := filepath.Join(t.TempDir(), "given.tune")
	require.NoError(t, os.WriteFile(given, []byte(strings.Replace(text, `\1 /3 /5 /b6`, `. . . .`, 1)), 0o600))
	out, _, code := runOn(nil, "walk", "tin-kettle-blues", "--from", given)
	require.Zero(t, code)
	require.Equal(t, row(kept, "B"), row(out, "B"))
	require.NotEqual(t, row(kept, "A"), row(out, "A"))
	require.Contains(t, row(out, "A"), `1 /3 /5 \#4`)

	for _, from := range []string{"99", "Z", "lantern-street"} {
		_, errs, code := runOn(nil, "walk", "tin-kettle-blues", "--from", from)
		require.Equal(t, ExitBadInput, code)
		require.Contains(t, errs, from)
	}
}
