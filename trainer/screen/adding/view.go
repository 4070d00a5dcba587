package adding

import (
	"fmt"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/harmony"
	"footfall/harmony/tune"
	"footfall/trainer/screen/page"
)

// View draws the text, or the question and what it is about.
func (p *Page) View() string {
	if p.adding == nil {
		return p.textView()
	}
	rows := []string{""}
	var chart, notes []string
	if t := p.adding.Tune; t != nil {
		rows = append(rows, "  "+p.Theme.Strong.Render(t.Title)+"  "+p.Theme.Dim.Render(fmt.Sprintf("%s  %s  %g BPM", t.Key, t.Meter, t.Tempo)), "")
		chart = p.chart(t)
		for _, l := range p.adding.Losses {
			if l.Kind == "" {
				notes = append(notes, p.wrapped(p.Theme.Dim, l.String())...)
			}
		}
	}
	foot := p.foot()
	room := max(1, p.height-len(rows)-len(foot))
	if p.longChart() {
		p.top = max(0, min(p.top, len(chart)-(room-1)))
		more := chart[min(len(chart), p.top+room-1):]
		chart = chart[p.top:min(len(chart), p.top+room-1)]
		says := "pgup shows the bars before"
		if len(more) > 0 {
			says = fmt.Sprintf("pgdown shows %s more", harmony.Counted(len(more), "line"))
		}
		chart = append(chart, "  "+p.Theme.Dim.Render(says))
	} else if len(notes) > 0 {
		chart = append(append(chart, ""), notes...)
	}
	rows = append(rows, chart[:min(len(chart), room)]...)
	return strings.Join(append(rows, foot...), "\n")
}

func (p *Page) textView() string {
	rows := append([]string{""}, p.wrapped(p.Theme.Dim, "Type or paste the chords as you write them, or a file's path (MusicXML, MIDI, text).")...)
	if p.says != "" {
		rows = append(rows, p.wrapped(p.Theme.Text, p.says)...)
	}
	rows = append(append(rows, ""), indented(p.text.View())...)
	if p.fault != "" {
		rows = append(append(rows, ""), p.wrapped(p.Theme.Strong, p.fault)...)
	}
	return strings.Join(rows[:min(len(rows), p.height)], "\n")
}

// foot is the question, its answer so far and what was wrong with the last one.
func (p *Page) foot() []string {
	foot := []string{""}
	if ask, more := p.adding.Next(); more {
		foot = append(foot, p.wrapped(p.Theme.Text, ask.Says)...)
		foot = append(foot, p.answer.View())
	}
	if p.fault != "" {
		foot = append(foot, p.wrapped(p.Theme.Strong, p.fault)...)
	}
	return foot
}

// longChart reports whether the chart has more lines than there is room for.
func (p *Page) longChart() bool {
	return p.adding.Tune != nil && len(p.chart(p.adding.Tune)) > p.height-3-len(p.foot())
}

// turned shows the lines before or after those that show.
func (p *Page) turned(k tea.KeyMsg) {
	rows := max(1, p.height-4-len(p.foot()))
	p.top = max(0, p.top+map[string]int{"pgup": -rows, "pgdown": rows}[k.String()])
}

// cells are the chords of each bar of the form, none for no tune.
func cells(t *tune.Tune) (out []string) {
	if t == nil {
		return nil
	}
	for _, fb := range t.Unroll() {
		out = append(out, tune.ChordCell(fb.Bar.Chords))
	}
	return out
}

// chart writes the bars with their numbers, four to a row; those that were changed stand
// out.
func (p *Page) chart(t *tune.Tune) (rows []string) {
	row, used := "", 0
	section, all := "", cells(t)
	for i, fb := range t.Unroll() {
		cell := p.Theme.Words(all[i])
		if w := ansi.StringWidth(cell) + 3; row == "" || fb.Number%4 == 1 || used+w > p.width-3 || fb.Section != section && fb.SectionBar == 1 {
			if row != "" {
				rows = append(rows, row)
			}
			name := "  "
			if fb.SectionBar == 1 {
				name = ansi.Truncate(fb.Section, 2, "")
			}
			row = "  " + p.Theme.Strong.Render(fmt.Sprintf("%-2s", name)) + p.Theme.Dim.Render(fmt.Sprintf("%4d ", fb.Number))
			used, section = ansi.StringWidth(row), fb.Section
		}
		look := p.Theme.Text
		if len(p.before) == len(all) && p.before[i] != all[i] {
			look = p.Theme.Selected
		}
		row += p.Theme.Dim.Render("| ") + look.Render(cell) + " "
		used += ansi.StringWidth(cell) + 3
	}
	return slices.Clip(append(rows, row))
}

func (p *Page) wrapped(look lipgloss.Style, text string) []string {
	rows := indented(page.Wrapped(p.Theme.Words(text), max(20, p.width-4)))
	for i, r := range rows {
		rows[i] = look.Render(r)
	}
	return rows
}

func indented(text string) []string {
	rows := strings.Split(text, "\n")
	for i, r := range rows {
		rows[i] = "  " + r
	}
	return rows
}
