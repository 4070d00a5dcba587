package review

import (
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/trainer/screen/theme"
)

const today = memory.Day(20780) // Monday, 2026-11-23

// practised is ten weeks of made-up practice that gets better.
func practised(since memory.Day) (progress.Review, error) {
	days, degrees, places := progress.Counted[progress.DayWay]{}, progress.Counted[progress.DegreeCell]{}, progress.Counted[fretboard.Place]{}
	r := progress.Record{Since: since, Today: today, Spent: map[memory.Day]time.Duration{}, States: map[memory.Item]memory.State{},
		Counts: progress.Counts{Days: days, Degrees: degrees, Places: places}, Neck: fretboard.StandardNeck(), Tempos: map[string]float64{"lantern-street": 104},
		Bars: []progress.BarRow{{Tune: "lantern-street", Bar: 9, Asked: 8, Missed: 3}, {Tune: "lantern-street", Bar: 2, Asked: 8, Missed: 1}}}
	passage := memory.Item{Kind: memory.Passage, Tune: "lantern-street", Section: "A", Layer: "bass"}
	for i := range 70 {
		d := today - 69 + memory.Day(i)
		if d < since || i%7 == 6 {
			continue
		}
		took := time.Duration(5000-40*i) * time.Millisecond
		for j := range 12 {
			place := fretboard.Place{String: 5 + j%2, Fret: (3*j + i) % 13}
			cell := progress.DegreeCell{Kind: memory.Find, Quality: []string{"7", "m7", "maj7"}[j%3], Degree: []string{"1", "3", "5", "b7"}[j%4]}
			t := took + time.Duration(100*j)*time.Millisecond
			if (i+j)%(3+i/8) == 0 {
				t = 0
			}
			tally := progress.Tally{Asked: 1, Missed: 1}
			if t > 0 {
				tally = progress.Tally{Asked: 1, Times: []progress.Timed{{Took: t, N: 1}}}
			}
			dayWay := progress.DayWay{Day: d, Way: memory.Typed}
			days[dayWay], degrees[cell], places[place] = days[dayWay].Plus(tally), degrees[cell].Plus(tally), places[place].Plus(tally)
		}
		r.Spent[d] = time.Duration(10+i%20) * time.Minute
		r.Takes = append(r.Takes, progress.Take{Item: passage, Day: d, Tempo: float64(60 + i/2), Judged: true, Clean: i%3 > 0, Matched: 40,
			Mean: time.Duration(i-50) * time.Millisecond / 3, Spread: time.Duration(40-i/3) * time.Millisecond})
		r.States[memory.Item{Kind: memory.Find, Quality: []string{"7", "m7", "maj7"}[i%3], Degree: []string{"1", "5"}[i%2], Root: []string{"C", "F", "Bb", "Eb", "G"}[i%5], String: 5 + i/35}] =
			memory.State{Stability: float64(i), Difficulty: 5, Last: today - 3, Asked: 2, Days: 1 + i%5}
	}
	return progress.Look(r), nil
}

func newPage(look Look, ascii bool) *Page {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	p := New(theme.New(r, ascii), fretboard.StandardNeck(), today, look)
	p.SetSize(80, 20)
	return p
}

var special = map[string]tea.KeyType{"left": tea.KeyLeft, "right": tea.KeyRight, "up": tea.KeyUp, "down": tea.KeyDown}

func press(p *Page, keys ...string) {
	for _, k := range keys {
		if typ, ok := special[k]; ok {
			p.Update(tea.KeyMsg{Type: typ})
			continue
		}
		p.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)})
	}
}

func rights(n int) []string {
	keys := make([]string, n)
	for i := range keys {
		keys[i] = "right"
	}
	return keys
}

func TestViews(t *testing.T) {
	for name, c := range map[string]struct {
		ascii bool
		keys  []string
	}{
		"kept":        {false, nil},
		"kept-ascii":  {true, nil},
		"keys":        {false, rights(1)},
		"keys-table":  {false, append(rights(1), "v")},
		"weakest":     {false, rights(2)},
		"bars":        {false, rights(3)},
		"forecast":    {false, rights(4)},
		"days":        {false, rights(5)},
		"days-share":  {false, append(rights(5), "down")},
		"days-table":  {false, append(rights(5), "v")},
		"weeks":       {false, rights(6)},
		"months":      {false, rights(7)},
		"times":       {false, rights(8)},
		"degrees":     {false, rights(9)},
		"neck":        {false, rights(10)},
		"speed-ascii": {true, rights(11)},
		"tempo":       {false, rights(12)},
		"offset":      {false, rights(13)},
		"due":         {false, rights(14)},
		"items":       {false, rights(15)},
		"weeks-ascii": {true, rights(6)},
		"four-weeks":  {false, append(rights(6), "f", "f")},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPage(practised, c.ascii)
			press(p, c.keys...)
			view := ansi.Strip(p.View())
			for i, w := range lineWidths(view) {
				require.LessOrEqual(t, w, 80, "line %d", i+1)
			}
			require.LessOrEqual(t, len(lineWidths(view)), 20)
			golden.RequireEqual(t, []byte(view))
		})
	}
}

func lineWidths(view string) []int {
	var widths []int
	for _, l := range strings.Split(view, "\n") {
		widths = append(widths, lipgloss.Width(l))
	}
	return widths
}

func TestNothingAndFaults(t *testing.T) {
	p := newPage(func(memory.Day) (progress.Review, error) { return progress.Review{}, nil }, false)
	press(p, "left", "right", "v", "down", "f")
	assert.Contains(t, p.View(), "Nothing has been practiced")
	p = newPage(func(memory.Day) (progress.Review, error) { return progress.Review{}, errors.New("the disk went away") }, false)
	assert.Contains(t, p.View(), "the disk went away")
}

func TestEverySizeAndSubject(t *testing.T) {
	for _, size := range [][2]int{{80, 20}, {80, 21}, {200, 56}, {120, 30}} {
		p := newPage(practised, false)
		p.SetSize(size[0], size[1])
		for range 17 {
			for range 3 {
				view := ansi.Strip(p.View())
				for i, w := range lineWidths(view) {
					require.LessOrEqual(t, w, size[0], "%v line %d of\n%s", size, i+1, view)
				}
				require.LessOrEqual(t, len(lineWidths(view)), size[1], "%v\n%s", size, view)
				press(p, "down")
			}
			press(p, "right")
		}
	}
}
