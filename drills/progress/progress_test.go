package progress_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
)

func day(t testing.TB, s string) memory.Day {
	t.Helper()
	d, err := memory.ParseDay(s)
	require.NoError(t, err)
	return d
}

func record(t testing.TB) progress.Record {
	r := progress.Record{Today: day(t, "2026-11-25"), Spent: map[memory.Day]time.Duration{}, States: map[memory.Item]memory.State{},
		Counts: progress.Counts{Days: progress.Counted[progress.DayWay]{}, Degrees: progress.Counted[progress.DegreeCell]{}, Places: progress.Counted[fretboard.Place]{}}}
	add := func(date string, way memory.Way, quality, degree string, place fretboard.Place, took time.Duration, n, slow int) {
		d := day(t, date)
		tally := progress.Tally{Asked: n, Slow: slow, Missed: n}
		if took > 0 {
			tally.Missed, tally.Times = 0, []progress.Timed{{Took: took, N: n}}
		}
		c := r.Counts
		dayWay, cell := progress.DayWay{Day: d, Way: way}, progress.DegreeCell{Kind: memory.Find, Quality: quality, Degree: degree}
		c.Days[dayWay] = c.Days[dayWay].Plus(tally)
		c.Degrees[cell] = c.Degrees[cell].Plus(tally)
		c.Places[place] = c.Places[place].Plus(tally)
		r.Spent[d] += 10 * time.Minute
	}
	five := fretboard.Place{String: 5, Fret: 3}
	six := fretboard.Place{String: 6, Fret: 0}
	add("2026-10-31", memory.Typed, "m7", "b3", five, 2*time.Second, 3, 0)
	add("2026-11-23", memory.Typed, "m7", "b3", five, 0, 2, 0)
	add("2026-11-23", memory.Typed, "7", "b7", six, 4*time.Second, 5, 5)
	add("2026-11-24", memory.MIDI, "7", "1", six, time.Second, 5, 0)
	passage := memory.Item{Kind: memory.Passage, Tune: "lantern-street", Section: "A", Layer: "bass"}
	r.Takes = []progress.Take{
		{Item: passage, Day: day(t, "2026-11-23"), Tempo: 80, Judged: true, Clean: true, Matched: 10, Mean: -10 * time.Millisecond},
		{Item: passage, Day: day(t, "2026-11-24"), Tempo: 88, Matched: 10, Mean: 10 * time.Millisecond},
	}
	r.States[passage] = memory.State{}.After(day(t, "2026-11-24"), memory.Good)
	return r
}

func TestReview(t *testing.T) {
	v := progress.Look(record(t))
	assert.Equal(t, 15, v.Asked)
	assert.Equal(t, 13, v.Right)
	require.Len(t, v.Days, 3)
	require.Len(t, v.Weeks, 2)
	require.Len(t, v.Months, 2)
	assert.Equal(t, "2026-11-23", v.Weeks[1].Span, "a Monday")
	assert.Equal(t, "2026-10-26", v.Weeks[0].Span)
	assert.Equal(t, "2026-11", v.Months[1].Span)
	assert.Equal(t, 30.0, v.Weeks[1].Minutes)
	assert.Equal(t, 5, v.Days[1].Right)
	assert.InDelta(t, 5.0/7, *v.Days[1].Share, 0.001)
	assert.Equal(t, int64(4000), *v.Days[1].MedianMS)
	assert.Equal(t, []progress.TimeRow{
		{Week: "2026-11-23", Way: "midi", Right: 5, LowMS: 1000, MedianMS: 1000, HighMS: 1000},
		{Week: "2026-10-26", Way: "typed", Right: 3, LowMS: 2000, MedianMS: 2000, HighMS: 2000},
		{Week: "2026-11-23", Way: "typed", Right: 5, LowMS: 4000, MedianMS: 4000, HighMS: 4000},
	}, v.Times)
	assert.Equal(t, []progress.TempoRow{{Tune: "lantern-street", Section: "A", Layer: "bass", Week: "2026-11-23", Passes: 2, Unjudged: 1, Clean: 80, Played: 88}}, v.Tempos)
	assert.Equal(t, []progress.OffsetRow{{Week: "2026-11-23", Notes: 20, MeanMS: 0, SpreadMS: 10}}, v.Offsets,
		"steady passes either side of the beat spread about it")
	assert.Equal(t, progress.DueRow{Day: "2026-11-26", Items: 1}, v.Due[1])
	assert.Equal(t, []progress.ItemsRow{{Kind: "passage", Items: 1, Known: 1}}, v.Items)
}

// A week is told in a line, and one without practice too.
func TestWeek(t *testing.T) {
	r := record(t)
	v := progress.Look(r)
	assert.Equal(t, "This week: 3 days, 40 minutes, 13 right of 15, 2 passes played.", v.Week())
	assert.Equal(t, "Nothing practiced this week yet.", progress.Look(progress.Record{Today: r.Today}).Week())
	assert.Equal(t, "2026-11-23", progress.Monday(day(t, "2026-11-29")).String(), "a Sunday is the week's last day (ISO 8601)")
	assert.Equal(t, "2026-11-30", progress.Monday(day(t, "2026-11-30")).String())
}

// A week's tempos are the fastest, whichever came last; what should have been
// asked before today is due today, what is far off is not told.
func TestTemposAndDue(t *testing.T) {
	today := day(t, "2026-11-25")
	passage := memory.Item{Kind: memory.Passage, Tune: "short-ladder", Section: "B", Layer: "bass"}
	r := progress.Record{Today: today, Since: today - 7, States: map[memory.Item]memory.State{
		{Kind: memory.Spell, Degree: "3", Root: "C"}: {Stability: 2, Difficulty: 5, Last: today - 30, Asked: 1},
		{Kind: memory.Spell, Degree: "3", Root: "D"}: {Stability: 3, Difficulty: 5, Last: today - 4, Asked: 1},
		{Kind: memory.Spell, Degree: "3", Root: "E"}: {Stability: 15, Difficulty: 5, Last: today - 2, Asked: 1},
		{Kind: memory.Spell, Degree: "3", Root: "F"}: {Stability: 90, Difficulty: 5, Last: today, Asked: 1},
	}}
	for _, take := range []struct {
		day   memory.Day
		tempo float64
		clean bool
	}{{today - 8, 140, true}, {today - 1, 100, true}, {today - 1, 112, false}, {today, 96, false}, {today, 92, true}} {
		r.Takes = append(r.Takes, progress.Take{Item: passage, Day: take.day, Tempo: take.tempo, Judged: true, Clean: take.clean})
	}
	v := progress.Look(r)
	assert.Equal(t, []progress.TempoRow{{Tune: "short-ladder", Section: "B", Layer: "bass", Week: "2026-11-23", Passes: 4, Clean: 100, Played: 112}}, v.Tempos)
	require.Len(t, v.Due, 14)
	assert.Equal(t, progress.DueRow{Day: "2026-11-25", Items: 2}, v.Due[0])
	assert.Equal(t, progress.DueRow{Day: "2026-12-08", Items: 1}, v.Due[13])
	assert.Equal(t, []progress.ItemsRow{{Kind: "spell", Items: 4, Known: 2}}, v.Items)
	assert.Empty(t, v.Offsets, "no note was matched")
}

func TestTables(t *testing.T) {
	tables := progress.Look(record(t)).Tables()
	byName := map[string]progress.Table{}
	for _, table := range tables {
		byName[table.Name] = table
		for _, row := range table.Rows {
			require.Len(t, row, len(table.Columns), table.Name)
		}
	}
	assert.Equal(t, []string{"chord", "1", "b3", "b7"}, byName["degrees"].Columns)
	assert.Equal(t, [][]string{{"7", "5 of 5", ".", "5 of 5"}, {"m7", ".", "3 of 5", "."}}, byName["degrees"].Rows)
	assert.Equal(t, []string{"string", "0", "1", "2", "3"}, byName["misses"].Columns)
	assert.Equal(t, [][]string{{"5", ".", ".", ".", "2 of 5"}, {"6", "0 of 10", ".", ".", "."}}, byName["misses"].Rows)
	assert.Equal(t, [][]string{{"5", ".", ".", ".", "2.0"}, {"6", "1.0", ".", ".", "."}}, byName["speed"].Rows)
	assert.Equal(t, [][]string{{"2026-11-23", "20", "+0.0", "10.0"}}, byName["offsets"].Rows)
	assert.Empty(t, progress.Look(progress.Record{}).Tables(), "nothing practiced, no tables")
}

// A tally's quantile is that of the sorted list of times.
func TestQuantile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		times := rapid.SliceOfN(rapid.IntRange(1, 9), 1, 40).Draw(t, "times")
		var tally progress.Tally
		counts := [10]int{}
		for _, x := range times {
			tally = tally.Plus(progress.Tally{Asked: 1, Times: []progress.Timed{{Took: time.Duration(x), N: 1}}})
			counts[x]++
		}
		q := rapid.Float64Range(0.01, 1).Draw(t, "q")
		seen, want := 0, 0
		for x, n := range counts {
			if seen += n; want == 0 && float64(seen) >= q*float64(len(times)) {
				want = x
			}
		}
		require.Equal(t, time.Duration(want), tally.Quantile(q))
	})
}
