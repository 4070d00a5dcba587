package history_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/trainer/guard/racetest"
)

// exportedAnswer is an answer as `footfall log export` writes it, read without the
// program's own reader.
type exportedAnswer struct {
	At, Item, Way, Verdict string
	Grade                  memory.Grade
	TookMS                 int64 `json:"took_ms"`
	String, Fret           int
}

// count is what a hand counts of answers.
type handCount struct {
	asked, right, slow, missed int
	times                      []int64
}

func (c *handCount) add(a exportedAnswer) {
	c.asked++
	switch a.Verdict {
	case "missed":
		c.missed++
		return
	case "slow":
		c.slow++
	}
	c.right++
	c.times = append(c.times, a.TookMS)
}

// median is the first of the sorted times that half of the right answers did not go
// over.
func (c *handCount) median() *int64 {
	if c.right == 0 {
		return nil
	}
	slices.Sort(c.times)
	return &c.times[(len(c.times)+1)/2-1]
}

// chordsNamed are the families of the players' chord qualities (common practice, no source).
var chordsNamed = map[string]string{"m7": "minor", "7": "dominant", "maj7": "major", "m7b5": "half-diminished"}

// Every figure of a look back is what a hand counts from the exported answers: days,
// weeks and months, degrees, the neck, what is kept how well, and what comes due. Times
// are kept by steps (tally.go), within which a median may lie off.
func TestALookBackIsAHandCount(t *testing.T) {
	racetest.Alone(t)
	n := 0
	rapid.Check(t, func(rt *rapid.T) {
		if n++; testing.Short() && n > 10 {
			return
		}
		s := open(t, place(t))
		newPlayer(rapid.Uint64().Draw(rt, "seed")).play(t, s, rapid.IntRange(1, 150).Draw(rt, "answers"))
		var out bytes.Buffer
		require.NoError(rt, s.ExportJSON(t.Context(), &out))
		var all struct{ Answers []exportedAnswer }
		require.NoError(rt, json.Unmarshal(out.Bytes(), &all))
		last, err := time.Parse(time.RFC3339, all.Answers[len(all.Answers)-1].At)
		require.NoError(rt, err)
		today := memory.DayOf(last) + memory.Day(rapid.IntRange(0, 9).Draw(rt, "days later"))
		since := memory.Day(0)
		r, err := s.Look(t.Context(), since, today)
		require.NoError(rt, err)
		v := progress.Look(r)

		var whole handCount
		spans := [3]map[string]*handCount{{}, {}, {}}
		degrees, places, parts := map[string]*handCount{}, map[string]*handCount{}, map[string]*handCount{}
		states := map[string]memory.State{}
		tell := func(in map[string]*handCount, key string, a exportedAnswer) {
			if in[key] == nil {
				in[key] = &handCount{}
			}
			in[key].add(a)
		}
		for _, a := range all.Answers {
			whole.add(a)
			date := a.At[:len(time.DateOnly)]
			day, err := memory.ParseDay(date)
			require.NoError(rt, err)
			weekday := (int(day.Date().Weekday()) + 6) % 7
			tell(spans[0], date, a)
			tell(spans[1], (day - memory.Day(weekday)).String(), a)
			tell(spans[2], date[:len("2006-01")], a)
			facts := strings.Split(a.Item, ":")
			if facts[0] == "find" || facts[0] == "name" {
				tell(degrees, facts[1]+" "+facts[2], a)
				tell(parts, facts[2]+" of "+chordsNamed[facts[1]]+" chords", a)
			}
			if a.String > 0 {
				tell(places, fmt.Sprint(a.String, a.Fret), a)
				stretch := map[bool]string{true: "0 to 1"}[a.Fret < 2]
				for first := 2; first <= a.Fret; first += 4 {
					stretch = fmt.Sprintf("%d to %d", first, first+3)
				}
				tell(parts, fmt.Sprintf("string %d, frets %s", a.String, stretch), a)
			}
			states[a.Item] = states[a.Item].After(day, a.Grade)
		}
		require.Equal(rt, whole.asked, v.Asked)
		require.Equal(rt, whole.right, v.Right)
		for i, rows := range [][]progress.SpanRow{v.Days, v.Weeks, v.Months} {
			// A span in which a sitting was begun, and nothing answered, has its minutes alone.
			rows = slices.DeleteFunc(slices.Clone(rows), func(row progress.SpanRow) bool { return row.Asked == 0 && spans[i][row.Span] == nil })
			require.Len(rt, rows, len(spans[i]))
			for _, row := range rows {
				c := spans[i][row.Span]
				require.NotNil(rt, c, row.Span)
				require.Equal(rt, []int{c.asked, c.right, c.slow}, []int{row.Asked, row.Right, row.Slow}, row.Span)
				require.InDelta(rt, float64(c.right)/float64(c.asked), *row.Share, 0.000501, "given to three digits")
				near(rt, c.median(), row.MedianMS)
			}
		}
		require.Len(rt, v.Degrees, len(degrees))
		for _, row := range v.Degrees {
			c := degrees[row.Quality+" "+row.Degree]
			require.Equal(rt, []int{c.asked, c.right, c.slow}, []int{row.Asked, row.Right, row.Slow})
			near(rt, c.median(), row.MedianMS)
		}
		require.Len(rt, v.Neck, len(places))
		for _, row := range v.Neck {
			c := places[fmt.Sprint(row.String, row.Fret)]
			require.Equal(rt, []int{c.asked, c.missed}, []int{row.Asked, row.Missed})
		}
		require.Len(rt, v.Parts, len(parts))
		for i, row := range v.Parts {
			c := parts[row.Says()]
			require.NotNil(rt, c, row.Says())
			require.Equal(rt, []int{c.asked, c.right}, []int{row.Asked, row.Right}, row.Says())
			require.True(rt, i == 0 || v.Parts[i-1].Right*row.Asked <= row.Right*v.Parts[i-1].Asked, "the worst first")
			near(rt, c.median(), row.MedianMS)
		}
		// How well things are kept: asked on three days, and a stability of three weeks.
		days, want, due := map[string]map[string]bool{}, progress.Kept{}, 0
		for _, a := range all.Answers {
			if days[a.Item] == nil {
				days[a.Item] = map[string]bool{}
			}
			days[a.Item][a.At[:len(time.DateOnly)]] = true
		}
		for _, item := range slices.Sorted(maps.Keys(states)) {
			if states[item].Stability >= 21 && len(days[item]) >= 3 {
				want.Firm++
			} else {
				want.Learning++
			}
			if states[item].Due() <= today {
				due++
			}
		}
		require.Equal(rt, want, v.Progress)
		met := map[string]int{}
		for item := range states {
			if facts := strings.Split(item, ":"); facts[0] == "find" || facts[0] == "name" {
				met[facts[2]+" of "+chordsNamed[facts[1]]+" chords"]++
			}
		}
		for _, row := range v.Parts {
			if row.Kind == "degree" {
				require.Equal(rt, met[row.Says()], row.Learning+row.Firm, row.Says())
			}
		}
		require.Equal(rt, due, v.Due[0].Items)
		items := 0
		for _, row := range v.Items {
			items += row.Items
		}
		require.Equal(rt, len(states), items)
	})
}

// near holds a median to the 5 % within which the steps of times lie (tally.go).
func near(t require.TestingT, want, got *int64) {
	require.Equal(t, want == nil, got == nil)
	if want != nil {
		require.InDelta(t, *want, *got, float64(*want)/20+1)
	}
}
