package progress_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/progress"
)

// A report counts what lies in its days alone; what was firm before them did not become so,
// and the fastest clean pass before stands beside that of the week.
func TestAWeekForATeacher(t *testing.T) {
	const day = memory.Day(20800)
	find := memory.Item{Kind: memory.Find, Quality: "7", Degree: "3", Root: "G", String: 5}
	spell := memory.Item{Kind: memory.Spell, Degree: "3", Root: "C"}
	passage := memory.Item{Kind: memory.Passage, Tune: "key-ring", Section: "A", Layer: "bass"}
	other := memory.Item{Kind: memory.Passage, Tune: "short-ladder", Layer: "bass"}
	firm := memory.State{Stability: 40, Days: 4, Asked: 9, First: day - 30, Last: day}
	take := func(it memory.Item, d memory.Day, tempo float64, clean bool) progress.Take {
		return progress.Take{Item: it, Day: d, Tempo: tempo, Length: time.Minute, Judged: true, Clean: clean}
	}
	r := progress.Record{
		Today: day, Spent: map[memory.Day]time.Duration{day: 10 * time.Minute, day - 1: 5 * time.Minute, day - 9: time.Hour},
		States: map[memory.Item]memory.State{find: firm, spell: firm, {Kind: memory.Spell, Degree: "5", Root: "C"}: {Stability: 1, Asked: 1, First: day, Last: day, Days: 1}},
		Takes: []progress.Take{take(passage, day-9, 80, true), take(passage, day-9, 88, false), take(passage, day, 84, true), take(passage, day, 92, false),
			take(other, day-9, 60, true)},
	}
	r.Counts.Days = progress.Counted[progress.DayWay]{}
	for d, missed := range map[memory.Day]int{day: 1, day - 9: 0} {
		tally := progress.Tally{Asked: 4, Missed: missed}
		r.Counts.Days[progress.DayWay{Day: d, Way: memory.Lines}] = tally
	}
	w := progress.WeekOf(r, day-6, map[memory.Item]memory.State{spell: firm}, []progress.BarRow{
		{Tune: "key-ring", Bar: 1, Asked: 8, Missed: 2}, {Tune: "key-ring", Bar: 2, Asked: 8, Missed: 4}, {Tune: "key-ring", Bar: 3, Asked: 8},
	})
	require.NoError(t, w.Check())
	assert.Len(t, w.Days, 7)
	assert.Equal(t, 15.0, w.Minutes)
	assert.Equal(t, [5]int{4, 3, 2, 1, 2}, [5]int{w.Asked, w.Right, w.Passes, w.Clean, w.Practiced})
	assert.Equal(t, []string{find.Key()}, w.Firm)
	assert.Equal(t, []string{find.Text()}, w.FirmNames())
	named := find
	named.Kind = memory.Name
	assert.Equal(t, []string{find.Text()}, progress.Week{Firm: []string{find.Key(), named.Key()}}.FirmNames(), "found and named, in the same words")
	assert.Equal(t, progress.Kept{Learning: 1, Firm: 2}, w.Kept)
	assert.Equal(t, []progress.WeekTempo{{Tune: "key-ring", Title: "key-ring", Section: "A", Layer: "bass", Passes: 2, Before: 80, Clean: 84}}, w.Tempos)
	assert.Equal(t, []int{2, 1}, []int{w.Bars[0].Bar, w.Bars[1].Bar}, "the worst first, and none that was right")
	assert.Len(t, w.Bars, 2)
	assert.Equal(t, "75 %", w.Share())
	best, ok := w.Best()
	assert.True(t, ok)
	assert.Equal(t, "key-ring section A, bass", best.Says())
	_, ok = progress.Week{}.Best()
	assert.False(t, ok)
	assert.Equal(t, "-", progress.Week{}.Share())
	assert.Equal(t, []progress.WeekBar{}, progress.WeekOf(progress.Record{Today: day}, day, nil, nil).Bars)
}

// A report from elsewhere that cannot be is told.
func TestAWeekThatCannotBe(t *testing.T) {
	good := progress.Week{Version: 1, Since: "2026-12-01", Until: "2026-12-07"}
	require.NoError(t, good.Check())
	for says, spoil := range map[string]func(*progress.Week){
		"of version 2":    func(w *progress.Week) { w.Version = 2 },
		"says no version": func(w *progress.Week) { w.Version = 0 },
		"are none":        func(w *progress.Week) { w.Until = "2026-11-30" },
		"its days":        func(w *progress.Week) { w.Since = "yesterday" },
		"NaN minutes":     func(w *progress.Week) { w.Minutes = math.NaN() },
		"more than there": func(w *progress.Week) { w.Right = 1 },
		"than a week":     func(w *progress.Week) { w.Firm = make([]string, 10_001) },
	} {
		w := good
		spoil(&w)
		assert.ErrorContains(t, w.Check(), says)
	}
}
