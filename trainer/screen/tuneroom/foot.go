package tuneroom

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/harmony/tune"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/page"
)

// foot draws the place in words, and below it what there is to say.
func (p *Page) foot() []string {
	t := p.Theme
	var lines []string
	if p.typing {
		lines = append(lines, "  "+p.where()+"   "+p.typed())
	} else {
		lines = strings.Split("  "+strings.ReplaceAll(page.Wrapped(p.where()+"   "+t.Words(p.token()), p.width-4), "\n", "\n  "), "\n")
	}
	says, look := p.says()
	rows := 3
	if p.judging && !p.wide() && !p.typing && p.said == "" {
		rows = max(7, p.height/3)
		for _, l := range p.judgement(p.width-4, rows) {
			lines = append(lines, "  "+l)
		}
	} else if says != "" {
		for _, l := range p.broken(says, p.width-4, look, rows) {
			lines = append(lines, "  "+l)
		}
	}
	for len(lines) < rows+1 {
		lines = append(lines, "")
	}
	return lines
}

// typed is what is typed with the caret, as much around it as has room.
func (p *Page) typed() string {
	t := p.Theme
	v, at := []rune(p.input.Value()), p.input.Position()
	before, after := t.Words(string(v[:at])), t.Words(string(v[at:]))
	room, dots := p.width-4-lipgloss.Width(p.where())-3-lipgloss.Width(t.Glyphs.Caret), t.Words("…")
	if over := lipgloss.Width(before) - room; over > 0 {
		before = ansi.TruncateLeft(before, over+lipgloss.Width(dots), dots)
	}
	after = ansi.Truncate(after, max(0, room-lipgloss.Width(before)), dots)
	return t.Strong.Render(before + t.Glyphs.Caret + after)
}

// broken breaks a text into at most some lines of a width.
func (p *Page) broken(text string, width int, look lipgloss.Style, most int) []string {
	lines := strings.Split(page.Wrapped(p.Theme.Words(text), width), "\n")
	if len(lines) > most {
		lines = append(lines[:most-1], ansi.Truncate(lines[most-1]+p.Theme.Words(" …"), width, p.Theme.Words("…")))
	}
	for i, l := range lines {
		lines[i] = look.Render(l)
	}
	return lines
}

// says is what there is to say below the place.
func (p *Page) says() (string, lipgloss.Style) {
	t := p.Theme
	if p.typing {
		if p.refused != nil {
			return "Not yet: " + p.refused.Error(), t.Warn
		}
		if _, err := p.would.Line(p.Neck.BassRange()); err != nil {
			return "It would leave the bass strings: " + err.Error(), t.Warn
		}
		return "", t.Text
	}
	switch s := p.sounding(); {
	case p.said != "":
		return p.said, t.Strong
	case p.chosen() != nil:
		return p.chosen().says(), t.Strong
	case p.trouble != "":
		return p.trouble, t.Warn
	case s.fault != nil:
		return "This cannot be played yet: " + s.fault.Error(), t.Warn
	case s.unplayable != nil:
		return "With its hits this cannot be played yet: " + s.unplayable.Error(), t.Warn
	}
	return "", t.Text
}

// where names the place.
func (p *Page) where() string {
	at := p.doc.At()
	s := p.Theme.Strong.Render(fmt.Sprintf("%s %d", p.Theme.Words(tune.SectionTitle(p.doc.Tune().Sections[at.Section].Name)), at.Bar+1))
	if at.Row != tune.WordsRow {
		s += fmt.Sprintf("  beat %d", at.Beat+1)
	}
	return s + "  " + at.Row.String()
}

// token tells the token at the place and what it sounds like.
func (p *Page) token() string {
	at := p.doc.At()
	b := p.doc.Bar(at)
	parts := []string{p.doc.Token()}
	if at.Row == tune.BassRow && strings.ContainsAny(parts[0], `/\`) || at.Row == tune.HitsRow { // which the bars show in signs
		parts[0] = "typed " + parts[0]
	}
	if at.Row == tune.BassRow {
		i := p.doc.Index(at)
		for _, off := range []bool{false, true} {
			s := spot{i, at.Beat, off}
			h, ok := p.sounding().notes[s]
			if !ok {
				continue
			}
			says := fmt.Sprintf("%s over %s", h.note, h.chord)
			if h.placed {
				says += fmt.Sprintf(", string %d fret %d", h.place.String, h.place.Fret)
			}
			parts = append(parts, says)
			if reason := p.composed.reasons[s]; reason != "" && p.composed.text == p.doc.Text() {
				parts = append(parts, reason)
			}
		}
	}
	switch c := b.Copies[at.Row]; c.Kind {
	case tune.Simile:
		parts = append(parts, "% of the bar before")
	case tune.CopyOf:
		parts = append(parts, fmt.Sprintf("copy of %s %d", tune.SectionTitle(c.Section), c.Bar))
	case tune.HoldsOver:
		if at.Beat == 0 {
			parts = append(parts, "holds over the bar line")
		}
	}
	return strings.Join(parts, "   ")
}

// judgement draws the judge's remarks on the bar.
func (p *Page) judgement(width, rows int) []string {
	remarks := p.remarks()
	if len(remarks) == 0 {
		return p.broken("The judge has nothing to say about this bar.", width, p.Theme.Text, rows)
	}
	var lines []string
	for _, r := range remarks {
		look := p.Theme.Text
		if r.Rule.Grave {
			look = p.Theme.Warn
		}
		says := fmt.Sprintf("%-5s  beat %d%s: %s (%s)", r.Rule.Kind(), r.At.Beat, map[bool]string{true: " and"}[r.At.Off], r.Says, r.Rule.Told())
		lines = append(lines, p.broken(says, width, look, 3)...)
		if r.Better != nil {
			lines = append(lines, p.broken("       suggestion: "+bars.Cell(p.Theme, r.Better), width, p.Theme.Text, 1)...)
		}
	}
	if len(lines) > rows {
		says := ansi.Truncate("more than fits here: a taller terminal shows it all", width, p.Theme.Words("…"))
		lines = append(lines[:rows-1], p.Theme.Dim.Render(says))
	}
	return lines
}
