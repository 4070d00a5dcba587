package screen

import (
	"fmt"
	"testing"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/today"
	"footfall/harmony/tune"
	"footfall/trainer/session"
)

// The first screen says what to do now and why, how the week went, and lists the tunes
// with those in work first; enter starts the step that comes next.
func TestTheFirstScreenIsTheDay(t *testing.T) {
	s := practised(t)
	d := drive(t, s, 80, 24)
	d.sees("Thursday, Dec 3 · 20 minutes")
	d.sees("This week: ")
	view := d.view()
	assert.Regexp(t, `Today   ›  \d min  Warm up`, view)
	assert.Contains(t, view, "were missed lately", "the reason stands there")
	assert.Regexp(t, `Tunes +Lantern Street +Bb 4/4 104 +in work`, view)
	d.press("enter")
	d.sees("today · Warm up")
	d.sees("question 1")
	d.press("esc")
	d.sees("add a tune")
}

// What is done of the day shows once its step was left, and the next is pointed at.
func TestTheFirstScreenFollowsTheDay(t *testing.T) {
	s := practised(t)
	d := drive(t, s, 80, 24)
	require.NoError(t, s.agenda.Change(func(p today.Plan) (today.Plan, error) {
		p.Steps[0].Done = true
		return p, nil
	}))
	d.press("t", "esc")
	assert.Regexp(t, `Today +done  Warm up`, d.view())
	assert.Regexp(t, `› +\d min  Lesson`, d.view())
	require.NoError(t, s.agenda.Change(func(p today.Plan) (today.Plan, error) {
		for i := range p.Steps {
			p.Steps[i].Done = true
		}
		return p, nil
	}))
	d.press("t", "esc")
	d.sees("Tomorrow: ")
	assert.Regexp(t, `Tunes +› Lantern Street`, d.view(), "a step that is done is no place to go on")
}

// A tune is found by letters of its name; enter takes it, esc shows all again.
func TestATuneIsFoundByLetters(t *testing.T) {
	s := practised(t)
	all := fmt.Sprintf("%d tunes; / finds one", len(s.Desk.Tunes)+len(s.Desk.LessonTunes()))
	d := drive(t, s, 80, 24)
	d.sees(all)
	d.press("/", "k", "e", "t")
	d.sees("Find      ket▏")
	d.sees("› Tin Kettle Blues")
	assert.NotContains(t, d.view(), "finds one")
	d.press("enter")
	d.sees("(esc shows all)")
	d.press("enter")
	d.sees("arrangement · Tin Kettle Blues")
	d.press("esc", "esc")
	d.sees("› Tin Kettle Blues")
	d.sees("; / finds one")
	d.press("/", "q", "#", "enter") // q is a letter here
	assert.False(t, d.quit)
	d.press("home")
	d.sees(all)
	d.press("home", "p")
	d.sees("Pick a tune first")
	d.press("q")
	assert.True(t, d.quit)
}

// The player's own tunes stand before those that come with the program, and are found
// first.
func TestThePlayersOwnTunesComeFirst(t *testing.T) {
	s := services(t, termenv.Ascii, nil)
	own, faults := tune.Read("tune Kettle Umbrella\nkey C\nmeter 4/4\ntempo 100\n[A]\nchords | C |\n")
	require.Empty(t, faults)
	s.Desk.Put(session.Tune{Name: "kettle-umbrella", Tune: own, Path: "kettle-umbrella.tune"})
	other, built := *own, *own
	built.Title = "Kettle Song"
	s.Desk.Put(session.Tune{Name: "kettle-song", Tune: &built})
	other.Title = "My Own Kettle"
	s.Desk.Put(session.Tune{Name: "my-own-kettle", Tune: &other, Path: "my-own-kettle.tune"})
	d := drive(t, s, 80, 24)
	d.sees("Tunes     Kettle Umbrella")
	d.sees("your own")
	d.press("/", "k", "e", "t", "t")
	assert.Regexp(t, `(?s)Kettle Umbrella.*My Own Kettle.*Kettle Song`, d.view())
	d.sees("› Kettle Umbrella")
}

// A history that cannot be read is told; tunes and doors are there all the same.
func TestTheFirstScreenWithoutAHistory(t *testing.T) {
	s := services(t, termenv.Ascii, &ledger{deaf: true})
	d := drive(t, s, 80, 24)
	d.sees("the disk went away")
	d.sees("Lantern Street")
	d.press("/", "l", "a", "n", "enter", "enter")
	d.sees("arrangement · Lantern Street")
	d.press("esc", "esc", "/", "s", "m", "i", "l", "enter", "enter")
	d.sees("arrangement · Smile and Frown") // which a lesson brings
}

// The day is looked up away from the keys: with a year of history too the first frame
// is there at once, with the tunes and the doors.
func TestTheFirstFrameWaitsForNothing(t *testing.T) {
	s := practised(t)
	f, err := newFrame(s, Home)
	require.NoError(t, err)
	f.width, f.height = 80, 24
	assert.Contains(t, f.View(), "Looking at what comes today")
	assert.Contains(t, f.View(), s.Desk.Tunes[0].Tune.Title)
	assert.Contains(t, f.View(), "shapes")
}

// A page that needs more room than there is can be left: the first screen has room.
func TestAPageWithoutRoomIsLeft(t *testing.T) {
	d := drive(t, practised(t), 60, 20)
	d.press("d")
	d.sees("This page needs 80 columns and 24 rows.")
	d.sees("esc goes back, q quits.")
	d.press("x", "enter", "?", "esc")
	d.sees("Today")
	assert.False(t, d.quit)
}
