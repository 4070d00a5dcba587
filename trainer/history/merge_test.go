package history_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/history"
)

func exported(t testing.TB, s *history.Store) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, s.ExportJSON(ctx, &b))
	return b.String()
}

// fill brings a history of many answers into a file by import, which is faster
// than appending them.
func fill(t testing.TB, s *history.Store, seed uint64, answers int) {
	t.Helper()
	require.NoError(t, importGenerated(s, newPlayer(seed), answers))
}

func TestTwoHistoriesMergeBothWays(t *testing.T) {
	racetest.Alone(t)
	answers := 50_000
	if testing.Short() {
		answers = 2_000
	}
	dir := t.TempDir()
	// All that is filled in lies before the clock of both: what is ahead of it counts apart.
	later := &clock{now: start.AddDate(5, 0, 0)}
	opened := func(name string) *history.Store {
		s, err := history.Open(filepath.Join(dir, name, "h.db"), later.Now, nil)
		require.NoError(t, err)
		t.Cleanup(func() { s.Close() })
		return s
	}
	a, b := opened("a"), opened("b")
	fill(t, a, 1, answers)
	fill(t, b, 2, answers)
	ofA, ofB := exported(t, a), exported(t, b)

	merged, err := a.Import(ctx, strings.NewReader(ofB))
	require.NoError(t, err)
	assert.Equal(t, history.Merged{Sittings: 1, Answers: answers, Takes: 20}, merged)
	_, err = b.Import(ctx, strings.NewReader(ofA))
	require.NoError(t, err)
	both := exported(t, a)
	require.True(t, both == exported(t, b), "merged either way the histories are the same")
	require.Equal(t, derived(t, a), derived(t, b))

	merged, err = a.Import(ctx, strings.NewReader(ofB))
	require.NoError(t, err)
	assert.Zero(t, merged, "merging twice brings nothing")
	require.True(t, both == exported(t, a))
	require.Equal(t, derived(t, b), derived(t, a))
}

func TestSmallMergeDerivesOneByOne(t *testing.T) {
	racetest.Alone(t)
	a, b := open(t, place(t)), open(t, place(t))
	newPlayer(1).play(t, a, 300)
	newPlayer(2).play(t, b, 80)
	_, err := a.Import(ctx, strings.NewReader(exported(t, b)))
	require.NoError(t, err)
	checked, err := a.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, history.Checked{Sittings: 2, Answers: 380, Faults: []string{}}, checked)
}

func TestHistoryFileAndTableAreImported(t *testing.T) {
	racetest.Alone(t)
	path := place(t)
	from := open(t, path)
	newPlayer(5).play(t, from, 150)
	var table bytes.Buffer
	require.NoError(t, from.ExportCSV(ctx, &table))
	want := exported(t, from)

	byTable := open(t, place(t))
	merged, err := byTable.Import(ctx, &table)
	require.NoError(t, err)
	assert.Equal(t, 150, merged.Answers)
	assert.Equal(t, want, exported(t, byTable))

	backup := filepath.Join(t.TempDir(), "backup.db")
	require.NoError(t, from.Backup(ctx, backup))
	info, err := os.Stat(backup)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.ErrorIs(t, from.Backup(ctx, backup), os.ErrExist, "a backup overwrites nothing")
	f, err := os.Open(backup)
	require.NoError(t, err)
	defer f.Close()
	byFile := open(t, place(t))
	_, err = byFile.Import(ctx, f)
	require.NoError(t, err)
	assert.Equal(t, want, exported(t, byFile))
	assert.Equal(t, derived(t, from), derived(t, byFile))
}

func TestImportTakesAllOrNothing(t *testing.T) {
	racetest.Alone(t)
	from := open(t, place(t))
	newPlayer(6).play(t, from, 3)
	good := exported(t, from)
	var table bytes.Buffer
	require.NoError(t, from.ExportCSV(ctx, &table))
	for _, c := range []struct{ name, text, says string }{
		{"empty", "", "a history is what"},
		{"prose", "dear diary", "a history is what"},
		{"cut", good[:len(good)-40], "unexpected EOF"},
		{"version", strings.Replace(good, `"version":1`, `"version":9`, 1), "this program reads 1"},
		{"item", strings.Replace(good, `"item":"`, `"item":":`, 1), "answer 1: item"},
		{"grade", strings.Replace(good, `"grade":`, `"grade":7`, 1), "answer 1: grade"},
		{"way", strings.Replace(good, `"way":"`, `"way":"by `, 1), "is no way of answering"},
		{"sitting", strings.Replace(good, `"sitting":"`, `"sitting":"0`, 1), "answer 1"},
		{"field", strings.Replace(good, `"answers"`, `"replies"`, 1), `found "replies"`},
		{"table", strings.Replace(table.String(), ",typed,", ",typd,", 1), "line "},
		{"short row", table.String() + "x,y\n", "wrong number of fields"},
		{"not a history", "SQLite format 3\x00 and then no more", "the file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := open(t, place(t))
			_, err := s.Import(ctx, strings.NewReader(c.text))
			var fault *history.ImportError
			require.ErrorAs(t, err, &fault)
			assert.ErrorContains(t, err, c.says)
			assert.Empty(t, allAnswers(t, s))
			var sittings int
			require.NoError(t, s.Sittings(ctx, func(history.Sitting) error { sittings++; return nil }))
			assert.Zero(t, sittings)
		})
	}
}

// The lists of an export may stand in any order (RFC 8259: an object's members have none).
func TestAnExportIsReadInAnyOrder(t *testing.T) {
	from := open(t, place(t))
	newPlayer(6).play(t, from, 30)
	fill(t, from, 7, 40)
	require.NoError(t, from.KeepPlan(ctx, history.Plan{Day: 20_000, At: time.UnixMilli(1_730_000_000_000), Text: json.RawMessage(`{}`)}))
	want := exported(t, from)
	var lists map[string]json.RawMessage
	require.NoError(t, json.Unmarshal([]byte(want), &lists))
	inOrder := func(names ...string) string {
		var b strings.Builder
		for i, name := range names {
			b.WriteString([]string{"{", ","}[min(i, 1)])
			fmt.Fprintf(&b, "%q:%s", name, lists[name])
		}
		return b.String() + "}"
	}
	backward := inOrder("plans", "takes", "answers", "sittings", "version")
	s := open(t, place(t))
	merged, err := s.Import(ctx, strings.NewReader(backward))
	require.NoError(t, err)
	assert.Equal(t, history.Merged{Sittings: 2, Answers: 70, Takes: 20}, merged)
	assert.Equal(t, want, exported(t, s))
	assert.Equal(t, derived(t, from), derived(t, s))
	merged, err = s.Import(ctx, strings.NewReader(backward))
	require.NoError(t, err)
	assert.Zero(t, merged, "all of it is there")
	assert.Equal(t, want, exported(t, s))

	// Sittings that never come, whether they are there from before or not.
	for name, to := range map[string]*history.Store{"new": open(t, place(t)), "the same": s} {
		before := exported(t, to)
		_, err = to.Import(ctx, strings.NewReader(inOrder("answers", "takes")))
		var fault *history.ImportError
		require.ErrorAs(t, err, &fault, name)
		assert.ErrorContains(t, err, "it is not there, and something was done in it", name)
		assert.Equal(t, before, exported(t, to), name)
	}
}

// What cannot be written as a date (RFC 3339: years of four digits) is not taken in.
func TestYearsThatAreNone(t *testing.T) {
	path := place(t)
	from := open(t, path)
	newPlayer(6).play(t, from, 3)
	good := exported(t, from)
	for _, field := range []string{"began", "last", "at"} {
		for _, moment := range []string{"0000-06-01T00:00:00.000Z", "0001-01-01T00:00:00.000+14:00", "9999-12-31T23:00:00.000-14:00"} {
			s := open(t, place(t))
			_, err := s.Import(ctx, strings.NewReader(regexp.MustCompile(`"`+field+`":"[^"]*"`).ReplaceAllString(good, `"`+field+`":"`+moment+`"`)))
			var fault *history.ImportError
			require.ErrorAs(t, err, &fault, "%s %s", field, moment)
			assert.ErrorContains(t, err, "write 1 to 9999")
		}
	}
	require.NoError(t, from.Close())
	spoil(t, path, `UPDATE answers SET at = at * 100000`)
	_, err := open(t, place(t)).ImportFile(ctx, path)
	var fault *history.ImportError
	require.ErrorAs(t, err, &fault)
	assert.ErrorContains(t, err, "write 1 to 9999")
}

func TestCheckMendsWhatDoesNotFollow(t *testing.T) {
	path := place(t)
	s := open(t, path)
	newPlayer(8).play(t, s, 60)
	want := derived(t, s)
	spoil(t, path, `UPDATE item_states SET stability = 9999`)
	spoiled := derived(t, s)
	for range 2 {
		checked, err := s.Check(ctx)
		require.NoError(t, err)
		assert.Len(t, checked.Faults, 1)
		assert.Equal(t, spoiled, derived(t, s), "a check changes nothing")
	}
	require.NoError(t, s.Close())
	checked, aside, err := history.Repair(ctx, path, nil)
	require.NoError(t, err)
	assert.Empty(t, aside)
	assert.True(t, checked.Rebuilt)
	assert.Empty(t, checked.Faults)
	assert.Equal(t, want, derived(t, open(t, path)))
}

func TestCountsSinceADay(t *testing.T) {
	racetest.Alone(t)
	s := open(t, place(t))
	fill(t, s, 9, 3000)
	all := allAnswers(t, s)
	for _, since := range []memory.Day{0, memory.DayOf(all[0].At), memory.DayOf(all[700].At), memory.DayOf(all[2500].At), memory.DayOf(all[2999].At) + 1} {
		counts, err := s.Counts(ctx, since)
		require.NoError(t, err)
		asked, missed, onNeck, ofDegree := 0, 0, 0, 0
		for _, a := range all {
			if memory.DayOf(a.At) < since {
				continue
			}
			asked++
			if a.Verdict == memory.Missed {
				missed++
			}
			if a.Place.String > 0 {
				onNeck++
			}
			if a.Item.Degree != "" {
				ofDegree++
			}
		}
		gotAsked, gotMissed := 0, 0
		for _, n := range counts.Days {
			gotAsked += n.Asked
			gotMissed += n.Missed
		}
		assert.Equal(t, []int{asked, missed}, []int{gotAsked, gotMissed}, "since %s", since)
		gotAsked = 0
		for _, n := range counts.Degrees {
			gotAsked += n.Asked
		}
		assert.Equal(t, ofDegree, gotAsked, "degrees since %s", since)
		gotAsked = 0
		for _, n := range counts.Places {
			gotAsked += n.Asked
		}
		assert.Equal(t, onNeck, gotAsked, "places since %s", since)
	}
}
