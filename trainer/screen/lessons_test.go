package screen

import (
	"testing"

	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"footfall/drills/today"
	"footfall/trainer/screen/page"
)

// From the first screen to a lesson, through its tasks, and on to the next one, by
// Enter; what is met has its tick on all pages.
func TestLessonsFromTheFirstScreen(t *testing.T) {
	s := services(t, termenv.Ascii, &ledger{})
	d := drive(t, s, 80, 24)
	d.press("L")
	d.sees("0 of ")
	d.sees("› ·  1  What a degree is")
	d.press("enter")
	d.sees("A degree is a number counted from the root of the chord")
	d.sees("› · Spell it: 3, 5 of C")
	d.press("enter")
	d.sees("question 1")
	d.press("esc")
	d.sees("› · Spell it: 3, 5 of C")
	l := s.Desk.Lesson("what-a-degree-is")
	require.NoError(t, s.agenda.Change(func(p today.Plan) (today.Plan, error) {
		for i := range l.Tasks {
			p.Course = p.Course.With(l.Name, i+1)
		}
		return p, nil
	}))
	d.send(page.Done{})
	d.sees("● Spell it: 3, 5 of C")
	d.sees("›   Next: Roots on two strings")
	d.press("enter")
	d.sees("The whole bass line lives on the two lowest strings")
	d.press("esc")
	d.sees("1 of ")
	d.sees("● ")
	d.sees("next")
	assert.Contains(t, d.view(), "›")
	d.press("esc")
	d.sees("add a tune")
}
