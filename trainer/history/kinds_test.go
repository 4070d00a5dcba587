package history_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/history"
)

// An item of a kind to come is kept by its text, and comes in and goes out as it is.
func TestKindsToComeAreKept(t *testing.T) {
	racetest.Alone(t)
	from := open(t, place(t))
	newPlayer(3).play(t, from, 40)
	text := exported(t, from)
	parts := strings.SplitN(text, `"item":"find:`, 5)
	text = parts[0]
	for i, key := range []string{"groove:swing:2:1", "find:m7:b7:D:77", "find:nonsense", `Ünknown:\"quoted\" %25 facts`} {
		text += `"item":"` + key + `" ,"was":"` + parts[i+1]
	}
	path := place(t)
	s := open(t, path)
	_, err := s.Import(ctx, strings.NewReader(text))
	require.NoError(t, err)
	whole := exported(t, s)
	require.Contains(t, whole, `"item":"groove:swing:2:1"`)
	require.Contains(t, whole, `"item":"Ünknown:\"quoted\" %25 facts"`)
	checked, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, history.Checked{Sittings: 1, Answers: 40, UnknownItems: 4, UnknownAnswers: 4, Faults: []string{}}, checked)
	states, err := s.States(ctx)
	require.NoError(t, err)
	for it := range states {
		assert.True(t, it.Known(), "%v", it)
	}
	counts, err := s.Counts(ctx, 0)
	require.NoError(t, err)
	asked := 0
	for _, day := range counts.Days {
		asked += day.Asked
	}
	assert.Equal(t, 40, asked, "they are counted")

	// Practice goes on, and the history moves on, by each way.
	newPlayer(4).play(t, s, 10)
	whole = exported(t, s)
	var table bytes.Buffer
	require.NoError(t, s.ExportCSV(ctx, &table))
	require.NoError(t, s.Close())
	for name, take := range map[string]func(*history.Store) (history.Merged, error){
		"json": func(s *history.Store) (history.Merged, error) { return s.Import(ctx, strings.NewReader(whole)) },
		"csv":  func(s *history.Store) (history.Merged, error) { return s.Import(ctx, bytes.NewReader(table.Bytes())) },
		"file": func(s *history.Store) (history.Merged, error) { return s.ImportFile(ctx, path) },
	} {
		to := open(t, place(t))
		merged, err := take(to)
		require.NoError(t, err, name)
		assert.Equal(t, 50, merged.Answers)
		assert.Equal(t, whole, exported(t, to), name)
	}
}

// A release that knows a kind which the one before did not works its items out anew.
func TestAKindThatIsLearnedIsWorkedOut(t *testing.T) {
	path := place(t)
	s := open(t, path)
	newPlayer(3).play(t, s, 60)
	want := derived(t, s)
	require.NoError(t, s.Close())
	spoil(t, path, `UPDATE items SET grp = ''; DELETE FROM paces; DELETE FROM degree_tallies`)
	assert.Equal(t, want, derived(t, open(t, path)))
}

// A spreadsheet may not take what was kept for a formula, and nothing is lost by that.
func TestTablesHoldNoFormulas(t *testing.T) {
	s := open(t, place(t))
	sit, err := s.Begin(ctx, history.Sitting{Began: start, Drill: "find", Tune: "=HYPERLINK(1)"})
	require.NoError(t, err)
	given := []string{"=1+1", "+1", "-1", "@x", "\tx", "\rx", "'=x", "''", "'x", "x=1", ""}
	for i, g := range given {
		_, err := s.Append(ctx, history.Answer{Sitting: sit.ID, At: start.Add(time.Duration(i) * time.Second), Given: g,
			Item: memory.Item{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: "D", String: 5}})
		require.NoError(t, err)
	}
	var table bytes.Buffer
	require.NoError(t, s.ExportCSV(ctx, &table))
	rows, err := csv.NewReader(bytes.NewReader(table.Bytes())).ReadAll()
	require.NoError(t, err)
	for _, row := range rows {
		for _, cell := range row {
			assert.False(t, cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])), "%q", cell)
		}
	}
	to := open(t, place(t))
	_, err = to.Import(ctx, &table)
	require.NoError(t, err)
	assert.Equal(t, exported(t, s), exported(t, to))
}

// Three passes without a verdict are there with their minutes; one is judged later.
func TestPassesAreKeptWithoutAVerdict(t *testing.T) {
	path := place(t)
	s := open(t, path)
	sit, err := s.Begin(ctx, history.Sitting{Began: start, Drill: "play", Tune: "lantern-street"})
	require.NoError(t, err)
	passage := memory.Item{Kind: memory.Passage, Tune: "lantern-street", Section: "A", Layer: "bass"}
	var kept []history.Take
	for i := range 3 {
		p, err := s.AppendTake(ctx, history.Take{Sitting: sit.ID, At: start.Add(time.Duration(i) * 2 * time.Minute), Item: passage, Tempo: 84, Length: 2 * time.Minute})
		require.NoError(t, err)
		assert.Zero(t, p.Grade)
		kept = append(kept, p)
	}
	day := memory.DayOf(start)
	r, err := s.Look(ctx, day, day)
	require.NoError(t, err)
	require.Len(t, r.Takes, 3)
	assert.Equal(t, 2*time.Minute, r.Takes[0].Length)
	assert.Equal(t, 6*time.Minute, r.Spent[day])
	states, err := s.States(ctx)
	require.NoError(t, err)
	assert.Empty(t, states, "nobody has said anything of the passage")
	checked, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, history.Checked{Sittings: 1, Takes: 3, Unjudged: 3, Faults: []string{}}, checked)
	last, err := s.LastTakes(ctx)
	require.NoError(t, err)
	assert.Equal(t, kept[2].ID, last[passage].ID)
	assert.False(t, last[passage].Judged)

	elsewhere := open(t, place(t))
	_, err = elsewhere.Import(ctx, strings.NewReader(exported(t, s)))
	require.NoError(t, err)
	require.Equal(t, exported(t, s), exported(t, elsewhere))

	require.NoError(t, s.JudgePass(ctx, kept[1].ID, true, 0, "60:120+4 at 88"))
	require.ErrorContains(t, s.JudgePass(ctx, sit.ID, true, 0, ""), "is not in the history")
	states, err = s.States(ctx)
	require.NoError(t, err)
	assert.Equal(t, 1, states[passage].Asked)
	require.NoError(t, elsewhere.JudgePass(ctx, kept[2].ID, false, 3, ""))
	// Each gives the other its verdict.
	of, ofElsewhere := exported(t, s), exported(t, elsewhere)
	_, err = elsewhere.Import(ctx, strings.NewReader(of))
	require.NoError(t, err)
	_, err = s.Import(ctx, strings.NewReader(ofElsewhere))
	require.NoError(t, err)
	assert.Equal(t, exported(t, s), exported(t, elsewhere))
	assert.Equal(t, derived(t, s), derived(t, elsewhere))
	checked, err = s.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, history.Checked{Sittings: 1, Takes: 3, Unjudged: 1, Faults: []string{}}, checked)

	// The bar that held a pass back is counted among those with a word, and another word takes
	// its place.
	for _, h := range []*history.Store{s, elsewhere} {
		r, err := h.Look(ctx, day, day)
		require.NoError(t, err)
		assert.Equal(t, []progress.BarRow{{Tune: passage.Tune, Bar: 3, Named: 1, Passes: 2}}, r.Bars)
	}
	require.NoError(t, s.JudgePass(ctx, kept[0].ID, false, 5, ""))
	require.NoError(t, s.JudgePass(ctx, kept[0].ID, false, 3, ""))
	require.NoError(t, s.JudgePass(ctx, kept[2].ID, true, 0, ""))
	r, err = s.Look(ctx, day, day)
	require.NoError(t, err)
	assert.Equal(t, []progress.BarRow{{Tune: passage.Tune, Bar: 3, Named: 1, Passes: 3}}, r.Bars)
}

// A clock that once was wrong is told, and hides neither items nor times nor tunes.
func TestAClockOnceWrongHidesNothing(t *testing.T) {
	path := place(t)
	c := &clock{}
	var s *history.Store
	reopen := func(now time.Time) {
		t.Helper()
		if s != nil {
			require.NoError(t, s.Close())
		}
		c.now = now
		var err error
		s, err = history.Open(path, c.Now, nil)
		require.NoError(t, err)
		checked, err := s.Check(ctx)
		require.NoError(t, err)
		assert.Empty(t, checked.Faults)
	}
	defer func() { s.Close() }()
	items := []memory.Item{
		{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: "D", String: 5},
		{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: "D", String: 6},
	}
	practise := func(tune string, items ...memory.Item) {
		t.Helper()
		sit, err := s.Begin(ctx, history.Sitting{Tune: tune})
		require.NoError(t, err)
		for i := range 12 {
			c.Move(time.Minute)
			_, err := s.Append(ctx, history.Answer{Sitting: sit.ID, Item: items[i%len(items)], Took: time.Duration(c.Now().Year()-2025) * time.Second})
			require.NoError(t, err)
		}
		_, err = s.AppendTake(ctx, history.Take{Sitting: sit.ID, Tempo: float64(c.Now().Year()), Judged: true,
			Item: memory.Item{Kind: memory.Passage, Tune: tune}})
		require.NoError(t, err)
	}
	states := func() map[memory.Item]memory.State {
		t.Helper()
		states, err := s.States(ctx)
		require.NoError(t, err)
		return states
	}
	reopen(start)
	practise("lantern-street", items[0])
	reopen(start.AddDate(6, 0, 0))
	practise("lantern-street", items...)
	practise("short-ladder", items...)
	ahead, aheadDerived := exported(t, s), derived(t, s)
	now := start.AddDate(0, 0, 2)
	today := memory.DayOf(now)
	reopen(now)
	checked, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, 26, checked.Ahead)
	assert.Equal(t, "2032-03-02", checked.LatestAhead)
	assert.Equal(t, ahead, exported(t, s), "it stays as it was kept")
	assert.Equal(t, []int{24, 12}, []int{states()[items[0]].Asked, states()[items[1]].Asked})
	assert.Equal(t, []memory.Day{today - 2, today}, []memory.Day{states()[items[0]].Last, states()[items[1]].Last})
	assert.Less(t, states()[items[1]].Due(), today+30)
	pace, err := s.Pace(ctx, 0, string(memory.Find))
	require.NoError(t, err)
	assert.Equal(t, time.Second, pace.Times[len(pace.Times)-1])
	takes, err := s.LastTakes(ctx)
	require.NoError(t, err)
	assert.Equal(t, 2026.0, takes[memory.Item{Kind: memory.Passage, Tune: "lantern-street"}].Tempo)
	assert.Equal(t, 2032.0, takes[memory.Item{Kind: memory.Passage, Tune: "short-ladder"}].Tempo, "there is no other")

	reopen(start.AddDate(0, 1, 0))
	practise("short-ladder", items[1])
	assert.Equal(t, memory.DayOf(start.AddDate(0, 1, 0)), states()[items[1]].Last)
	tunes, err := s.TunesInWork(ctx, start)
	require.NoError(t, err)
	assert.Equal(t, []string{"short-ladder", "lantern-street"}, tunes)
	// Another machine's clock may have been wrong as well.
	c.now = now
	to, err := history.Open(place(t), c.Now, nil)
	require.NoError(t, err)
	defer to.Close()
	_, err = to.Import(ctx, strings.NewReader(ahead))
	require.NoError(t, err)
	there, err := to.States(ctx)
	require.NoError(t, err)
	assert.Equal(t, today-2, there[items[0]].Last)

	// A clock that goes behind takes nothing for good.
	path, s = place(t), nil
	reopen(start.AddDate(7, 0, 0))
	_, err = s.Import(ctx, strings.NewReader(ahead))
	require.NoError(t, err)
	require.Equal(t, aheadDerived, derived(t, s))
	reopen(start.AddDate(-20, 0, 0))
	assert.NotEqual(t, aheadDerived, derived(t, s))
	reopen(start.AddDate(7, 0, 0))
	assert.Equal(t, aheadDerived, derived(t, s))
}
