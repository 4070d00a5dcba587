package tuneroom

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/harmony/tune"
	"footfall/harmony/tune/edit"
	"footfall/trainer/screen/bars"
	"footfall/trainer/screen/page"
)

// label is the columns before the first bar line.
const label = 10

// grid is how the bars are laid out: how wide a beat is, its leading column
// included, and how many bars a line holds.
type grid struct{ beat, bars int }

// grid takes beats wide enough for every bass token and bars for a shape, and beats as wide
// as shapes want where four bars still fit a line.
func (p *Page) grid() grid {
	t := p.doc.Tune()
	narrow, wide, longest, beats := 3, 3, 1, 1
	for i := range t.Sections {
		s := &t.Sections[i]
		beats = max(beats, t.MeterOf(s).Beats())
		longest = max(longest, len(s.Bars))
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
	narrow = max(min(narrow, 9), (wide+beats)/beats)
	fits := func(beat int) int { return (p.width - label - 2) / (1 + beats*beat) }
	g := grid{beat: narrow + 1}
	const bars = 4
	g.beat = max(g.beat, min(wide+1, ((p.width-label-2)/bars-1)/beats))
	g.bars = max(1, fits(g.beat))
	for _, n := range []int{8, 4} {
		if g.bars >= n {
			g.bars = n
			break
		}
	}
	const widest = 8 // columns of a beat where short sections leave room
	g.beat = max(g.beat, min(widest, ((p.width-label-2)/min(g.bars, longest)-1)/beats))
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
	room := p.height - len(foot) - p.leastBand()
	body, whole := p.body(room)
	for !whole && len(body) < room {
		body = append(body, "")
	}
	lines := append(body, foot...)
	if p.wide() {
		lines = append(lines, p.band(p.height-len(lines))...)
	}
	return strings.Join(lines, "\n")
}

func (p *Page) offer() string {
	t := p.Theme
	says := fmt.Sprintf("Work on this tune that was never saved is still here, from %s.", p.found.at.Format("2 January 2006 15:04"))
	lines := append(strings.Split(page.Wrapped(says, p.width-4), "\n"), "",
		t.Key.Render("enter")+"   go on with it; u then takes you to what is in the file",
		t.Key.Render("delete")+"  throw it away",
		t.Key.Render("esc")+"     leave it for another time",
	)
	return "  " + strings.Join(lines, "\n  ")
}

// body draws as many lines of bars as fit: all in full, or the one with the place
// and the others with chords and bass. It reports whether all of the tune is
// there.
func (p *Page) body(room int) (body []string, whole bool) {
	g := p.grid()
	systems := p.systems(g)
	rows := 0
	for _, s := range systems {
		rows += rowsInFull + len(p.Neck.BassStrings) + len(p.shapes(g, s))
	}
	full := rows <= room
	here := p.doc.Index(p.doc.At())
	var blocks [][]string
	at := 0
	for i, s := range systems {
		if s.Has(here) {
			at = i
		}
		blocks = append(blocks, append(p.system(g, s, full || s.Has(here)), ""))
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
	return out[:min(len(out), room)], first == 0 && last == len(blocks)-1
}

// rowsInFull is the rows of a line of bars in full but for the strings and the shapes:
// numbers, chords, bass, notes, hits, words and a blank one.
const rowsInFull = 7

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
	lines = append(lines, p.row(g, r, tune.HitsRow))
	lines = append(lines, p.shapes(g, r)...)
	return append(lines, p.row(g, r, tune.WordsRow))
}

// beats returns the beats of a line's bars, which are of one section.
func (p *Page) beats(r edit.Range) int {
	t := p.doc.Tune()
	return t.MeterOf(&t.Sections[p.doc.Place(r.First).Section]).Beats()
}

// numbers draws the bars' numbers, the section's name before them; selected bars
// are underlined.
func (p *Page) numbers(g grid, r edit.Range) string {
	at := p.doc.Place(r.First)
	name := ""
	if at.Bar == 0 {
		s := &p.doc.Tune().Sections[at.Section]
		if name = "[" + s.Name + "]"; s.Meter != (tune.Meter{}) {
			name += " " + s.Meter.String()
		}
	}
	line := p.Theme.Strong.Render(fit("  "+p.Theme.Words(name), label+1))
	width := g.beat * p.beats(r)
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
	beats := p.beats(r)
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
			text := strings.TrimPrefix(ansi.Strip(cells[k]), " ")
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
		return []string{fit(" "+ansi.Truncate(p.Theme.Words(b.Words), beats*g.beat-1, p.Theme.Words("…")), beats*g.beat)}
	case tune.ChordsRow:
		return p.chordCells(g, b, beats)
	case tune.BassRow:
		text = func(i int) string { return bars.Bass(p.Theme, b.Bass[i]) }
		if b.Bass == nil {
			text = func(int) string { return "" }
		}
	case tune.HitsRow:
		if b.Hits != nil {
			text = func(i int) string { return strings.TrimRight(bars.Hit(p.Theme, b.Hits[i], g.beat-1), " ") }
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
		for beat := range p.beats(r) {
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

func fit(s string, width int) string {
	s = ansi.Truncate(s, width, "")
	return s + strings.Repeat(" ", max(0, width-lipgloss.Width(s)))
}
