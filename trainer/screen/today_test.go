package screen

import (
	"strings"
	"testing"
	"time"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/memory"
)

func TestTheDayFromTheFirstScreen(t *testing.T) {
	l := &ledger{}
	s := services(t, termenv.Ascii, l)
	d := drive(t, s, 80, 24)
	d.press("t")
	d.sees("2 min  Find your level")
	d.sees("of 20 minutes")
	d.press("enter")
	d.sees("question 1")
	d.press("esc")
	assert.NotContains(t, d.view(), "done", "opening is not doing")
	d.press("down", "enter")
	d.sees("A degree is a number counted from the root of the chord")
	d.press("esc", "down", "down", "enter")
	d.sees("nothing sounds in the tests")
	playable(s)
	d.press("enter")
	d.sees("bass")
	d.sees("tempo 62 66 …") // the passage, from where its ramp was left
	d.press("esc")
	d.press("esc")
	d.sees("add a tune")
}

func TestLookingBackFromTheFirstScreen(t *testing.T) {
	l := &ledger{}
	l.record.States = map[memory.Item]memory.State{{Kind: memory.Spell, Degree: "3", Root: "C"}: {Stability: 3, Asked: 1, Last: 20511}}
	l.record.Today = 20513
	d := drive(t, services(t, termenv.Ascii, l), 80, 24)
	d.press("r")
	d.sees("look back")
	d.sees("[kept]")
	d.sees("learning  firm")
	d.press("right")
	d.sees("[to come]")
	d.press("right")
	d.sees("learning")
	d.press("esc")
	d.sees("add a tune")
	require.False(t, d.quit)
}

// A right answer goes on by itself after a moment, a missed one waits; who does not
// know is shown the way, and a slip is taken back at once.
func TestAnswersGoOn(t *testing.T) {
	l := &ledger{}
	s := services(t, termenv.Ascii, l)
	s.GoOn = time.Millisecond
	d := drive(t, s, 80, 24)
	d.press("d", "enter")
	d.sees("question 1 of 3")
	d.press(d.right(), "enter")
	d.sees("question 2 of 3")
	d.press("tab")
	d.sees("The way")
	d.press("u")
	d.sees("question 2 of 3")
	assert.NotContains(t, d.view(), "The way")
	d.press("u")
	d.sees("question 2 of 3") // there is but one answer back
	d.press(d.right(), "enter")
	d.sees("question 3 of 3")
	d.press("u")
	d.sees("question 2 of 3")
	_, asked, _ := strings.Cut(d.view(), " on string ")
	d.press("right", "up", "up") // the pointer stays on the string that is asked
	d.sees("string " + asked[:1] + ", fret")
}
