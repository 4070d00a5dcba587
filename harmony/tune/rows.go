package tune

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

// readSection reads the rows of section i into the tune's section i.
func (r *reader) readSection(i int) {
	raw := r.sections[i]
	section := &r.tune.Sections[i]
	chords := raw.rows[ChordsRow]
	if chords == nil && !raw.skip {
		r.fault(raw.name, "no chords row in section "+raw.name.text, "a chords row, such as chords | Dm7 | G7 |")
	}
	most := 0
	for _, row := range raw.rows {
		if row != nil {
			most = max(most, len(row.cells))
		}
	}
	section.Bars = make([]Bar, most)
	for row, cells := range raw.rows {
		raw.bad[row] = make([]bool, most)
		if cells == nil {
			continue
		}
		if chords != nil && len(chords.cells) > 0 && len(cells.cells) > 0 {
			r.countBars(cells, len(chords.cells))
		}
		for bar, cell := range cells.cells {
			r.readBar(i, Row(row), bar, cell)
		}
	}
	r.restingShapes(i)
}

// restingShapes reports frets of the shapes row on beats that rest.
func (r *reader) restingShapes(section int) {
	raw, s := r.sections[section], &r.tune.Sections[section]
	row := raw.rows[ShapesRow]
	if row == nil {
		return
	}
	for bar, cell := range row.cells {
		b := &s.Bars[bar]
		hits := b.Hits
		if meter, known := r.meter(section); hits == nil && known {
			hits = r.tune.CompingOf(s).Hits(meter.Beats())
		}
		if raw.bad[ShapesRow][bar] || raw.bad[HitsRow][bar] {
			continue
		}
		for beat, shape := range b.Shapes {
			if beat >= len(hits) || hits[beat].Hit != NoHit || shape.Frets == nil {
				continue
			}
			at := cell
			if tokens := cell.fields(); b.Copies[ShapesRow].Kind == WrittenOut {
				at = tokens[beat]
			}
			r.fault(at, fmt.Sprintf("%s on beat %d, which rests", shape, beat+1), "a hit there in the hits row, or a . here")
		}
	}
}

// countBars reports a row that has another number of bars than the chords row.
func (r *reader) countBars(row *rawRow, want int) {
	got := len(row.cells)
	if got == want {
		return
	}
	at := span{line: row.name.line, col: row.end}
	if got > want {
		at.col = row.cells[want].col
	}
	r.fault(at, fmt.Sprintf("%s in the %s row", count(got, "bar"), row.name.text),
		fmt.Sprintf("%s, as in the chords row", count(want, "bar")))
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// readBar reads one bar of one row, copies included.
func (r *reader) readBar(section int, row Row, bar int, cell span) {
	raw := r.sections[section]
	to := &r.tune.Sections[section].Bars[bar]
	from, fromSection, fromBar, isCopy, ok := r.copied(section, row, bar, cell)
	switch {
	case isCopy && ok && !r.fitsMeter(section, fromSection, row, fromBar):
		m, _ := r.meter(section)
		r.fault(cell, quoted(cell.text)+", a bar of another meter", fmt.Sprintf("a bar of %s", m))
		raw.bad[row][bar] = true
	case isCopy && ok:
		to.copyRow(row, &r.tune.Sections[fromSection].Bars[fromBar])
		to.Copies[row] = from
		raw.bad[row][bar] = r.sections[fromSection].bad[row][fromBar]
		if row == ChordsRow || row == BassRow {
			r.overNoChord(section, row, to, bar, []int{cell.col})
		}
	case isCopy:
		raw.bad[row][bar] = true
	default:
		raw.bad[row][bar] = !r.readOut(section, row, bar, cell)
	}
	if row == BassRow && len(raw.bass) <= bar {
		raw.bass = append(raw.bass, []int{cell.col})
	}
}

// copied says whether a cell is a copy, and of which bar; ok is false, and the
// fault reported, where that bar cannot be copied.
func (r *reader) copied(section int, row Row, bar int, cell span) (c Copy, fromSection, fromBar int, isCopy, ok bool) {
	if cell.text == "%" {
		c.Kind = Simile
		if bar == 0 {
			r.fault(cell, `"%" in the first bar of the row`, "a bar that is written out: % repeats the bar before in its row")
			return c, 0, 0, true, false
		}
		return c, section, bar - 1, true, true
	}
	if !strings.HasPrefix(cell.text, "=") || row == WordsRow && !IsCopy(cell.text) {
		return c, 0, 0, false, false
	}
	c.Kind = CopyOf
	names := splitCopy(cell.text[1:])
	type place struct{ section, bar int }
	var found []place
	later := false
	for _, n := range names {
		if i, ok := r.named[n.section]; ok && !r.sections[i].skip {
			source := r.sections[i].rows[row]
			if source == nil || n.bar > len(source.cells) {
				continue
			}
			if i > section || i == section && n.bar-1 >= bar {
				later = true
				continue
			}
			found = append(found, place{i, n.bar - 1})
		}
	}
	const want = "a bar that stands before this one in the same row, such as =A3 for bar 3 of section A"
	switch {
	case len(found) > 1:
		r.fault(cell, quoted(cell.text)+", which names two bars",
			fmt.Sprintf("=%s:%d or =%s:%d", r.sections[found[0].section].name.text, found[0].bar+1,
				r.sections[found[1].section].name.text, found[1].bar+1))
	case len(found) == 0 && later:
		r.fault(cell, quoted(cell.text)+", which comes no earlier than this bar", want)
	case len(found) == 0 && len(names) == 0:
		r.fault(cell, quoted(cell.text), want)
	case len(found) == 0:
		r.fault(cell, quoted(cell.text)+", but no "+row.String()+" row has that bar", want)
	default:
		f := found[0]
		c.Section, c.Bar = r.sections[f.section].name.text, f.bar+1
		return c, f.section, f.bar, true, true
	}
	return c, 0, 0, true, false
}

// fitsMeter reports whether a bar of a row can stand in a section too: one with a
// token a beat has as many, chords no more than share its bar.
func (r *reader) fitsMeter(section, from int, row Row, bar int) bool {
	m, ok := r.meter(section)
	n, known := r.meter(from)
	if !ok || !known || m == n {
		return true
	}
	switch row {
	case WordsRow:
		return true
	case ChordsRow:
		for _, c := range r.tune.Sections[from].Bars[bar].Chords {
			if c.Slots > m.MostChords() {
				return false
			}
		}
		return true
	}
	return m.Beats() == n.Beats()
}

type barName struct {
	section string
	bar     int
}

// splitCopy returns the ways to read "A3", "A12" or "A1:2" as a section and a
// bar, numbers from 1.
func splitCopy(s string) []barName {
	var names []barName
	if section, bar, ok := strings.Cut(s, ":"); ok {
		if n, ok := barNumber(bar); ok && sectionName.MatchString(section) {
			names = append(names, barName{section, n})
		}
		return names
	}
	for i := len(s) - 1; i > 0 && s[i] >= '0' && s[i] <= '9'; i-- {
		if n, ok := barNumber(s[i:]); ok && sectionName.MatchString(s[:i]) {
			names = append(names, barName{s[:i], n})
		}
	}
	return names
}

func barNumber(s string) (int, bool) {
	n, err := strconv.Atoi(s)
	return n, err == nil && n >= 1 && strconv.Itoa(n) == s
}

// IsCopy tells a copy such as =A3 from words that start with =, as both stand in
// a words row. Whether the tune has the bar it names is another matter.
func IsCopy(s string) bool {
	return strings.HasPrefix(s, "=") && len(splitCopy(s[1:])) > 0
}

// copyRow takes over a row of another bar.
func (b *Bar) copyRow(row Row, from *Bar) {
	switch row {
	case ChordsRow:
		b.Chords = slices.Clone(from.Chords)
	case BassRow:
		b.Bass = slices.Clone(from.Bass)
	case HitsRow:
		b.Hits = slices.Clone(from.Hits)
	case ShapesRow:
		b.Shapes = slices.Clone(from.Shapes)
		for i := range b.Shapes {
			b.Shapes[i].Frets = slices.Clone(b.Shapes[i].Frets)
		}
	case WordsRow:
		b.Words = from.Words
	}
}

// readOut reads a bar that is written out. It reports false where any of it is
// at fault.
func (r *reader) readOut(section int, row Row, bar int, cell span) bool {
	raw, bars := r.sections[section], r.tune.Sections[section].Bars
	to := &bars[bar]
	before := len(r.faults)
	tokens := cell.fields()
	switch row {
	case ChordsRow:
		r.readChords(section, bar, cell, tokens)
	case WordsRow:
		to.Words = squeeze(cell.text)
	case BassRow:
		if !r.countTokens(section, row, cell, tokens) {
			tokens = nil
		}
		var cols []int
		for _, tok := range tokens {
			beat, err := ParseBassBeat(tok.text)
			if err != nil {
				r.fault(tok, quoted(tok.text), err.Error())
			}
			to.Bass = append(to.Bass, beat)
			second := tok.col
			if i := strings.IndexByte(tok.text, ','); i >= 0 {
				second = tok.from(i + 1).col
			}
			cols = append(cols, tok.col, second)
		}
		if len(cols) == 0 {
			cols = []int{cell.col}
		}
		raw.bass = append(raw.bass, cols)
		r.overNoChord(section, row, to, bar, cols)
	case HitsRow:
		r.countTokens(section, row, cell, tokens)
		for _, tok := range tokens {
			h, ok := ParseHit(tok.text)
			if !ok {
				r.fault(tok, quoted(tok.text), WantHit)
			}
			if r.oldHits && h.Hit == NoHit {
				h.Hit = HitLayer
			}
			to.Hits = append(to.Hits, h)
		}
	case ShapesRow:
		r.countTokens(section, row, cell, tokens)
		for _, tok := range tokens {
			s, err := ParseShape(tok.text)
			if err != nil {
				r.fault(tok, quoted(tok.text), err.Error())
			}
			if n := len(s.Frets); n > 0 && r.strings > 0 && n != r.strings {
				r.fault(tok, fmt.Sprintf("%s, a shape of %d strings", quoted(tok.text), n),
					fmt.Sprintf("a fret or x for each of the %d strings that the tune's first shape has", r.strings))
			} else if n > 0 {
				r.strings = n
			}
			to.Shapes = append(to.Shapes, s)
		}
	}
	return len(r.faults) == before
}

// countTokens reports a bar with another number of tokens than beats. It reports
// false where there are none at all.
func (r *reader) countTokens(section int, row Row, cell span, tokens []span) bool {
	meter, known := r.meter(section)
	if beats := meter.Beats(); known && len(tokens) != beats {
		at := cell
		if len(tokens) > beats {
			at = tokens[beats]
		}
		r.fault(at, fmt.Sprintf("%s in a bar of the %s row", count(len(tokens), "token"), row),
			fmt.Sprintf("%s, one for each beat of %s", count(beats, "token"), meter))
	}
	return len(tokens) > 0
}

// readChords reads the chords of a bar: symbols share it evenly, a dot holds.
func (r *reader) readChords(section, bar int, cell span, tokens []span) {
	bars := r.tune.Sections[section].Bars
	to := &bars[bar]
	const want = "a chord symbol such as Dm7, N.C. for none, . to hold, % for the bar before, or =A3 for a copy"
	if len(tokens) == 0 {
		r.fault(cell, "an empty bar", want)
		return
	}
	slots := len(tokens)
	meter, known := r.meter(section)
	if most := meter.MostChords(); known && slots > most {
		r.fault(tokens[most], fmt.Sprintf("%d symbols in a bar", slots), fmt.Sprintf("at most %d, %d a beat", most, most/meter.Beats()))
		return
	}
	for i, tok := range tokens {
		if tok.text == "." {
			if i > 0 {
				continue
			}
			if bar == 0 {
				r.fault(tok, `a "." with no chord before it in its section`, want)
				continue
			}
			if before := bars[bar-1].Chords; len(before) > 0 {
				to.Chords = append(to.Chords, Change{Chord: before[len(before)-1].Chord, Slots: slots})
			}
			to.Copies[ChordsRow] = Copy{Kind: HoldsOver}
			continue
		}
		if c, ok := r.chord(tok); ok {
			to.Chords = append(to.Chords, Change{Chord: c, Slot: i, Slots: slots})
		}
	}
}

func (r *reader) chord(tok span) (harmony.Chord, bool) {
	if c, ok := r.chords[tok.text]; ok {
		c.Degrees = slices.Clone(c.Degrees)
		return c, true
	}
	c, err := harmony.ParseChord(tok.text)
	if err != nil {
		want := "a chord symbol"
		if e := (harmony.Fault{}); errors.As(err, &e) {
			want = fmt.Sprintf("a chord symbol: in column %d write %s", tok.col+e.Column-1, e.Want)
		}
		r.fault(tok, quoted(tok.text), want)
		return c, false
	}
	r.chords[tok.text] = c
	return c, true
}

// overNoChord reports degrees of a bass bar that sound over N.C.
func (r *reader) overNoChord(section int, row Row, b *Bar, bar int, cols []int) {
	raw := r.sections[section]
	meter, known := r.meter(section)
	if row != BassRow || !known || raw.bad[ChordsRow] == nil || bar >= len(raw.bad[ChordsRow]) || raw.bad[ChordsRow][bar] {
		return
	}
	for i, beat := range b.Bass {
		for half, tok := range []BassToken{beat.First, beat.Second} {
			if tok.Kind != BassNote || half == 1 && !beat.Split {
				continue
			}
			c, ok := b.ChordAt(meter, i+1, half == 1)
			if !ok || !c.None {
				continue
			}
			col := cols[0]
			if k := 2*i + half; k < len(cols) {
				col = cols[k]
			}
			r.fault(span{line: raw.rows[BassRow].name.line, col: col}, quoted(tok.String())+" over N.C.",
				"a . or a - : where no chord sounds there is no root to count from")
			return
		}
	}
}
