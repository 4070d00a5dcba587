package progress_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/harmony"
)

func find(quality, degree, root string, str int) memory.Item {
	return memory.Item{Kind: memory.Find, Quality: quality, Degree: degree, Root: root, String: str}
}

// Firm takes three weeks and three days, new is what the tunes ask and was never asked,
// and passages are no things to know.
func TestKept(t *testing.T) {
	firm := memory.State{Stability: 21, Difficulty: 5, Asked: 3, Days: 3}
	young, thin := firm, firm
	young.Days, thin.Stability = 2, 20.9
	r := progress.Record{Neck: fretboard.StandardNeck(), States: map[memory.Item]memory.State{
		find("m7", "b3", "D", 5): firm, find("m7", "b3", "D", 6): young, find("m7", "b3", "C", 5): thin,
		{Kind: memory.Passage, Tune: "x", Section: "A", Layer: "bass"}: firm,
	}, Pool: []memory.Item{find("m7", "b3", "D", 5), find("m7", "b3", "F", 5)}}
	v := progress.Look(r)
	assert.Equal(t, progress.Kept{New: 1, Learning: 2, Firm: 1}, v.Progress)
	assert.Equal(t, []progress.KeptRow{
		{Quality: "m7", Degree: "b3", Root: "C", Kept: progress.Kept{Learning: 1}},
		{Quality: "m7", Degree: "b3", Root: "D", Kept: progress.Kept{Learning: 1, Firm: 1}},
		{Quality: "m7", Degree: "b3", Root: "F", Kept: progress.Kept{New: 1}},
	}, v.Kept)
	// F, the b3 of D, is fret 8 of string 5 and frets 1 and 13 of string 6.
	assert.Contains(t, v.KeptPlaces, progress.KeptPlace{String: 5, Fret: 8, Kept: progress.Kept{Firm: 1}})
	assert.Contains(t, v.KeptPlaces, progress.KeptPlace{String: 6, Fret: 13, Kept: progress.Kept{Learning: 1}})
	for _, table := range v.Tables() {
		if table.Name == "kept" {
			assert.Equal(t, [][]string{{"m7, its b3", "0 of 1", ".", "1 of 2", ".", ".", ".", ".", ".", ".", ".", ".", "."}}, table.Rows)
		}
	}
}

// A passage that has risen by 2 BPM each day is there when that leads there; one that
// does not rise is not forecast; the slowest section is the tune's.
func TestForecast(t *testing.T) {
	today := day(t, "2026-11-25")
	clean := func(section string, back int, tempo float64) progress.Take {
		return progress.Take{Item: memory.Item{Kind: memory.Passage, Tune: "short-ladder", Section: section, Layer: "bass"},
			Day: today - memory.Day(back), Tempo: tempo, Judged: true, Clean: true}
	}
	r := progress.Record{Today: today, Tempos: map[string]float64{"short-ladder": 100}}
	for i := range 5 {
		r.Takes = append(r.Takes, clean("A", 4-i, float64(80+2*i)), clean("A", 4-i, 70))
	}
	one := progress.Look(r).Forecasts
	require.Len(t, one, 1)
	assert.Equal(t, 88.0, one[0].Reached)
	assert.Equal(t, 5, one[0].Days)
	require.NotNil(t, one[0].Likely)
	assert.Equal(t, []string{"2026-12-01", "2026-12-01", "2026-12-01"}, []string{*one[0].Likely, *one[0].Earliest, *one[0].Latest},
		"12 BPM at 2 a day, without a spread")
	assert.Contains(t, one[0].Says(), "clean at 88 of 100 BPM")

	for i, tempo := range []float64{70, 71, 75, 76, 80} {
		r.Takes = append(r.Takes, clean("B", 4-i, tempo))
	}
	both := progress.Look(r).Forecasts[0]
	assert.Equal(t, 80.0, both.Reached)
	// Least squares by hand: 2.5 BPM a day with a standard error of 0.3, 20 BPM left.
	assert.Equal(t, []string{"2026-12-03", "2026-12-03", "2026-12-05"}, []string{*both.Likely, *both.Earliest, *both.Latest})

	still := progress.Record{Today: today, Tempos: r.Tempos, Takes: []progress.Take{clean("A", 3, 80), clean("A", 2, 80), clean("A", 1, 80)}}
	assert.Nil(t, progress.Look(still).Forecasts[0].Likely)
	still.Takes = append(still.Takes, clean("A", 0, 100))
	assert.Contains(t, progress.Look(still).Forecasts[0].Says(), "at its tempo")
	two := progress.Record{Today: today, Tempos: r.Tempos, Takes: []progress.Take{clean("A", 3, 80), clean("A", 2, 90)}}
	assert.Nil(t, progress.Look(two).Forecasts[0].Likely, "two days tell nothing")
}

// The axis of time has the days on which nothing was practised.
func TestAxes(t *testing.T) {
	v := progress.Look(record(t))
	days, weeks, months := v.Axes()
	assert.Len(t, days, 26, "from 31 October to 25 November")
	assert.Len(t, weeks, 5)
	assert.Len(t, months, 2)
	asked := 0
	for _, d := range days {
		asked += d.Asked
	}
	assert.Equal(t, v.Asked, asked)
}

// A part is named as a player would: a degree in chords of a family, a stretch of a string.
func TestParts(t *testing.T) {
	r := record(t)
	r.Neck = fretboard.StandardNeck()
	r.States[find("7", "b7", "E", 6)] = memory.State{Stability: 21, Difficulty: 5, Asked: 3, Days: 3}
	v := progress.Look(r)
	says := map[string]progress.PartRow{}
	for _, p := range v.Parts {
		says[p.Says()] = p
	}
	require.Len(t, says, 5)
	assert.Equal(t, []int{5, 5}, []int{says["b7 of dominant chords"].Asked, says["b7 of dominant chords"].Right})
	assert.Equal(t, 1, says["b7 of dominant chords"].Firm)
	assert.Equal(t, int64(4000), *says["b7 of dominant chords"].MedianMS)
	assert.Equal(t, []int{5, 3}, []int{says["string 5, frets 2 to 5"].Asked, says["string 5, frets 2 to 5"].Right})
	assert.Equal(t, 10, says["string 6, frets 0 to 1"].Asked)
	assert.Equal(t, 0.6, *says["b3 of minor chords"].Share)
	for i, want := range []string{"b3 of minor chords", "string 5, frets 2 to 5"} {
		assert.Equal(t, want, v.Parts[i].Says(), "what went least well comes first")
	}
	for quality, chords := range map[string]string{"": "major", "6/9": "major", "m(maj7)": "minor", "m6": "minor", "13": "dominant", "7(#5)": "dominant",
		"aug": "augmented", "dim7": "diminished", "m7b5": "half-diminished", "7sus4": "suspended", "5": "suspended"} {
		q, err := harmony.ParseQuality(quality)
		require.NoError(t, err)
		r := progress.Record{Counts: progress.Counts{Degrees: progress.Counted[progress.DegreeCell]{
			{Kind: memory.Find, Quality: q.Name(), Degree: "1"}: {Asked: 1, Missed: 1}}}}
		require.Len(t, progress.Look(r).Parts, 1)
		assert.Equal(t, "1 of "+chords+" chords", progress.Look(r).Parts[0].Says(), quality)
	}
}

func TestStory(t *testing.T) {
	s := memory.State{}
	today := day(t, "2026-11-25")
	assert.Equal(t, "New: not asked before.", progress.Story(s, today))
	s = s.After(today-1, memory.Again)
	assert.Equal(t, "Learning: asked 1 time, missed 1 time, last asked yesterday.", progress.Story(s, today))
	s = s.After(today, memory.Good)
	assert.Equal(t, "Learning: asked 2 times, missed 1 time, last asked today.", progress.Story(s, today))
	for i := range memory.Day(9) {
		s = s.After(today+10*i, memory.Easy)
	}
	assert.Equal(t, "Firm: asked 11 times, missed 1 time, last asked 5 days ago.", progress.Story(s, today+85))
}

// The places of what was asked are those of its look back.
func TestPlaces(t *testing.T) {
	it := find("m7", "b3", "D", 5)
	states := map[memory.Item]memory.State{it: memory.State{}.After(100, memory.Good)}
	assert.Equal(t, []progress.KeptPlace{{String: 5, Fret: 8, Kept: progress.Kept{Learning: 1}}}, progress.Places(states, fretboard.StandardNeck()), "F on the A string (MIDI 45 and 53)")
}

// What a teacher would say first names what went least well, or what is slow where nearly
// all of it was right, and the bar that goes wrong most; too few answers say nothing.
func TestAdvice(t *testing.T) {
	r := progress.Record{Titles: map[string]string{"key-ring": "Key Ring"}}
	third := progress.DegreeCell{Kind: memory.Find, Quality: "m7", Degree: "b3"}
	asked := func(n, missed int) {
		tally := progress.Tally{Asked: n, Missed: missed, Times: []progress.Timed{{Took: 3 * time.Second, N: n - missed}}}
		r.Counts.Degrees = progress.Counted[progress.DegreeCell]{third: tally}
	}
	asked(4, 4)
	assert.Empty(t, progress.Look(r).Advice())
	asked(9, 6)
	assert.Equal(t, "What needs you most: b3 of minor chords, 3 of 9 right.", progress.Look(r).Advice())
	r.Bars = []progress.BarRow{{Tune: "key-ring", Bar: 2, Asked: 8, Missed: 1}, {Tune: "key-ring", Bar: 5, Asked: 4, Missed: 3}}
	asked(20, 0)
	v := progress.Look(r)
	assert.Equal(t, "Nearly all of it is right; slowest is b3 of minor chords, 3.0 s. In Key Ring bar 5 goes wrong most, 3 of 4 notes.", v.Advice())
	assert.Equal(t, "Key Ring", v.Title("key-ring"))
	assert.Equal(t, "key-ring", v.Untitled().Title("key-ring"))
}
