package sheet

import (
	"fmt"
	"slices"
	"strconv"

	"footfall/fretboard"
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
	shapeGap  mm = 0.5 // behind a shape, whose fingers are small
	leastBeat mm = 3
	wordsEm   mm = 2.7
	wordsLine mm = 3.3
	chordEm   mm = 3.8
	bassEm    mm = 3.1
	fingerEm  mm = 1.9
	labelEm   mm = 2
	sectionEm mm = 4
	tabGap    mm = 3.6
	mostBeats    = 20  // in a line
	widest    mm = 3.1 // a fret of a diagram, where there is room
	narrowest mm = 2   // and where there is little
)

// slot is a place in a bar at which something stands: a beat, or the second
// half of one.
type slot struct {
	half   int
	chord  string
	degree string
	fret   string
	string int // of the fret
	finger string
	shape  *diagram
	// sign is the width of the stroke of the rhythm there.
	sign mm
}

// measure is a bar as slots.
type measure struct {
	bar
	slots []slot
	// strokes are its rhythm, landing the tie that comes over its bar line.
	strokes []stroke
	landing tie
}

// least are the widths that the slots need for a width of a fret.
func (m *measure) least(fret mm) []mm {
	widths := make([]mm, len(m.slots))
	for i, c := range m.slots {
		w := max(leastBeat, textWidth(c.degree, bassEm), textWidth(c.fret, bassEm), c.sign)
		if widths[i] = w + columnGap; c.shape != nil {
			widths[i] = max(widths[i], c.shape.width(fret)+shapeGap)
		}
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
	bars, strokes := barsOf(a), rhythm(a)
	measures := make([]measure, len(bars))
	landing := untied
	for i, b := range bars {
		m := measure{bar: b, strokes: strokes[i], landing: landing}
		slots := make([]slot, len(b.bass))
		used := make([]bool, len(b.bass))
		for k := range slots {
			slots[k] = slot{half: k, chord: b.chords[k], degree: arrows(b.bass[k])}
			used[k] = k%2 == 0 || b.chords[k] != "" || b.bass[k] != ""
		}
		for _, e := range b.notes {
			c := &slots[e.At.Half()]
			c.fret, c.string, c.finger = strconv.Itoa(e.Place.Fret), e.Place.String, strconv.Itoa(e.Finger)
			used[c.half] = true
		}
		for _, e := range b.shapes {
			d := diagramOf(a.Neck, e)
			c := &slots[e.Times[0].Half()]
			c.shape = &d
		}
		for _, s := range m.strokes {
			c := &slots[s.half]
			used[c.half] = used[c.half] || s.halves > 0
			if c.sign = headWidth + 1; s.push != "" {
				c.sign = pushAt + textWidth(s.push, labelEm)
			}
			landing = s.tied
		}
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

// music is a drawn line of bars: the names of its rows, and its bars one by one, which
// may stand beside or below one another.
type music struct {
	Labels figure
	Bars   []figure
	Ends   bool // the tune ends with it
}

func (s system) draw(line []measure) music {
	neck := s.arrangement.Neck
	widths := barWidths(line, s.fret, s.perLine)
	words := make([][]string, len(line))
	most, shapes := 1, false
	for i := range line {
		words[i] = wrap(line[i].words, wordsEm, widths[i]-wordsAt(&line[i])-columnGap)
		most = max(most, len(words[i]))
		shapes = shapes || s.arrangement.Layer != fretboard.Bass
	}
	rows := systemRows{top: mm(most)*wordsLine + 1, chord: mm(most)*wordsLine + 4.2}
	rows.shape = rows.chord + 1.7
	at := rows.chord
	if shapes {
		rows.rhythm = rows.shape + neckHeight(neck) + shapeFoot + rhythmUp
		at = rows.rhythm + rhythmDown
	}
	rows.degree = at + 3.3
	rows.tab = rows.degree + 3
	rows.bottom = rows.tab + mm(len(neck.BassStrings)-1)*tabGap
	rows.finger = rows.bottom + 3.2

	names := group{Class: "rows"}
	label := func(y mm, name string) { names.write("label", 0, y, name, labelEm, gutter-1) }
	if shapes {
		label(rows.rhythm+0.7, "hits")
	}
	label(rows.degree, "degree")
	for i, n := range bassStrings(neck) {
		label(rows.tab+mm(i)*tabGap+0.7, fmt.Sprintf("string %d", n))
	}
	label(rows.finger, "finger")
	height := rows.finger + 0.6
	m := music{Labels: figure{Width: gutter, Height: height, Groups: []group{names}}}
	for i := range line {
		f := figure{Title: "Bar " + line[i].title(), Says: barSays(&line[i]), Width: widths[i], Height: height}
		f.Groups = s.bar(&line[i], widths[i], words[i], rows, s.last && i == len(line)-1)
		m.Bars = append(m.Bars, f)
	}
	return m
}

// wordsAt is where the words of a bar start, behind its number.
func wordsAt(m *measure) mm { return textWidth(m.title(), labelEm) + 1 }

// systemRows are the heights of a system's rows: the top of the bar lines, base lines
// of text, the upper edge of the shapes, the middle of the slashes, the upper and lower
// string of the tablature.
type systemRows struct{ top, chord, shape, rhythm, degree, tab, bottom, finger mm }

// bar draws a bar with its left line at 0.
func (s system) bar(m *measure, width mm, words []string, rows systemRows, last bool) []group {
	g := group{Class: "bar"}
	strings := bassStrings(s.arrangement.Neck)
	for k := range strings {
		y := rows.tab + mm(k)*tabGap
		g.line("tab", 0, y, width, y)
	}
	g.line("barline", 0, rows.top, 0, rows.bottom)
	end := "barline"
	if last {
		end = "barline final"
	}
	g.line(end, width, rows.top, width, rows.bottom)
	g.write("label", 0, wordsLine-0.6, m.title(), labelEm, 0)
	for i, w := range words {
		g.write("words", wordsAt(m), wordsLine*mm(i+1)-0.6, w, wordsEm, 0)
	}
	least := m.least(s.fret)
	spare := (width - sum(least)) / mm(len(least))
	var shapes []group
	at := barPad
	x := map[int]mm{}
	for i, c := range m.slots {
		room := least[i] + spare
		x[c.half] = at
		if c.chord != "" {
			free := room
			for k := i + 1; k < len(m.slots) && m.slots[k].chord == ""; k++ {
				free += least[k] + spare
			}
			g.write("chord", at, rows.chord, c.chord, chordEm, free-columnGap/2)
		}
		if c.shape != nil {
			shapes = append(shapes, c.shape.draw(at, rows.shape, s.fret))
		}
		g.write("degree", at, rows.degree, c.degree, bassEm, room-0.4)
		for k, n := range strings {
			if c.fret != "" && n == c.string {
				y := rows.tab + mm(k)*tabGap
				g.rect("gap", at-0.4, y-1.5, textWidth(c.fret, bassEm)+0.8, 3)
				g.write("fret", at, y+1.12, c.fret, bassEm, 0)
			}
		}
		g.write("finger", at, rows.finger, c.finger, fingerEm, 0)
		at += room
	}
	if rows.rhythm > 0 {
		g.rhythm(m.strokes, x, width, rows.rhythm, m.meter.BeatQuarters() > 1, m.landing)
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
