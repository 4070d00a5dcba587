package drill

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills"
	"footfall/fretboard"
)

// verdictLines tell how an answer went.
func (p *Page) verdictLines() []string {
	a := p.judged.Answer
	head := "  " + p.lookOf(a).Render(a.Says())
	if pace := a.Pace(); pace != "" {
		head += p.theme.Dim.Render(" " + p.theme.Glyphs.Dot + " " + pace)
	}
	lines := []string{head}
	for l := range strings.SplitSeq(p.wrap(p.judged.Why), "\n") {
		lines = append(lines, "  "+l)
	}
	if p.trouble != "" {
		lines = append(lines, "  "+p.theme.Warn.Render(p.fit(p.trouble)))
	}
	return lines
}

// lookOf is how the verdict on an answer is drawn: calm where the player did not know.
func (p *Page) lookOf(a drills.Answer) lipgloss.Style {
	switch {
	case a.Unknown:
		return p.theme.Strong
	case a.Right():
		return p.theme.Role(fretboard.Right)
	}
	return p.theme.Role(fretboard.Wrong)
}

// roomy is the rows from which a question has the answers before it below.
const roomy = 30

// leastBefore is the rows that the answers before are worth, a blank one and
// their heading included.
const leastBefore = 6

// before lists the answers of the sitting, the latest first, where there is room.
func (p *Page) before(room int) []string {
	answers := p.answers
	if room < leastBefore || len(answers) == 0 {
		return nil
	}
	lines := []string{"", "  " + p.theme.Dim.Render("Answers, the latest first")}
	for i := len(answers) - 1; i >= 0 && len(lines) < room; i-- {
		word, look := answers[i].Says(), p.lookOf(answers[i])
		if answers[i].Unknown {
			word = "Not known"
		}
		text := fmt.Sprintf("%6.1f s  %s", answers[i].Took.Seconds(), answers[i].Prompt)
		if answers[i].Item.Kind.InTime() {
			text = fmt.Sprintf("%8s  %s", "", answers[i].Prompt)
		}
		if answers[i].Given != "" {
			text += " " + p.theme.Glyphs.Dot + " " + answers[i].Given
		}
		lines = append(lines, "  "+look.Render(fmt.Sprintf("%-13s", word))+ansi.Truncate(p.theme.Words(text), p.width-19, p.theme.Words("…")))
	}
	return lines
}

// summaryView tells how the sitting went.
func (p *Page) summaryView() string {
	lines := []string{"  " + p.theme.Strong.Render("How it went"), ""}
	for _, says := range p.summary.Lines() {
		for l := range strings.SplitSeq(p.wrap(says), "\n") {
			lines = append(lines, "  "+l)
		}
	}
	if p.trouble != "" {
		lines = append(lines, "", "  "+p.theme.Warn.Render(p.fit(p.trouble)))
	}
	return strings.Join(append(lines, p.before(p.height-len(lines))...), "\n")
}
