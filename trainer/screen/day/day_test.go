package day

import (
	"io"
	"slices"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/exp/golden"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

func plan() today.Plan {
	due := memory.Item{Kind: memory.Find, Quality: "m7", Degree: "b7", Root: "D", String: 5}
	return today.Plan{Day: "2026-11-25", Minutes: 20, Steps: []today.Step{
		{N: 1, Kind: today.Due, Minutes: 4, Text: "Warm up: 30 things before you forget", Why: "the b3 on string 5: 2 of 6 yesterday", Items: []memory.Item{due}},
		{N: 2, Kind: today.New, Minutes: 3, Text: "New: find the b7, 3 chords", Items: []memory.Item{due}, Tune: "lantern-street"},
		{N: 3, Kind: today.Passage, Minutes: 5, Text: "Lantern Street, section A, bass: from 84 towards 104, where it was left", Tune: "lantern-street"},
		{N: 4, Kind: today.Passage, Minutes: 6, Text: "Lantern Street, section B, bass+changes: from 62 towards 104, for the first time", Tune: "lantern-street"},
		{N: 5, Kind: today.Play, Minutes: 2, Text: "Lantern Street once through at 80, for joy", Tune: "lantern-street"},
	}, Notes: []string{"12 things are more due and will be first tomorrow."}}
}

type desk struct {
	p     *Page
	moves []tea.Msg
	plan  today.Plan
}

func (d *desk) Plan() today.Plan {
	p := d.plan
	p.Steps = slices.Clone(p.Steps)
	return p
}

func (d *desk) Change(change func(today.Plan) (today.Plan, error)) error {
	p, err := change(d.plan)
	if err == nil {
		d.plan = p
	}
	return err
}

func (d *desk) NextGoal(step int) error {
	d.plan.Towards = &today.Towards{Tune: "lantern-street", Title: "Lantern Street", Tempo: 104, By: "2027-01-31", Says: "bass clean at 82 of 104 BPM; 12 of its 40 things met, 3 firm"}
	return nil
}

func (d *desk) Says() string { return "Today: 3 new things learned. Tomorrow: 14 things are due." }

func newDesk() *desk {
	d := &desk{plan: plan()}
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	d.p = New(theme.New(r, false), d, func(m tea.Msg) { d.moves = append(d.moves, m) },
		func(s today.Step) (page.ID, bool) { return page.ID{Kind: string(s.Kind)}, s.Kind != today.Break })
	d.p.SetSize(80, 20)
	return d
}

func (d *desk) press(keys ...string) {
	special := map[string]tea.KeyType{"delete": tea.KeyDelete, "up": tea.KeyUp, "down": tea.KeyDown, "enter": tea.KeyEnter}
	for _, k := range keys {
		if k == "over" {
			for i := range d.plan.Steps {
				d.plan.Steps[i].Done = true
			}
			d.p.Update(page.Done{})
			continue
		}
		if k == "done" {
			d.plan.Steps[0].Done = true
			d.p.Update(page.Done{ID: page.ID{Kind: "due"}})
			continue
		}
		if typ, ok := special[k]; ok {
			d.p.Update(tea.KeyMsg{Type: typ})
			continue
		}
		d.p.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)})
	}
}

func TestViews(t *testing.T) {
	for name, keys := range map[string][]string{
		"first":   nil,
		"towards": {"z"},
		"over":    {"over"},
		"changed": {"enter", "done", "delete", "N", "-", "up", "+"},
		"empty":   {"delete", "delete", "delete", "delete", "delete", "delete", "up", "enter"},
	} {
		t.Run(name, func(t *testing.T) {
			d := newDesk()
			d.press(keys...)
			golden.RequireEqual(t, []byte(ansi.Strip(d.p.View())))
		})
	}
}

func TestStepsAreStartedAndChanged(t *testing.T) {
	d := newDesk()
	assert.Equal(t, "Wednesday, Nov 25 · 20 of 20 minutes", d.p.Status())
	d.press("enter")
	require.Equal(t, []tea.Msg{page.Open{ID: page.ID{Kind: "due"}}}, d.moves)
	assert.NotContains(t, d.p.View(), "done", "opening is not doing")
	d.press("done")
	assert.Contains(t, d.p.View(), "done")
	d.press("+")
	require.Len(t, d.moves, 2)
	assert.Contains(t, d.moves[1].(page.Say).Line, "all taken")
	d.press("-")
	assert.Equal(t, "Wednesday, Nov 25 · 19 of 20 minutes", d.p.Status())
	steps := d.p.plan.Steps
	d.press("delete", "u")
	assert.Equal(t, steps, d.p.plan.Steps)
	d.press("u", "-")
	assert.Equal(t, "Wednesday, Nov 25 · 19 of 20 minutes", d.p.Status())
	d.press("u", "u")
	assert.Contains(t, d.moves[len(d.moves)-1].(page.Say).Line, "nothing to undo")
	d.press("-")
	d.press("up", "N")
	assert.Equal(t, today.Due, d.p.plan.Steps[0].Kind, "what is due stays before what is new")
}

// A plan that has lost its last steps since it was shown, as by a lesson that was left, is
// started at the last that is there.
func TestAStepThatIsGone(t *testing.T) {
	d := newDesk()
	for range 4 {
		d.press("down")
	}
	d.plan.Steps = d.plan.Steps[:2]
	d.press("enter")
	assert.Equal(t, []tea.Msg{page.Open{ID: page.ID{Kind: string(today.New)}}}, d.moves)
}
