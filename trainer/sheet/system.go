package sheet

import (
	"fmt"
	"slices"
	"strconv"

	"footfall/fretboard"
	"footfall/harmony/tune"
)

// Measures of the page, in millimetres. A line of music is as wide as A4 and
// Letter paper both hold between margins of 12 mm.
const (
	pageWidth mm = 186
	gutter    mm = 9 // for the names of the rows
	lineWidth    = pageWidth - gutter - lineEnd
	lineEnd   mm = 0.5 // half the last bar line
	barPad    mm = 1.6 // from a bar line to the first beat
	columnGap mm = 1.5 // between what stands on two beats
	leastBeat mm = 3.2
	wordsEm   mm = 2.7
	wordsLine mm = 3.3
	chordEm   mm = 3.8
	bassEm    mm = 3.1
	labelEm   mm = 2
	sectionEm mm = 4
	tabGap    mm = 4
	mostBeats    = 20  // in a line
	widest    mm = 3.1 // a fret of a diagram, where there is room
	narrowest mm = 2.1 // and where there is little
)

// slot is a place in a bar at which something stands: a beat, or the second
// half of one.
type slot struct {
	half   int
	chord  string
	degree string
	fret   string
	string int // of the fret
	hit    string
	shape  *diagram
}

// measure is a bar as slots.
type measure struct {
	bar
	slots []slot
}

// least are the widths that the slots need for a width of a fret.
func (m *measure) least(fret mm) []mm {
	widths := make([]mm, len(m.slots))
	for i, c := range m.slots {
		w := max(leastBeat, textWidth(c.degree, bassEm), textWidth(c.fret, bassEm), textWidth(c.hit, labelEm))
		if c.shape != nil {
			w = max(w, c.shape.width(fret))
		}
		widths[i] = w + columnGap
	}
	for i := 0; i < len(widths); {
		room, k := widths[i], i+1
		for ; k < len(widths) && m.slots[k].chord == ""; k++ {
			room += widths[k]
		}
		if m.slots[i].chord != "" {
			// Long symbols are squeezed to three quarters before they take room.
			if need := 0.75*textWidth(m.slots[i].chord, chordEm) + columnGap; need > room {
				widths[k-1] += need - room
			}
		}
		i = k
	}
	return widths
}

func sum(widths []mm) mm {
	total := barPad
	for _, w := range widths {
		total += w
	}
	return total
}

func measuresOf(a *fretboard.Arrangement) []measure {
	bars := barsOf(a)
	measures := make([]measure, len(bars))
	for i, b := range bars {
		slots := make([]slot, len(b.bass))
		used := make([]bool, len(b.bass))
		for k := range slots {
			slots[k] = slot{half: k, chord: b.chords[k], degree: b.bass[k]}
			used[k] = k%2 == 0 || b.chords[k] != "" || b.bass[k] != ""
		}
		for _, e := range b.notes {
			c := &slots[e.At.Half()]
			c.fret, c.string = strconv.Itoa(e.Place.Fret), e.Place.String
			used[c.half] = true
		}
		for _, e := range b.shapes {
			d := diagramOf(a.Neck, e)
			c := &slots[e.At.Half()]
			if c.hit, c.shape = hitWord(e), &d; e.Hit == tune.HitPush {
				c.hit += " " + e.Chord.Symbol
			}
			used[c.half] = true
		}
		m := measure{bar: b}
		for k, c := range slots {
			if used[k] {
				m.slots = append(m.slots, c)
			}
		}
		measures[i] = m
	}
	return measures
}

// run is a section as it comes in the form, broken into lines of bars.
type run struct {
	section string
	lines   [][]measure
}

// first and last are the numbers of its bars.
func (r run) first() int { return r.lines[0][0].number }
func (r run) last() int {
	end := r.lines[len(r.lines)-1]
	return end[len(end)-1].number
}

// pageLayout is the bars broken into sections and lines of at most perLine bars,
// and the width of a diagram's fret, the same all over.
type pageLayout struct {
	runs    []run
	perLine int
	fret    mm
}

// layout puts as many bars on a line as fit where nothing is crowded, halves
// the lines that are, and gives the frets the width that all lines have room for.
func layout(a *fretboard.Arrangement) pageLayout {
	measures := measuresOf(a)
	perLine := 8
	beats := 0
	for _, fb := range a.Tune.Unroll() {
		beats = max(beats, fb.Meter.Beats())
	}
	for perLine > 1 && perLine*beats > mostBeats {
		perLine /= 2
	}
	l := pageLayout{runs: runsOf(measures, perLine), perLine: perLine, fret: widest}
	for _, r := range l.runs {
		for _, line := range r.lines {
			for l.fret > narrowest && !fits(line, l.fret) {
				l.fret -= 0.1
			}
		}
	}
	return l
}

func fits(line []measure, fret mm) bool {
	need := mm(0)
	for i := range line {
		need += sum(line[i].least(fret))
	}
	return need <= lineWidth
}

func runsOf(measures []measure, perLine int) []run {
	var runs []run
	for len(measures) > 0 {
		n := 1
		for n < len(measures) && !measures[n].start {
			n++
		}
		r := run{section: measures[0].section}
		for bars := measures[:n]; len(bars) > 0; {
			k := min(perLine, len(bars))
			r.lines = append(r.lines, halved(bars[:k:k])...)
			bars = bars[k:]
		}
		runs, measures = append(runs, r), measures[n:]
	}
	return runs
}

// halved breaks a line that does not fit even with the narrowest frets.
func halved(line []measure) [][]measure {
	if len(line) == 1 || fits(line, narrowest) {
		return [][]measure{line}
	}
	half := (len(line) + 1) / 2
	return append(halved(line[:half]), halved(line[half:])...)
}

// barWidths shares a line among its bars: equal bars where each has the room it
// needs, else what it needs and an equal share of the rest. A line of few bars
// keeps the width that bars have in a full one.
func barWidths(line []measure, fret mm, perLine int) []mm {
	least := make([]mm, len(line))
	need, most := mm(0), mm(0)
	for i := range line {
		least[i] = sum(line[i].least(fret))
		need += least[i]
		most = max(most, least[i])
	}
	full := lineWidth / mm(perLine)
	room := max(need, full*mm(len(line)))
	for i := range least {
		if most <= full {
			least[i] = full
		} else {
			least[i] += (room - need) / mm(len(line))
		}
	}
	return least
}

// system draws a line of bars.
type system struct {
	arrangement *fretboard.Arrangement
	fret        mm
	perLine     int
	last        bool // the tune ends with it
}

func (s system) draw(line []measure) figure {
	neck := s.arrangement.Neck
	widths := barWidths(line, s.fret, s.perLine)
	words := make([][]string, len(line))
	most, shapes := 1, false
	for i := range line {
		words[i] = wrap(line[i].words, wordsEm, widths[i]-wordsAt(&line[i])-columnGap)
		most = max(most, len(words[i]))
		shapes = shapes || len(line[i].shapes) > 0
	}
	top := mm(most) * wordsLine
	rows := systemRows{chord: top + 4.2}
	rows.shape = rows.chord + 1.7
	at := rows.chord
	if shapes {
		rows.hit = rows.shape + neckHeight(neck) + shapeFoot + 2
		at = rows.hit
	}
	rows.degree = at + 4.4
	rows.tab = rows.degree + 3.3
	rows.bottom = rows.tab + mm(len(neck.BassStrings)-1)*tabGap

	frame := group{Class: "rows"}
	label := func(y mm, name string) { frame.write("label", 0, y, name, labelEm, gutter-1) }
	if shapes {
		label(rows.hit, "hit")
	}
	label(rows.degree, "degree")
	end := gutter
	for _, w := range widths {
		end += w
	}
	for i, n := range bassStrings(neck) {
		y := rows.tab + mm(i)*tabGap
		frame.line("tab", gutter, y, end, y)
		label(y+0.7, fmt.Sprintf("string %d", n))
	}
	frame.line("barline", gutter, top+1, gutter, rows.bottom)
	f := figure{Width: max(pageWidth, end+lineEnd), Height: rows.bottom + 1.5}
	f.Title = barsWords(line[0].number, line[len(line)-1].number)
	x := gutter
	var drawn []group
	for i := range line {
		drawn = append(drawn, s.bar(&line[i], x, widths[i], words[i], rows)...)
		x += widths[i]
		class := "barline"
		if s.last && i == len(line)-1 {
			class = "barline final"
		}
		frame.line(class, x, top+1, x, rows.bottom)
		f.Says += barSays(&line[i])
	}
	f.Groups = append([]group{frame}, drawn...)
	return f
}

// wordsAt is where the words of a bar start, behind its number.
func wordsAt(m *measure) mm { return textWidth(m.title(), labelEm) + 1 }

// systemRows are the heights of a system's rows: base lines of text, the upper
// edge of the shapes, the upper and lower string of the tablature.
type systemRows struct{ chord, shape, hit, degree, tab, bottom mm }

func (s system) bar(m *measure, x, width mm, words []string, rows systemRows) []group {
	g := group{Class: "bar"}
	g.write("label", x, wordsLine-0.6, m.title(), labelEm, 0)
	for i, w := range words {
		g.write("words", x+wordsAt(m), wordsLine*mm(i+1)-0.6, w, wordsEm, 0)
	}
	least := m.least(s.fret)
	spare := (width - sum(least)) / mm(len(least))
	strings := bassStrings(s.arrangement.Neck)
	var shapes []group
	at := x + barPad
	for i, c := range m.slots {
		room := least[i] + spare
		if c.chord != "" {
			free := room
			for k := i + 1; k < len(m.slots) && m.slots[k].chord == ""; k++ {
				free += least[k] + spare
			}
			g.write("chord", at, rows.chord, c.chord, chordEm, free-columnGap/2)
		}
		if c.shape != nil {
			shapes = append(shapes, c.shape.draw(at, rows.shape, s.fret))
			g.write("hit", at, rows.hit, c.hit, labelEm, 0)
		}
		g.write("degree", at, rows.degree, c.degree, bassEm, room-0.4)
		for k, n := range strings {
			if c.fret != "" && n == c.string {
				y := rows.tab + mm(k)*tabGap
				g.rect("gap", at-0.4, y-1.5, textWidth(c.fret, bassEm)+0.8, 3)
				g.write("fret", at, y+1.12, c.fret, bassEm, 0)
			}
		}
		at += room
	}
	return append([]group{g}, shapes...)
}

// bassStrings are the strings of the bass, the highest first, as they lie in
// tablature.
func bassStrings(n fretboard.Neck) []int {
	strings := slices.Clone(n.BassStrings)
	slices.Sort(strings)
	return strings
}
