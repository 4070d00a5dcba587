package review

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/trainer/screen/aside"
	"footfall/trainer/screen/page"
)

// several reports whether there is room for more than one subject, each picture with its
// table beside it.
func (p *Page) several() bool { return aside.Fits(p.width, p.height) }

// headed is the rows that a table has above and below its own, of which it is worth so many
// at least.
const headed, leastRows = 4, 3

// each is the rows that a subject has where several are shown, a blank one below counted.
func (p *Page) each() int {
	rows := p.height - 2
	return rows / (rows / leastPlot)
}

// subjects draws the present subject and as many of those that follow as have room, and
// at the end what a teacher would say.
func (p *Page) subjects() (lines []string) {
	rows := p.height - 2
	var says []string
	if p.advice != "" {
		says = strings.Split(page.Wrapped(p.theme.Words(p.advice), p.width-4), "\n")
		for i, l := range says {
			says[i] = "  " + p.theme.Strong.Render(l)
		}
		rows -= len(says) + 1
	}
	for n := 0; n < len(p.topics); {
		left := rows - len(lines) - min(1, len(lines))
		least := headed + leastRows
		if len(p.nth(n).plots) > 0 {
			least = leastPlot - headed
		}
		if n > 0 && left < least {
			break
		}
		room := left
		if n > 0 || p.plotted() {
			room = min(p.each()-1, left)
		}
		block, took := p.block(n, room)
		if len(block) > left {
			break
		}
		if len(lines) > 0 {
			lines = append(lines, "")
		}
		lines = append(lines, block...)
		n += took
	}
	lines = lines[:min(len(lines), rows)]
	if says != nil {
		lines = append(append(lines, ""), says...)
	}
	return lines
}

// nth is the subject so many after the present one, round and round, without its plots
// while tables are shown.
func (p *Page) nth(n int) topic {
	t := p.topics[(p.topic+n)%len(p.topics)]
	if p.table {
		t.plots = nil
	}
	return t
}

// block draws a subject in so many rows at most: its picture with its table beside it,
// or two tables side by side where the next one has no picture either. It tells how many
// subjects that are.
func (p *Page) block(n, rows int) (lines []string, took int) {
	t, next, at := p.nth(n), p.nth(n+1), p.width*3/5
	shown := max(1, rows-headed)
	table := func(t topic, width int) []string {
		from := 0
		switch {
		case n == 0 && len(t.plots) == 0 && t.name == p.nth(0).name:
			from = p.top
		case t.table.OfTime():
			from = max(0, len(t.table.Rows)-shown)
		}
		title := p.theme.Heading.Render(ansi.Truncate(p.theme.Words(t.table.Title), width, p.theme.Words("…")))
		return append([]string{title, ""}, strings.Split(p.drawTable(t.table, width, from, shown), "\n")...)
	}
	if len(t.plots) > 0 {
		if n > 0 {
			t.plots = t.plots[:1]
		} else {
			rows = max(rows, min(p.stacked(t)*leastPlot, p.height-6))
		}
		plots := strings.Split(p.plotView(t, at, rows), "\n")
		return page.Beside(p.theme, plots, at, table(t, p.width-at-4), rows), 1
	}
	left := strings.Split(indent(strings.Join(table(t, p.width-4), "\n")), "\n")
	if len(next.plots) == 0 && n+1 < len(p.topics) && lipgloss.Width(strings.Join(left, "\n")) <= at {
		return page.Beside(p.theme, left, at, table(next, p.width-at-4), rows), 2
	}
	return left, 1
}
