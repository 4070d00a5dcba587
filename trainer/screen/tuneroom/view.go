package tuneroom

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
)

// label is the columns before the first bar line.
const label = 10

// grid is how the bars are laid out: how wide a beat is, its leading column
// included, and how many bars a line holds.
type grid struct{ beat, bars int }

// grid takes beats wide enough for every bass token, and for shapes too where
// four bars still fit a line.
func (p *Page) grid() grid {
	t := p.doc.Tune()
	narrow, wide := 3, 3
	for _, s := range t.Sections {
		for _, b := range s.Bars {
			for _, x := range b.Bass {
				narrow = max(narrow, lipgloss.Width(x.String()))
			}
			for _, h := range b.Hits {
				narrow = max(narrow, len(h.String()))
			}
			for _, x := range b.Shapes {
				wide = max(wide, len(x.String()))
			}
		}
	}
	narrow = min(narrow, 9)
	fits := func(beat int) int { return (p.width - label - 2) / (1 + t.Meter.Beats()*beat) }
	g := grid{beat: narrow + 1}
	if w := max(wide, narrow) + 1; fits(w) >= 4 {
		g.beat = w
	}
	g.bars = max(1, fits(g.beat))
	for _, n := range []int{8, 4} {
		if g.bars >= n {
			g.bars = n
			break
		}
	}
	return g
}

// systems are the lines of bars; a section begins a new one.
func (p *Page) systems(g grid) []edit.Range {
	var out []edit.Range
	first := 0
	for _, s := range p.doc.Tune().Sections {
		for bar := 0; bar < len(s.Bars); bar += g.bars {
			out = append(out, edit.Range{First: first + bar, Last: first + min(len(s.Bars), bar+g.bars) - 1})
		}
		first += len(s.Bars)
	}
	return out
}

// View draws the bars, the place in words, and what there is to say of it.
func (p *Page) View() string {
	if p.found != nil {
		return p.offer()
	}
	foot := p.foot()
	room := p.height - len(foot)
	body := p.body(room)
	for len(body) < room {
		body = append(body, "")
	}
	return strings.Join(append(body, foot...), "\n")
}

func (p *Page) offer() string {
	t := p.Theme
	lines := []string{
		fmt.Sprintf("Work on this tune that was never saved is still here, from %s.", p.found.at.Format("2 January 2006 15:04")),
		"",
		t.Key.Render("enter") + "  go on with it; u then takes you to what is in the file",
		t.Key.Render("d") + "      throw it away",
		t.Key.Render("esc") + "    leave it for another time",
	}
	return "  " + strings.Join(lines, "\n  ")
}

// body draws as many lines of bars as fit: the one with the place in full, the
// others with chords and bass.
func (p *Page) body(room int) []string {
	g := p.grid()
	systems := p.systems(g)
	here := p.doc.Index(p.doc.At())
	var blocks [][]string
	at := 0
	for i, s := range systems {
		if s.Has(here) {
			at = i
		}
		blocks = append(blocks, append(p.system(g, s, s.Has(here)), ""))
	}
	// From the line of the place out: one above, one below, while they fit.
	first, last, used := at, at, len(blocks[at])
	for grown := true; grown; {
		grown = false
		if last+1 < len(blocks) && used+len(blocks[last+1]) <= room {
			last++
			used += len(blocks[last])
			grown = true
		}
		if first > 0 && used+len(blocks[first-1]) <= room {
			first--
			used += len(blocks[first])
			grown = true
		}
	}
	var out []string
	for _, b := range blocks[first : last+1] {
		out = append(out, b...)
	}
	return out[:min(len(out), room)]
}

// system draws a line of bars.
func (p *Page) system(g grid, r edit.Range, full bool) []string {
	lines := []string{p.numbers(g, r), p.row(g, r, tune.ChordsRow), p.row(g, r, tune.BassRow)}
	if !full {
		return lines
	}
	lines = append(lines, p.notes(g, r))
	for _, s := range slices.Sorted(slices.Values(p.Neck.BassStrings)) {
		lines = append(lines, p.frets(g, r, s))
	}
	for _, row := range []tune.Row{tune.HitsRow, tune.ShapesRow, tune.WordsRow} {
		lines = append(lines, p.row(g, r, row))
	}
	return lines
}

// numbers draws the bars' numbers, the section's name before them; selected bars
// are underlined.
func (p *Page) numbers(g grid, r edit.Range) string {
	at := p.doc.Place(r.First)
	name := ""
	if at.Bar == 0 {
		name = "[" + p.doc.Tune().Sections[at.Section].Name + "]"
	}
	line := p.Theme.Strong.Render(fit("  "+p.Theme.Words(name), label+1))
	width := g.beat * p.doc.Tune().Meter.Beats()
	for i := r.First; i <= r.Last; i++ {
		cell := fmt.Sprintf(" %d ", at.Bar+1+i-r.First)
		if p.anchor >= 0 && p.selection().Has(i) {
			cell += strings.Repeat("=", max(0, width-len(cell)-1))
			line += p.Theme.Selected.Render(fit(cell, width+1))
		} else {
			line += p.Theme.Dim.Render(fit(cell, width+1))
		}
	}
	return line
}

// row draws a row of the text.
func (p *Page) row(g grid, r edit.Range, row tune.Row) string {
	at := p.doc.At()
	here := p.doc.Index(at)
	beats := p.doc.Tune().Meter.Beats()
	name := "  " + row.String()
	line := p.Theme.Dim.Render(fit(name, label))
	if row == at.Row && r.Has(here) {
		line = p.Theme.Text.Render(fit(name, label))
	}
	bar := p.Theme.Dim.Render("|")
	for i := r.First; i <= r.Last; i++ {
		b := p.doc.Bar(p.doc.Place(i))
		cells := p.cells(g, b, row, beats)
		if i == here && row == at.Row {
			k := at.Beat
			if row == tune.WordsRow {
				k = 0
			}
			text := strings.TrimPrefix(cells[k], " ")
			if p.typing {
				text = fit(p.Theme.Words(p.input.Value()), lipgloss.Width(text))
			}
			cells[k] = p.Theme.Selected.Render(p.Theme.Glyphs.Pointer + text)
		}
		line += bar + strings.Join(cells, "")
	}
	return line + bar
}

// cells draws a bar of a row, a cell a beat; the words are one cell.
func (p *Page) cells(g grid, b *tune.Bar, row tune.Row, beats int) []string {
	out := make([]string, beats)
	text := func(i int) string { return "" }
	switch row {
	case tune.WordsRow:
		return []string{fit(" "+p.Theme.Words(b.Words), beats*g.beat)}
	case tune.ChordsRow:
		return p.chordCells(g, b, beats)
	case tune.BassRow:
		text = func(i int) string { return b.Bass[i].String() }
		if b.Bass == nil {
			text = func(int) string { return "" }
		}
	case tune.HitsRow:
		if b.Hits != nil {
			text = func(i int) string { return b.Hits[i].String() }
		}
	case tune.ShapesRow:
		if b.Shapes != nil {
			text = func(i int) string { return b.Shapes[i].String() }
		}
	}
	for i := range out {
		out[i] = fit(" "+ansi.Truncate(p.Theme.Words(text(i)), g.beat-1, p.Theme.Words("…")), g.beat)
	}
	return out
}

// chordCells draws the chords of a bar where they start, each as far as the next
// one leaves it room.
func (p *Page) chordCells(g grid, b *tune.Bar, beats int) []string {
	width := g.beat * beats
	line := []rune(strings.Repeat(" ", width))
	for i, c := range b.Chords {
		from := c.Slot * width / c.Slots
		to := width
		if i+1 < len(b.Chords) {
			to = b.Chords[i+1].Slot * width / b.Chords[i+1].Slots
		}
		name := []rune(p.Theme.Words(c.Chord.String()))
		if most := to - from - 1; len(name) > most {
			name = append(name[:max(0, most-1)], []rune(p.Theme.Words("…"))[0])
		}
		copy(line[from+1:to], name)
	}
	out := make([]string, beats)
	for i := range out {
		out[i] = string(line[i*g.beat : (i+1)*g.beat])
	}
	return out
}

// notes draws the notes of the line.
func (p *Page) notes(g grid, r edit.Range) string {
	return p.halves(g, r, "notes", func(h heard) string { return h.note.String() })
}

// frets draws the frets of the line on a string.
func (p *Page) frets(g grid, r edit.Range, str int) string {
	return p.halves(g, r, fmt.Sprintf("frets %d", str), func(h heard) string {
		if !h.placed || h.place.String != str {
			return ""
		}
		return fmt.Sprint(h.place.Fret)
	})
}

// halves draws a row about the notes of the line, a comma before what stands in
// a beat's second half.
func (p *Page) halves(g grid, r edit.Range, name string, says func(heard) string) string {
	notes := p.sounding().notes
	line := fit("  "+name, label)
	for i := r.First; i <= r.Last; i++ {
		line += "|"
		for beat := range p.doc.Tune().Meter.Beats() {
			text := ""
			if h, ok := notes[spot{i, beat, false}]; ok {
				text = says(h)
			}
			if h, ok := notes[spot{i, beat, true}]; ok {
				if off := says(h); off != "" {
					text += "," + off
				}
			}
			line += fit(" "+p.Theme.Words(text), g.beat)
		}
	}
	return p.Theme.Dim.Render(line + "|")
}

// foot draws the place in words, and below it what there is to say.
func (p *Page) foot() []string {
	t := p.Theme
	var lines []string
	switch {
	case p.typing:
		v, at := []rune(p.input.Value()), p.input.Position()
		lines = append(lines, "  "+p.where()+"   "+t.Strong.Render(t.Words(string(v[:at]))+t.Glyphs.Caret+t.Words(string(v[at:]))))
	default:
		lines = append(lines, "  "+p.where()+"   "+t.Words(p.token()))
	}
	says, look := p.says()
	rows := 3
	if p.judging && !p.typing && p.said == "" {
		rows = max(7, p.height/3)
		lines = append(lines, p.judgement(rows)...)
	} else if says != "" {
		lines = append(lines, p.wrapped(says, look, rows)...)
	}
	for len(lines) < rows+1 {
		lines = append(lines, "")
	}
	return lines
}

// wrapped breaks a text into at most some lines.
func (p *Page) wrapped(text string, look lipgloss.Style, most int) []string {
	lines := strings.Split(ansi.Wordwrap(p.Theme.Words(text), p.width-4, ""), "\n")
	if len(lines) > most {
		lines = append(lines[:most-1], ansi.Truncate(lines[most-1]+p.Theme.Words(" …"), p.width-4, p.Theme.Words("…")))
	}
	for i, l := range lines {
		lines[i] = "  " + look.Render(ansi.Truncate(l, p.width-4, p.Theme.Words("…")))
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
		low, high := p.Neck.BassRange()
		if _, err := p.would.Line(low, high); err != nil {
			return "It would leave the bass strings: " + err.Error(), t.Warn
		}
		return "", t.Text
	}
	switch s := p.sounding(); {
	case p.said != "":
		return p.said, t.Strong
	case p.trouble != "":
		return p.trouble, t.Warn
	case s.fault != nil:
		return "This cannot be played yet: " + s.fault.Error(), t.Warn
	}
	return "", t.Text
}

// where names the place.
func (p *Page) where() string {
	at := p.doc.At()
	s := p.Theme.Strong.Render(fmt.Sprintf("%s %d", p.Theme.Words(p.doc.Tune().Sections[at.Section].Name), at.Bar+1))
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
		parts = append(parts, fmt.Sprintf("copy of %s %d", c.Section, c.Bar))
	case tune.HoldsOver:
		if at.Beat == 0 {
			parts = append(parts, "holds over the bar line")
		}
	}
	return strings.Join(parts, "   ")
}

// judgement draws the critic's remarks on the bar.
func (p *Page) judgement(rows int) []string {
	remarks := p.remarks()
	if len(remarks) == 0 {
		return p.wrapped("The critic has nothing to say of this bar.", p.Theme.Text, rows)
	}
	var lines []string
	for _, r := range remarks {
		kind, look := "mind ", p.Theme.Text
		switch {
		case r.Rule.Good:
			kind = "good "
		case r.Rule.Grave:
			kind, look = "fault", p.Theme.Warn
		}
		says := fmt.Sprintf("%s  beat %d%s: %s (%s: %s)", kind, r.At.Beat, map[bool]string{true: " and"}[r.At.Off], r.Says, r.Rule.Name, r.Rule.Source)
		lines = append(lines, p.wrapped(says, look, 3)...)
		if r.Better != nil {
			lines = append(lines, p.wrapped("       better: "+row(r.Better), p.Theme.Text, 1)...)
		}
	}
	if len(lines) > rows {
		lines = append(lines[:rows-1], "  "+p.Theme.Dim.Render("more than fits here: a taller terminal shows it all"))
	}
	return lines
}

func row(bar []tune.BassBeat) string {
	tokens := make([]string, len(bar))
	for i, b := range bar {
		tokens[i] = b.String()
	}
	return strings.Join(tokens, " ")
}

func fit(s string, width int) string {
	s = ansi.Truncate(s, width, "")
	return s + strings.Repeat(" ", max(0, width-lipgloss.Width(s)))
}
