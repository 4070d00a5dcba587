package aside

import (
	"fmt"

	"footfall/drills/lesson"
	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/drills/today"
	"footfall/harmony"
	"footfall/trainer/screen/page"
	"footfall/trainer/screen/theme"
)

// Week tells the days of a week, those without practice too.
func Week(t *theme.Theme, days []progress.SpanRow) Block {
	b := Block{Title: "This week"}
	for _, d := range days {
		day, err := memory.ParseDay(d.Span)
		if err != nil {
			continue
		}
		line, look := day.Date().Format("Mon"), t.Dim
		if d.Minutes > 0 || d.Asked > 0 || d.Passes > 0 {
			line, look = fmt.Sprintf("%s %4.0f min", line, d.Minutes), t.Text
		}
		if d.Asked > 0 {
			line += fmt.Sprintf("   %3d of %d right", d.Right, d.Asked)
		}
		if d.Passes > 0 {
			line += "   " + harmony.Counted(d.Passes, "pass")
		}
		b.Lines = append(b.Lines, Line{look, line})
	}
	return b
}

// Work tells how far the tunes in work are, but one that is told of elsewhere.
func Work(t *theme.Theme, far []today.Towards, but string) Block {
	b := Block{Title: "In work"}
	for _, f := range far {
		if f.Tune != but {
			b.Lines = append(b.Lines, Line{t.Strong, f.Title}, Line{t.Text, page.Sentence(f.Says)})
		}
	}
	return b
}

// Taught is what a lesson says, to be read again while it is practiced.
func Taught(t *theme.Theme, l *lesson.Lesson) Block {
	b := Block{Title: l.Title}
	for i, text := range l.Text {
		if i > 0 {
			b.Lines = append(b.Lines, Line{})
		}
		b.Lines = append(b.Lines, Line{t.Text, text})
	}
	return b
}

// mostAsked is how many of the things that a step asks are listed.
const mostAsked = 12

// Asks lists what a step of the day asks.
func Asks(t *theme.Theme, s today.Step) Block {
	b := Block{Title: "What it asks"}
	for i, it := range s.Items {
		if i == mostAsked {
			b.Lines = append(b.Lines, Line{t.Dim, fmt.Sprintf("and %d more", len(s.Items)-i)})
			break
		}
		b.Lines = append(b.Lines, Line{t.Text, it.Text()})
	}
	return b
}
