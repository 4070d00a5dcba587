package plain

import (
	"fmt"
	"strings"
	"unicode"

	"footfall/drills/today"
	"footfall/trainer/session"
)

// Plan prints the day's plan.
func (f *Face) Plan(p today.Plan) {
	f.say("Today, %s: %s.", p.Day, counted(p.Total(), "minute"))
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
			done = fmt.Sprintf(" Done: %s.", s.Criterion)
		}
		f.say("%s%s, %s. %s.%s", number, strings.TrimSuffix(s.Text, "."), counted(s.Minutes, "minute"), capital(s.Why), done)
	}
	for _, n := range p.Notes {
		f.say("%s", n)
	}
}

// towards says what is worked towards, and how far it is.
func towards(t today.Towards) string {
	says := fmt.Sprintf("Towards %s at %g BPM", t.Title, t.Tempo)
	if t.By != "" {
		says += " by " + t.By
	}
	return says + ": " + t.Says + "."
}

// capital begins a text with a capital letter.
func capital(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
	return string(r)
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// start asks whether a step that waits is started, and tells a lesson's text.
func (f *Face) start(e session.Step) session.Command {
	text, ok := f.line()
	switch {
	case !ok || strings.EqualFold(text, Quit):
		return session.Quit{}
	case strings.EqualFold(text, "skip"):
		return session.Skip{}
	}
	for _, paragraph := range e.Text {
		f.say("")
		f.say("%s", paragraph)
	}
	return session.Start{}
}

// stepEnd sums up what a step asked.
func (f *Face) stepEnd(e session.StepEnd) {
	if e.Sum == nil {
		return
	}
	f.say("")
	f.summary(*e.Sum)
	if e.Step.Criterion != "" {
		met := "Not yet: "
		if e.Done {
			met = "Done: "
		}
		if e.Step.SoFar != "" {
			met += e.Step.SoFar + "; "
		}
		f.say("%s%s.", met, e.Step.Criterion)
	}
}
