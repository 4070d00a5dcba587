package plain

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"footfall/drills/memory"
	"footfall/drills/today"
	"footfall/harmony"
	"footfall/trainer/session"
)

// Plan prints the day's plan.
func (f *Face) Plan(p today.Plan) {
	f.say("%s: %s.", memory.Dated(p.Day, longDay), harmony.Counted(p.Total(), "minute"))
	if p.Lesson != "" {
		f.say("Lesson: %s", p.Lesson)
	}
	if t := p.Towards; t != nil {
		f.say("%s", towards(*t))
	}
	for _, s := range p.Steps {
		number, done := "", ""
		if s.N > 0 {
			number = fmt.Sprintf("%d. ", s.N)
		}
		switch {
		case s.Done:
			done = " Done already."
		case s.Criterion != "":
			done = fmt.Sprintf(" Finished when: %s.", s.Criterion)
		}
		f.say("%s", spoken(fmt.Sprintf("%s%s, %s. %s.%s", number, strings.TrimSuffix(s.Text, "."), harmony.Counted(s.Minutes, "minute"), capital(s.Why), done)))
	}
	for _, n := range p.Notes {
		f.say("%s", spoken(n))
	}
}

// towards says what is worked towards, and how far it is.
func towards(t today.Towards) string {
	says := fmt.Sprintf("Towards %s at %g BPM", t.Title, t.Tempo)
	if t.By != "" {
		says += " by " + memory.Dated(t.By, longDay)
	}
	return says + ": " + t.Says + "."
}

// longDay is how a day is said.
const longDay = "Monday, January 2"

// capital begins a text with a capital letter.
func capital(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
	return string(r)
}

// offer says the step of the day that waits.
func (f *Face) offer() {
	f.say("%d. %s, %s. Enter starts, skip leaves it out, %s ends.", f.step.N, spoken(strings.TrimSuffix(f.step.Step.Text, ".")), harmony.Counted(f.step.Step.Minutes, "minute"), Quit)
}

// start asks whether a step that waits is started, and tells a lesson's text.
func (f *Face) start() session.Command {
	for {
		text, ok := f.line()
		switch {
		case !ok || strings.EqualFold(text, Quit):
			return session.Quit{}
		case strings.EqualFold(text, "skip"):
			return session.Skip{}
		case text == "" || strings.EqualFold(text, "start") || strings.EqualFold(text, "go"):
			for _, paragraph := range f.step.Text {
				f.say("")
				f.say("%s", spoken(paragraph))
			}
			return session.Start{}
		case text == "?" || slices.Contains([]string{helpWord, whereWord, againWord, "list"}, strings.ToLower(text)):
			f.say("Step %d of %d waits. %s.", f.step.N, f.steps, capital(f.step.Step.Why))
		default:
			f.say("%q starts nothing.", text)
		}
		f.offer()
	}
}

// stepEnd sums up what a step asked.
func (f *Face) stepEnd(e session.StepEnd) {
	if e.Sum != nil {
		f.say("")
		f.summary(*e.Sum)
	}
	if !e.Done && e.Step.N > 0 {
		defer f.say("Step %d is still open: %s offers it again.", e.Step.N, todayWord)
	}
	if e.Sum == nil {
		return
	}
	if e.Step.Criterion != "" {
		met := "Not yet finished, which is: "
		if e.Done {
			met = "Finished: "
		}
		if e.Step.SoFar != "" {
			met += e.Step.SoFar + "; "
		}
		f.say("%s%s.", met, e.Step.Criterion)
	}
}
