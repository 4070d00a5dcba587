package tune

import (
	"fmt"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Write returns the canonical text of a tune: headers in a fixed order, rows in
// a fixed order with their bars in columns, comments with their lines. Reading
// it back gives the same tune. Text that the format cannot hold is made to fit:
// white space in titles and words becomes single spaces and | becomes /.
func Write(t *Tune) string {
	w := writer{tune: t, used: make([]bool, len(t.Comments))}
	w.header("tune", plain(t.Title))
	w.header("key", t.Key.String())
	w.header("meter", t.Meter.String())
	w.header("tempo", strconv.FormatFloat(t.Tempo, 'f', -1, 64))
	swing := t.Swing.String()
	if t.Swing.Falling {
		swing = bare
	}
	w.header("swing", swing)
	w.header("comping", t.Comping.String())
	w.header("form", strings.Join(t.Form, " "))
	w.header("trains", plain(t.Trains))
	for i := range t.Sections {
		w.section(i)
	}
	w.rest()
	return w.out.String()
}

type writer struct {
	tune *Tune
	out  strings.Builder
	used []bool
}

// plain makes free text fit a line.
func plain(s string) string {
	s = strings.Map(func(c rune) rune {
		switch {
		case c == utf8.RuneError:
			return -1
		case c < ' ' || c >= 0x7f && c < 0xa0:
			return ' '
		}
		return c
	}, s)
	return squeeze(s)
}

// words makes free text fit a bar of the words row.
func words(s string) string {
	s = strings.ReplaceAll(plain(s), "|", "/")
	if s == "%" || IsCopy(s) {
		s += "."
	}
	return s
}

// comments writes the comments above a line, or behind it.
func (w *writer) comments(section, line string, behind bool) {
	for i, c := range w.tune.Comments {
		if w.used[i] || c.Section != section || c.Line != line || c.Behind != behind {
			continue
		}
		w.used[i] = true
		if behind {
			w.out.WriteString("  ")
		}
		w.out.WriteString(commentText(c.Text))
		if behind {
			return
		}
		w.out.WriteByte('\n')
	}
}

func commentText(s string) string {
	s = strings.Join(strings.FieldsFunc(s, func(c rune) bool { return c == '\n' || c == '\r' }), " ")
	if !strings.HasPrefix(s, "#") {
		s = "# " + s
	}
	return s
}

func (w *writer) header(name, value string) { w.sectionHeader("", name, value) }

// bare is the value of a header whose name says all.
const bare = " "

// sectionHeader writes a header line of a section, "" for the tune.
func (w *writer) sectionHeader(section, name, value string) {
	w.comments(section, name, false)
	if value == "" {
		return
	}
	if strings.HasPrefix(value, "#") {
		fmt.Fprintf(&w.out, "%s %s", name, value)
	} else {
		w.out.WriteString(strings.TrimRight(fmt.Sprintf("%-6s %s", name, value), bare))
	}
	w.comments(section, name, true)
	w.out.WriteByte('\n')
}

// section writes section i with its bars in columns.
func (w *writer) section(i int) {
	s := &w.tune.Sections[i]
	w.out.WriteByte('\n')
	w.comments(s.Name, sectionLine, false)
	w.out.WriteString("[" + s.Name + "]")
	w.comments(s.Name, sectionLine, true)
	w.out.WriteByte('\n')
	meter := ""
	if s.Meter != (Meter{}) {
		meter = s.Meter.String()
	}
	w.sectionHeader(s.Name, "meter", meter)
	w.sectionHeader(s.Name, "comping", s.Comping.String())
	var cells [Rows][]string
	widths := make([]int, len(s.Bars))
	for row := ChordsRow; row < Rows; row++ {
		if !s.has(row) {
			continue
		}
		for bar := range s.Bars {
			cell := w.cell(i, row, bar)
			cells[row] = append(cells[row], cell)
			widths[bar] = max(widths[bar], utf8.RuneCountInString(cell))
		}
	}
	for row := ChordsRow; row < Rows; row++ {
		w.comments(s.Name, row.String(), false)
		if cells[row] == nil {
			continue
		}
		fmt.Fprintf(&w.out, "%-6s |", row)
		for bar, cell := range cells[row] {
			w.out.WriteString(" " + cell + strings.Repeat(" ", widths[bar]-utf8.RuneCountInString(cell)) + " |")
		}
		w.comments(s.Name, row.String(), true)
		w.out.WriteByte('\n')
	}
}

// has reports whether any bar of the section has something in a row.
func (s *Section) has(row Row) bool {
	if row == ChordsRow {
		return len(s.Bars) > 0
	}
	for i := range s.Bars {
		b := &s.Bars[i]
		if row == BassRow && b.Bass != nil || row == HitsRow && b.Hits != nil ||
			row == ShapesRow && b.Shapes != nil || row == WordsRow && b.Words != "" {
			return true
		}
	}
	return false
}

// cell writes a bar of a row, as a copy where it was one and still is.
func (w *writer) cell(section int, row Row, bar int) string {
	s := &w.tune.Sections[section]
	b := &s.Bars[bar]
	text := w.writtenOut(s, b, row)
	switch c := b.Copies[row]; c.Kind {
	case Simile:
		if bar > 0 && text == w.writtenOut(s, &s.Bars[bar-1], row) {
			return "%"
		}
	case CopyOf:
		for i := 0; i <= section; i++ {
			from := &w.tune.Sections[i]
			if from.Name != c.Section || c.Bar < 1 || c.Bar > len(from.Bars) || i == section && c.Bar > bar || !from.has(row) {
				continue
			}
			if text == w.writtenOut(from, &from.Bars[c.Bar-1], row) {
				return w.copyName(c)
			}
			break
		}
	case HoldsOver:
		if row != ChordsRow || bar == 0 || len(b.Chords) == 0 {
			break
		}
		before := s.Bars[bar-1].Chords
		if len(before) > 0 && before[len(before)-1].Chord.String() == b.Chords[0].Chord.String() {
			_, rest, _ := strings.Cut(text, " ")
			return strings.TrimSpace(". " + rest)
		}
	}
	return text
}

// copyName writes a copy, with a colon where the name could be read in two ways.
func (w *writer) copyName(c Copy) string {
	if last := c.Section[len(c.Section)-1]; last >= '0' && last <= '9' {
		return fmt.Sprintf("=%s:%d", c.Section, c.Bar)
	}
	name := fmt.Sprintf("%s%d", c.Section, c.Bar)
	for _, n := range splitCopy(name) {
		if n.section != c.Section && w.tune.Section(n.section) != nil {
			return fmt.Sprintf("=%s:%d", c.Section, c.Bar)
		}
	}
	return "=" + name
}

func (w *writer) writtenOut(s *Section, b *Bar, row Row) string {
	beats := w.tune.MeterOf(s).Beats()
	tokens := make([]string, 0, beats)
	switch row {
	case ChordsRow:
		return ChordCell(b.Chords)
	case WordsRow:
		return words(b.Words)
	}
	for beat := range beats {
		switch row {
		case BassRow:
			tokens = append(tokens, at(b.Bass, beat).String())
		case HitsRow:
			tokens = append(tokens, at(b.Hits, beat).String())
		case ShapesRow:
			tokens = append(tokens, at(b.Shapes, beat).String())
		}
	}
	return strings.Join(tokens, " ")
}

// at returns a beat's token of a row, counted from 0; past the end of the row the
// one that says nothing.
func at[T any](row []T, beat int) (none T) {
	if beat < len(row) {
		return row[beat]
	}
	return none
}

// ChordCell writes the chords of a bar as the chords row has them, over the
// fewest slots that hold all its changes as they stand: "Bbmaj7 . G7 .".
func ChordCell(changes []Change) string {
	slots := 1
	for _, c := range changes {
		if c.Slots > 0 {
			slots = lcm(slots, c.Slots)
		}
	}
	tokens := make([]string, slots)
	for i := range tokens {
		tokens[i] = "."
	}
	if len(changes) == 0 {
		tokens[0] = "N.C."
	}
	for _, c := range changes {
		if c.Slots > 0 && c.Slot >= 0 && c.Slot < c.Slots {
			tokens[c.Slot*slots/c.Slots] = c.Chord.String()
		}
	}
	return strings.Join(tokens, " ")
}

func lcm(a, b int) int {
	g, r := a, b
	for r != 0 {
		g, r = r, g%r
	}
	return a / g * b
}

// rest writes the comments of the end, and those whose line is gone.
func (w *writer) rest() {
	first := true
	for i, c := range w.tune.Comments {
		if w.used[i] {
			continue
		}
		if first {
			w.out.WriteByte('\n')
			first = false
		}
		w.out.WriteString(commentText(c.Text) + "\n")
	}
}

// sortComments puts comments into the order of the canonical lines.
func (t *Tune) sortComments() {
	rank := map[string]int{sectionLine: 100}
	for i, name := range headerNames {
		rank[name] = i
	}
	for i, name := range rowNames {
		rank[name] = 201 + i
	}
	rank[endLine] = 1000
	section := map[string]int{"": 0}
	for i, s := range t.Sections {
		section[s.Name] = i + 1
	}
	place := func(c Comment) (int, int, int) {
		s, l, b := section[c.Section], rank[c.Line], 0
		switch {
		case c.Line == endLine:
			s = len(t.Sections) + 1
		case s > 0 && l < rank[sectionLine]:
			l += rank[sectionLine] + 1 // a header line of the section
		}
		if c.Behind {
			b = 1
		}
		return s, l, b
	}
	sort.SliceStable(t.Comments, func(i, j int) bool {
		a, b, c := place(t.Comments[i])
		x, y, z := place(t.Comments[j])
		if a != x {
			return a < x
		}
		if b != y {
			return b < y
		}
		return c < z
	})
}
