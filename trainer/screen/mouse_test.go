package screen

import (
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
	"footfall/trainer/guard/racetest"
	"footfall/trainer/screen/page"
	"footfall/trainer/session"
)

// click presses the left button of the mouse at a column and row, both from 0.
func (d *driver) click(x, y int) {
	d.send(tea.MouseMsg{X: x, Y: y, Action: tea.MouseActionPress, Button: tea.MouseButtonLeft})
	d.send(tea.MouseMsg{X: x, Y: y, Action: tea.MouseActionRelease, Button: tea.MouseButtonNone})
}

// clickOn clicks on a text of the view.
func (d *driver) clickOn(text string) {
	d.t.Helper()
	for y, line := range strings.Split(d.view(), "\n") {
		if before, _, ok := strings.Cut(line, text); ok {
			d.click(ansi.StringWidth(before), y)
			return
		}
	}
	require.Fail(d.t, "not shown: "+text, d.view())
}

func TestTheMousePointsAndClicks(t *testing.T) {
	l := &ledger{}
	s := services(t, termenv.Ascii, l)
	d := drive(t, s, 80, 24)
	d.clickOn("d drills")
	d.sees("First chords")
	d.clickOn("name it")
	d.sees("[name it]")
	d.clickOn("find it")
	d.clickOn("Sevenths")
	d.sees("› Sevenths")
	d.clickOn("First chords")
	d.send(tea.MouseMsg{Action: tea.MouseActionPress, Button: tea.MouseButtonWheelDown})
	d.sees("› Triads")
	d.send(tea.MouseMsg{Action: tea.MouseActionPress, Button: tea.MouseButtonWheelUp})
	d.clickOn("First chords") // once more: it is started
	d.sees("question 1 of 3")
	d.clickOn("? keys")
	d.sees("Keys of this page")
	d.click(0, 0)
	d.sees("On the neck")
	d.click(0, 0)
	d.sees("question 1 of 3")
	d.clickOn("tab don't know")
	d.sees("The way")
	d.clickOn("enter go on")
	d.sees("question 2 of 3")
	d.clickOn("q quit")
	assert.True(t, d.quit)
}

// A click on the neck answers a question about one place, but not on another string than
// the one that is asked about; a click on a choice answers too.
func TestAClickAnswers(t *testing.T) {
	l := &ledger{}
	d := drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(session.Choice{Drill: "find", Chords: "first"}))
	d.clickOn("3 G")
	d.click(12, rowOf(d, "3 G"))
	require.Zero(t, l.kept())
	d.sees("That is string 3: the question is about string")
	str := "5 A"
	if strings.Contains(d.view(), "on string 6.") {
		str = "6 E"
	}
	fret := d.right()
	numbers := strings.Split(d.view(), "\n")[rowOf(d, "6 E")+1]
	d.click(slices.Index(strings.Split(numbers, ""), fret[:1]), rowOf(d, str))
	require.Equal(t, 1, l.kept())
	assert.Equal(t, memory.Sure, l.answers[0].Verdict)
	assert.Equal(t, memory.Cursor, l.answers[0].Way)

	d = drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(session.Choice{Drill: "shape", Chords: "first"}))
	d.click(2, slices.IndexFunc(strings.Split(d.view(), "\n"), func(l string) bool { return strings.HasPrefix(l, "  2  ") }))
	require.Equal(t, 2, l.kept())
	d = drive(t, services(t, termenv.Ascii, l), 80, 24, DrillOf(session.Choice{Drill: "build", Chords: "first"}))
	d.click(12, rowOf(d, "6 E"))
	d.click(16, rowOf(d, "4 D"))
	d.sees("Answer 1-x-2-x-x-x")
	d.click(16, rowOf(d, "4 D"))
	d.sees("Answer 1-x-x-x-x-x")
}

// rowOf is the row of the view that holds a text.
func rowOf(d *driver, text string) int {
	return slices.IndexFunc(strings.Split(d.view(), "\n"), func(l string) bool { return strings.Contains(l, text) })
}

// Of what can be clicked in any state some of each is clicked, and nothing breaks.
func TestEverySpotTakesAClick(t *testing.T) {
	racetest.Alone(t)
	d := drive(t, ready(t), 120, 40)
	clicked := map[page.Thing]int{}
	for _, st := range states("gate") {
		d.come(st)
		d.view()
		tried := map[page.Thing]int{}
		for _, at := range d.f.spots {
			if k, ok := page.KeyAt(at.N); at.On == page.KeyName && ok && (page.Quit.Is(k) || page.Stop.Is(k) || page.Save.Is(k)) {
				continue
			}
			if tried[at.On]++; tried[at.On] <= 2 {
				clicked[at.On]++
				d.click(at.First, at.Y)
				require.NotEmpty(t, strings.TrimSpace(d.view()))
				require.False(t, d.quit)
			}
		}
	}
	for _, on := range []page.Thing{page.KeyName, page.Row, page.Tab, page.Drawn} {
		assert.NotZero(t, clicked[on], on)
	}
}

// h, j, k and l do on every page what the arrow keys do, but where letters are text.
func TestLettersAreArrowKeys(t *testing.T) {
	racetest.Alone(t)
	d, by := drive(t, ready(t), 80, 24), drive(t, ready(t), 80, 24)
	by.f.services.Settings.Path = d.f.services.Settings.Path
	same := 0
	for _, st := range states("gate") {
		if st.id.Kind == "inputs" || st.id.Kind == "play" {
			continue // what is shown there depends on the moment
		}
		for letter, arrow := range map[string]string{"h": "left", "j": "down", "k": "up", "l": "right"} {
			d.come(st)
			by.come(st)
			if d.f.lettered(d.f.top()) {
				d.press("esc") // what is typed is left, so that the next state begins as here
				by.press("esc")
				continue
			}
			d.press(letter)
			by.press(arrow)
			if assert.Equal(t, by.view(), d.view(), "%s: %s", st.name, letter) {
				same++
			}
		}
	}
	assert.Greater(t, same, 80)
	d.come(state{"", Home, nil})
	d.press("/", "h", "j", "k", "l")
	d.sees("hjkl")
}
