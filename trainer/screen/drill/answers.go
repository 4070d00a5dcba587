package drill

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/fretboard"
)

// verdictLines tell how an answer went.
func (p *Page) verdictLines() []string {
	word, look := p.verdictOf(p.judged.Answer)
	head := "  " + look.Render(word)
	if !p.judged.Answer.Item.Kind.InTime() {
		head += p.theme.Dim.Render(fmt.Sprintf(" %s %.1f s", p.theme.Glyphs.Dot, p.judged.Answer.Took.Seconds()))
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

// verdictOf is an answer's verdict as it is shown.
func (p *Page) verdictOf(a drills.Answer) (word string, look lipgloss.Style) {
	switch a.Verdict {
	case memory.Sure:
		return "Correct", p.theme.Role(fretboard.Right)
	case memory.Slow:
		if a.Item.Kind.InTime() {
			return "Nearly", p.theme.Role(fretboard.Right)
		}
		return "Correct, slow", p.theme.Role(fretboard.Right)
	}
	return "Wrong", p.theme.Role(fretboard.Wrong)
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
	lines := []string{"", "  " + p.theme.Dim.Render("Answers so far, the latest first")}
	for i := len(answers) - 1; i >= 0 && len(lines) < room; i-- {
		word, look := p.verdictOf(answers[i])
		text := fmt.Sprintf("%6.1f s  %s", answers[i].Took.Seconds(), answers[i].Prompt)
		if answers[i].Item.Kind.InTime() {
			text = fmt.Sprintf("%8s  %s", "", answers[i].Prompt)
		}
		if answers[i].Given != "" {
			text += " " + p.theme.Glyphs.Dot + " " + answers[i].Given
		}
		lines = append(lines, "  "+look.Render(fmt.Sprintf("%-11s", word))+ansi.Truncate(p.theme.Words(text), p.width-17, p.theme.Words("…")))
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
