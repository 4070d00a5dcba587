package lesson

import (
	"strings"

	"github.com/charmbracelet/x/ansi"

	"footfall/drills/lesson"
	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/theme"
	"footfall/trainer/session"
)

// Sketched is what can be shown of a task, counted from 0, before it is begun.
type Sketched func(l *lesson.Lesson, task int) (*tune.Tune, []session.Placed)

// sketch shows what a task is about: the bars of its tune, and where it lies on the neck.
type sketch struct {
	Neck fretboard.Neck
	Of   Sketched
	// lesson and task are those that were looked up last.
	lesson *lesson.Lesson
	task   int
	tune   *tune.Tune
	placed []session.Placed
}

// under draws a task below some lines, as far as there is room in a width and in so many
// rows in all.
func (s *sketch) under(t *theme.Theme, lines []string, l *lesson.Lesson, task, width, rows int) []string {
	if s.Of == nil || task < 0 {
		return lines
	}
	if s.lesson != l || s.task != task {
		s.tune, s.placed = s.Of(l, task)
		s.lesson, s.task = l, task
	}
	add := func(block []string) {
		if len(lines)+1+len(block) <= rows {
			lines = append(append(lines, ""), block...)
		}
	}
	cut := func(text string) string { return ansi.Truncate(t.Words(text), width, t.Words("…")) }
	apart := 2 * len(s.Neck.Tuning)
	necks := func(high int) (blocks [][]string) {
		for _, placed := range s.placed {
			drawn := neck.Draw(t, neck.Drawing{Neck: s.Neck, Marks: placed.Marks, Width: width, Height: high, Degrees: true, Close: true})
			blocks = append(blocks, append([]string{t.Dim.Render(cut(placed.Says))}, strings.Split(drawn, "\n")...))
		}
		if blocks != nil {
			blocks = append(blocks, []string{neck.Tones(t, width)})
		}
		return blocks
	}
	var chart []string
	if s.tune != nil {
		chart = []string{t.Strong.Render(cut(s.tune.Title)), t.Dim.Render(aside.Facts(s.tune) + " BPM")}
		if bars := bars.Preview(t, s.tune, width, rows-len(lines)-4); bars != nil {
			chart = append(append(chart, ""), bars...)
		}
	}
	// The strings stand apart where all of it has room so.
	high := apart
	if len(lines)+len(chart)+len(s.placed)*(high+3)+2 > rows {
		high = 0
	}
	for _, b := range necks(high) {
		add(b)
	}
	if chart != nil {
		add(chart)
	}
	return lines
}
