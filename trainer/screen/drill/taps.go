package drill

import (
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"footfall/trainer/guard"
	"footfall/trainer/session"
)

// beat is where the music of some taps is; over is set when it has ended.
type beat struct {
	of   *session.Tapping
	at   session.TapBeat
	over bool
}

// begin lets the music of a rhythm begin.
func (p *Page) begin() tea.Cmd {
	t, err := p.session.Tap()
	if err != nil {
		p.hint = err.Error()
		return nil
	}
	p.taps, p.beat, p.state, p.hint = t, session.TapBeat{}, tapping, ""
	guard.Go(func() {
		for at := range t.Beats() {
			p.send(beat{of: t, at: at})
		}
		p.send(beat{of: t, over: true})
	})
	return nil
}

// beats takes a beat of the music, and at its end hands on what was tapped.
func (p *Page) beats(b beat) tea.Cmd {
	switch {
	case b.of != p.taps || p.state != tapping:
		return nil
	case b.over:
		return p.reply(b.of.Reply())
	}
	p.beat = b.at
	return nil
}

// rest ends the music before its time: nothing is judged.
func (p *Page) rest() tea.Cmd {
	t := p.taps
	p.taps, p.state = nil, asking
	return func() tea.Msg {
		t.Close()
		return nil
	}
}

// rows draw the rhythm that is asked for, or how it was tapped; while it is, the count
// shows where the music is.
func (p *Page) rows() (lines []string) {
	rows := p.asked.Ask.Rows
	if p.state == judged && len(p.judged.Judgement.Rows) > 0 {
		rows = p.judged.Judgement.Rows
	}
	for i, row := range rows {
		line := "  " + row
		if i == 0 {
			line = "  " + p.theme.Dim.Render(row)
			if at := p.counted(); p.state == tapping && at > 0 && at < len(row) {
				line = "  " + p.theme.Dim.Render(row[:at]) + p.theme.Selected.Reverse(true).Render(row[at:at+1]) + p.theme.Dim.Render(row[at+1:])
			}
		}
		lines = append(lines, line)
	}
	if p.state == judged && len(p.judged.Judgement.Rows) > 0 {
		lines = append(lines, "", "  "+p.theme.Dim.Render(p.fit("x hit, < early, > late, o missing, ! too many")))
	}
	return lines
}

// counted is the column of the count at which the music is, 0 for none.
func (p *Page) counted() int {
	const before, half = 7, 2 // the columns before the count, and of each half beat
	if p.beat.Beat == 0 {
		return 0
	}
	at := before + 2*half*(p.beat.Beat-1)
	if p.beat.Off {
		at += half
	}
	return at
}

// tapLines tell where the music is.
func (p *Page) tapLines() []string {
	where := "Listen"
	switch b := p.beat; {
	case b.Beat > 0 && b.Bar < 1:
		where = fmt.Sprintf("Count-in: %d", b.Beat)
	case b.Beat > 0:
		where = fmt.Sprintf("Bar %d of %d, beat %d", b.Bar, p.taps.Bars(), b.Beat)
	}
	lines := []string{"  " + p.theme.Strong.Render(where), "", "  " + p.theme.Dim.Render("Tap with the space bar, or play; esc stops.")}
	if says := p.taps.Status(); says != "" {
		lines = append(lines, "  "+p.theme.Warn.Render(p.fit(says)))
	}
	return lines
}
