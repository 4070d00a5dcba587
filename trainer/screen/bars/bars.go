// Package bars draws bars of an arrangement, as many side by side and below each
// other as there is room for: chords, degrees with their direction, and hits, in
// a column a beat. It draws what it is given and knows no music.
package bars

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/fretboard"
	"footfall/harmony/tune"
	"footfall/trainer/screen/theme"
)

// labelWidth is the columns before the first bar, margin included.
const labelWidth = 10

// The columns of a beat: at least as narrow, and at most, unless what stands in
// it takes more.
const (
	narrow = 5
	wide   = 10
)

// Chart says what to draw.
type Chart struct {
	Arrangement *fretboard.Arrangement
	// Form is all bars, First and Last those that are drawn, from 1.
	Form        []tune.FormBar
	First, Last int
	// At is the present place, which is drawn whatever else is; Picked picks its
	// beat out.
	At     tune.Position
	Picked bool
	// Heard is what was heard at a place, in a few letters; nil leaves its row out.
	Heard func(tune.Position) string
	// Width is the columns there are, Height the rows; one line of bars is drawn
	// even where it has more.
	Width, Height int
	// Pass counts the passes, from 1, for Roll.
	Pass int
}

// part is some beats of a bar, from 0; it is all of them where a bar fits. Its sign, if it
// has one, stands before its title.
type part struct {
	bar      tune.FormBar
	from, to int
	sign     string
}

// layout is how bars are laid out.
type layout struct {
	cell      int // columns of a beat
	chordRows int
	lines     [][]part
	here      int // the line with the present place
}

// Draw draws the line of bars with the present place, and those around it that
// there is room for.
func Draw(t *theme.Theme, c Chart) []string {
	c.First, c.Last = min(c.First, c.At.Bar), max(c.Last, c.At.Bar)
	l := c.layout(t)
	high := c.high(l)
	shown := min(len(l.lines), max(1, (c.Height+1)/high))
	turn := max(1, shown-1) // a page of lines, of which the last stands on the next one too
	first := min(l.here/turn*turn, len(l.lines)-shown)
	var rows []string
	for i, line := range l.lines[first : first+shown] {
		if i > 0 {
			rows = append(rows, "")
		}
		rows = append(rows, c.line(t, l, line)...)
	}
	return rows
}

// Below is the place that stands so many lines of bars below the present one, or above
// it: in the same column, or at the end of a line that is shorter. Where there is no such
// line it is the present place.
func Below(t *theme.Theme, c Chart, by int) tune.Position {
	l := c.layout(t)
	to := l.here + by
	if to < 0 || to >= len(l.lines) {
		return c.At
	}
	column := c.At.Beat - 1
	for _, p := range l.lines[l.here] {
		if p.bar.Number == c.At.Bar {
			column -= p.from
			break
		}
		column += p.to - p.from
	}
	var at tune.Position
	for _, p := range l.lines[to] {
		at = tune.Position{Bar: p.bar.Number, Beat: p.from + 1 + min(column, p.to-p.from-1)}
		if column -= p.to - p.from; column < 0 {
			break
		}
	}
	return at
}

// high is the rows of a line of bars, the blank one below counted.
func (c Chart) high(l layout) int {
	if c.Heard != nil {
		return 6 + l.chordRows
	}
	return 5 + l.chordRows
}

func (c Chart) layout(t *theme.Theme) layout {
	beats, room := 1, c.Width-labelWidth-2
	for _, b := range c.Form[c.First-1 : c.Last] {
		beats = max(beats, b.Meter.Beats())
	}
	least := c.least(narrow)
	most := max(wide, least)
	count := max(2, (room+3)/(most*beats+3))
	if (room/4-3)/beats >= least {
		count = max(count, 4) // as most music is written
	}
	l := layout{cell: min(most, (room/count-3)/beats)}
	per := beats
	if l.cell < least {
		count = 1
		for n := 1; ; n++ {
			per = (beats + n - 1) / n
			if l.cell = min(most, (room-3)/per); l.cell >= least || per == 1 {
				break
			}
		}
	}
	for n := c.First; n <= c.Last; n += count {
		for from := 0; from < beats; from += per {
			var line []part
			for _, b := range c.Form[n-1 : min(n-1+count, c.Last)] {
				if to := min(b.Meter.Beats(), from+per); to > from {
					line = append(line, part{bar: b, from: from, to: to})
				}
			}
			if line == nil {
				continue
			}
			if c.At.Bar >= n && (c.At.Bar > n || c.At.Beat > from) {
				l.here = len(l.lines)
			}
			l.lines = append(l.lines, line)
		}
	}
	l.chordRows = c.chordRows(t, l.cell, l.lines)
	return l
}

// chordRows is the rows that the chords of some lines take.
func (c Chart) chordRows(t *theme.Theme, cell int, lines [][]part) int {
	for _, line := range lines {
		for _, p := range line {
			if len(c.chords(t, cell, p)) > 1 {
				return 2
			}
		}
	}
	return 1
}

// least is the columns that a beat needs for its bass tokens, no fewer than given.
func (c Chart) least(least int) int {
	for _, b := range c.Form[c.First-1 : c.Last] {
		for _, beat := range b.Bar.Bass {
			w := lipgloss.Width(beat.First.String()) + 1
			if beat.Split {
				w = max(w, least/2) + lipgloss.Width(beat.Second.String()) + 1
			}
			least = max(least, w)
		}
	}
	return least
}

// line draws bars side by side, with the labels of the rows before them.
func (c Chart) line(t *theme.Theme, l layout, parts []part) []string {
	labels := []string{"", "beat", tune.ChordsRow.String()}
	for len(labels) < 2+l.chordRows {
		labels = append(labels, "")
	}
	labels = append(labels, tune.BassRow.String(), "comping")
	if c.Heard != nil {
		labels = append(labels, "heard")
	}
	rows := make([]string, len(labels))
	for i, label := range labels {
		rows[i] = t.Dim.Render(fmt.Sprintf("  %-*s", labelWidth-2, label))
	}
	bar := " " + t.Dim.Render("|") + " "
	for _, p := range parts {
		for i, r := range c.part(t, l, p, t.Text, t.Strong) {
			rows[i] += r + bar
		}
	}
	for i := range rows {
		rows[i] = strings.TrimSuffix(rows[i], " ")
	}
	return rows
}

// token writes a token of the bass row with arrows for its directions: "↑5".
func token(t *theme.Theme, b tune.BassToken) string {
	text := b.String()
	switch b.Direction {
	case tune.Rise:
		return t.Glyphs.Rise + text[1:]
	case tune.Fall:
		return t.Glyphs.Fall + text[1:]
	}
	return text
}

// Bass writes what the bass row has on a beat, with arrows: "↑5,b7".
func Bass(t *theme.Theme, b tune.BassBeat) string {
	if b.Split {
		return token(t, b.First) + "," + token(t, b.Second)
	}
	return token(t, b.First)
}

// Cell writes a bar of the bass row, with arrows: "1 ↑3 5,b7 -".
func Cell(t *theme.Theme, bar []tune.BassBeat) string {
	beats := make([]string, len(bar))
	for i, b := range bar {
		beats[i] = Bass(t, b)
	}
	return strings.Join(beats, " ")
}

// part draws a bar, or some beats of one, each row as wide as the others:
// titled and strong are the looks of its first row and its chords.
func (c Chart) part(t *theme.Theme, l layout, p part, titled, strong lipgloss.Style) []string {
	width := l.cell * (p.to - p.from)
	title := fmt.Sprintf("%s%s %d", p.sign, tune.SectionTitle(p.bar.Section), p.bar.Number)
	if n := p.bar.Number; n > 1 && c.Form[n-2].Meter != p.bar.Meter {
		title += "  " + p.bar.Meter.String()
	}
	if p.to-p.from < p.bar.Meter.Beats() {
		title += fmt.Sprintf(", beats %d to %d", p.from+1, p.to)
	}
	if p.bar.Bar.Words != "" {
		title = t.Words(title) + "  " + wholeWords(t.Words(p.bar.Bar.Words), width-lipgloss.Width(t.Words(title))-2, t.Words("…"))
	}
	count, degrees, hits, heard := "", "", "", ""
	struck := c.Arrangement.Hits(p.bar)
	for i := p.from; i < p.to; i++ {
		at := tune.Position{Bar: p.bar.Number, Beat: i + 1}
		off := at
		off.Off = true
		look := func(q tune.Position) func(string) string {
			if c.Picked && c.At == q {
				return func(s string) string { return t.Selected.Render(s) }
			}
			return func(s string) string { return s }
		}
		// The present beat shows without colour too.
		beat, and := fmt.Sprint(i+1), ""
		if c.Picked && c.At == at {
			beat = "[" + beat + "]"
		}
		if c.Picked && c.At == off {
			and = "[+]"
		}
		count += pair(look(at)(beat), look(off)(and), l.cell)
		first, second := "", ""
		if i < len(p.bar.Bar.Bass) {
			first = token(t, p.bar.Bar.Bass[i].First)
			if p.bar.Bar.Bass[i].Split {
				second = token(t, p.bar.Bar.Bass[i].Second)
			}
		}
		degrees += pair(look(at)(first), look(off)(second), l.cell)
		hits += Hit(t, struck[i], l.cell)
		if c.Heard != nil {
			heard += pair(c.Heard(at), c.Heard(off), l.cell)
		}
	}
	rows := []string{titled.Render(fit(ansi.Truncate(t.Words(title), width, t.Words("…")), width)), count}
	chords := c.chords(t, l.cell, p)
	for i := range l.chordRows {
		row := ""
		if i < len(chords) {
			row = ansi.Truncate(chords[i], width, t.Words("…"))
		}
		rows = append(rows, strong.Render(fit(row, width)))
	}
	rows = append(rows, degrees, hits)
	if c.Heard != nil {
		rows = append(rows, heard)
	}
	return rows
}

// chords writes each chord where it starts, and the one that sounds where a bar
// is cut; one that has no room beside the one before goes into a second row.
func (c Chart) chords(t *theme.Theme, cell int, p part) []string {
	var rows [2]string
	m, width := p.bar.Meter, cell*(p.to-p.from)
	for i := p.from; i < p.to; i++ {
		for off, column := range []int{(i - p.from) * cell, (i-p.from)*cell + cell/2} {
			held := i == p.from && i > 0 && off == 0
			if !held && !p.bar.Bar.ChangesAt(m, i+1, off == 1) {
				continue
			}
			chord, _ := p.bar.Bar.ChordAt(m, i+1, off == 1)
			name := t.Words(chord.String())
			into, at, least := 0, 0, 0
			for r, row := range rows {
				from := min(column, max(0, width-lipgloss.Width(name)))
				if row != "" {
					from = max(from, lipgloss.Width(row)+1)
				}
				away := max(from-column, column-from) + 100*max(0, from+lipgloss.Width(name)-width)
				if r == 0 || away < least {
					into, at, least = r, from, away
				}
			}
			rows[into] = fit(rows[into], at) + name
		}
	}
	if rows[1] == "" {
		return rows[:1]
	}
	return rows[:]
}

// wholeWords cuts a text behind a word where it is wider than the room, and says so with
// dots.
func wholeWords(text string, width int, dots string) string {
	if lipgloss.Width(text) <= width {
		return text
	}
	cut := ""
	for w := range strings.FieldsSeq(text) {
		longer := strings.TrimPrefix(cut+" "+w, " ")
		if lipgloss.Width(longer+dots) > width {
			break
		}
		cut = longer
	}
	if cut == "" {
		return ""
	}
	return cut + dots
}

// Hit writes a hit in so many columns, in signs: where it is struck in its beat, whether
// it is held and whether it pushes into the next beat.
func Hit(t *theme.Theme, h tune.HitToken, cell int) string {
	g := t.Glyphs
	on, off := t.Dim.Render(g.Beat), ""
	tail := ""
	if h.Held {
		tail = strings.Repeat(g.Ringing, max(1, cell/2-1))
	}
	switch h.Hit {
	case tune.HitLayer:
		on = h.String()
	case tune.HitOn:
		on = g.Struck + tail
	case tune.HitAnd:
		off = g.Struck + tail
	case tune.HitBoth:
		on, off = g.Struck, g.Struck+tail
	case tune.HitPush:
		off = g.Struck + g.Pointer
	}
	return pair(on, off, cell)
}

// pair writes what stands on a beat and on its second half into the beat's
// columns.
func pair(on, off string, cell int) string {
	if off == "" {
		return fit(on, cell)
	}
	at := max(cell/2, lipgloss.Width(on)+min(1, lipgloss.Width(on)))
	return fit(fit(on, at)+off, cell)
}

// fit cuts or fills a text up to a width.
func fit(s string, width int) string {
	s = ansi.Truncate(s, width, "")
	return s + strings.Repeat(" ", max(0, width-lipgloss.Width(s)))
}
