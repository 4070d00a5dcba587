package plain

import (
	"fmt"
	"strings"
	"time"

	"footfall/drills/lesson"
	"footfall/drills/today"
	"footfall/trainer/session"
)

// Plan prints the day's plan.
func (f *Face) Plan(p today.Plan) {
	f.say("Today, %s: %s.", p.Day, counted(p.Total(), "minute"))
	if p.Lesson != "" {
		f.say("Lesson: %s", p.Lesson)
	}
	for i, s := range p.Steps {
		done := ""
		if s.Criterion != "" {
			done = fmt.Sprintf(" Done: %s.", s.Criterion)
		}
		f.say("%d. %s, %s.%s", i+1, strings.TrimSuffix(s.Text, "."), counted(s.Minutes, "minute"), done)
	}
	for _, n := range p.Notes {
		f.say("%s", n)
	}
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// Day goes through a plan, a step at a time. Before each the player may leave it
// out, or end the day; the end of the input ends it too.
func (f *Face) Day(d *session.Desk, p today.Plan, l *lesson.Lesson) {
	f.Plan(p)
	for i, s := range p.Steps {
		f.say("")
		f.say("%d. %s, %s. Enter starts, skip leaves it out, %s ends.", i+1, strings.TrimSuffix(s.Text, "."), counted(s.Minutes, "minute"), Quit)
		text, ok := f.line()
		if !ok || strings.EqualFold(text, Quit) {
			return
		}
		if !strings.EqualFold(text, "skip") {
			f.step(d, s, l)
		}
	}
	f.say("")
	f.say("That is all for today.")
}

// step does one step. Where this face plays no passages, the command that does is
// told.
func (f *Face) step(d *session.Desk, s today.Step, l *lesson.Lesson) {
	choice, isDrill, err := d.StepChoice(s)
	if err != nil {
		f.say("This step cannot be asked: %s", err)
		return
	}
	switch {
	case isDrill:
		sitting, err := d.Begin(choice)
		if err != nil {
			f.say("This step cannot be asked: %s", err)
			return
		}
		sum := f.Drill(sitting)
		if s.Task != nil && s.Task.Drill != nil {
			met := "Done: "
			if !s.Task.Drill.Met(sum.Asked, sum.Right, time.Duration(sum.MedianMS)*time.Millisecond) {
				met = "Not yet: "
			}
			f.say("%s%s.", met, s.Criterion)
		}
	case s.Kind == today.Lesson && l != nil:
		for _, paragraph := range l.Text {
			f.say("")
			f.say("%s", paragraph)
		}
	case s.Tune != "" && f.along != nil:
		t, err := d.Tune(s.Tune)
		if err != nil {
			f.say("This step cannot be played: %s", err)
			return
		}
		f.passage(Passage{Tune: t, Section: s.Section, Layer: s.Layer, Ramp: s.Climb(), Passes: s.Passes}, time.Duration(s.Minutes)*time.Minute)
	case s.Tune != "":
		f.say("Play it with: %s", PlayCommand(s))
	}
}

// PlayCommand is the command that plays a step's passage.
func PlayCommand(s today.Step) string {
	words := []string{"footfall", "play", s.Tune}
	if s.Section != "" {
		words = append(words, "--section", s.Section)
	}
	return strings.Join(append(words, "--layer", s.Layer, "--ramp", s.Climb()), " ")
}
