package play

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"footfall/drills/take"
	"footfall/trainer/screen/page"
)

// ending is what the passes came to, with a list of them in which each can be given its
// word, or another.
type ending struct {
	// back is how many passes before the last one stands picked.
	back, top int
}

func (e *ending) keys(p *Page) []key.Binding {
	bad := page.Bad.Key(p.theme, "loop the worst bars")
	bad.SetEnabled(len(p.along.Sum().Worst) > 0)
	return []key.Binding{
		page.Clean.Key(p.theme, "clean"), page.Unclean.Key(p.theme, "not clean"), page.UpDown.Key(p.theme, "pass"), page.Act.Key(p.theme, "go on"), bad,
		page.FirstLast.Key(p.theme, "first, last"), page.PageUpDown.Key(p.theme, "a page up, down"),
	}
}

// endingKey takes a key of the sum.
func (p *Page) endingKey(msg tea.KeyMsg) {
	e, n := p.ending, len(p.along.Results())
	if p.namesBar(msg) {
		return
	}
	switch {
	case page.Clean.Is(msg), page.Unclean.Is(msg):
		p.along.JudgePass(n-e.back, page.Clean.Is(msg))
		if page.Unclean.Is(msg) {
			p.naming = n - e.back
		}
		e.back = min(n-1, e.back+1)
	case page.Act.Is(msg):
		if _, late := p.along.Delay(); late {
			p.along.KeepDelay()
			return
		}
		if p.done {
			p.back()
			return
		}
		p.ending = nil
	case page.Bad.Is(msg):
		if worst := take.WorstRun(p.along.Sum().Worst); worst.First > 0 {
			p.loop(worst)
		}
	default:
		e.back = page.Moved(msg, e.back, n, max(1, p.height/2))
	}
}

func (e *ending) view(p *Page) string {
	t := p.theme
	var lines []string
	for _, l := range p.along.Sum().Lines() {
		for _, w := range strings.Split(page.Wrapped(t.Words(l), max(20, p.width-4)), "\n") {
			lines = append(lines, "  "+w)
		}
	}
	lines[0] = t.Strong.Render(lines[0])
	if line := p.delayed(); line != "" {
		lines = append(lines, line)
	}
	if p.naming > 0 {
		lines = append(lines, "  "+t.Strong.Render(p.whichBar()))
	}
	lines = append(lines, "", t.Dim.Render(fmt.Sprintf("    %-6s %-6s %-6s %-18s %s", "pass", "BPM", "length", "bars", "word")))
	results := p.along.Results()
	room := max(1, p.height-len(lines))
	e.top = min(max(e.top, e.back-room+1), e.back)
	for i := e.top; i < len(results) && i < e.top+room; i++ {
		r := &results[len(results)-1-i]
		row := fmt.Sprintf("%-6d %-6g %-6s %-18s %s", r.Pass, r.Tempo, minutes(r.Length), p.barsWords(r.Bars), verdictWords(r))
		if r.Why != "" {
			row += ": " + r.Why
		}
		row = ansi.Truncate(t.Words(row), max(1, p.width-4), t.Words("…"))
		line := "    " + row
		if i == e.back {
			line = "  " + t.Selected.Render(t.Glyphs.Pointer+" "+row)
		}
		lines = append(lines, page.Clickable(page.Row, i, line))
	}
	return strings.Join(lines, "\n")
}
