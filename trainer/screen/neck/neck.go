// Package neck draws a neck lying down: the low string at the bottom, the bass
// strings heavier than the rest, marks on it as text and fret numbers under it.
// Each role of a mark has a bracket of its own, so that it shows without colour:
//
//	[b7] the cursor   (b7) right   ×b7× wrong   <?> asked   >5< next   {b7} coming   (b7} staying
//	b7 plain, anchor
//
// It draws what it is given and knows no music.
package neck

import (
	"fmt"
	"slices"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"footfall/fretboard"
	"footfall/trainer/screen/theme"
)

// Drawing says what to draw.
type Drawing struct {
	Neck  fretboard.Neck
	Marks []fretboard.Mark
	// Cursor is drawn over the marks; nil is none.
	Cursor *fretboard.Place
	// Width is the columns there are, at least 24. Where Height, the rows there
	// are, is two to four times the strings, they stand apart; 0 draws them close.
	Width, Height int
	// Close lets frets be as narrow as three columns, for marks of two at most, without
	// signs.
	Close bool
	// Degrees is set where the marks are degrees of a chord, which are drawn by what they
	// are to it.
	Degrees bool
	// Hand is where the hand lies and where it goes next, drawn below the numbers; nil
	// for none.
	Hand *Hand
}

const (
	least = 4  // columns of a fret, its wire included
	most  = 10 // columns that a fret takes where there is room

	mostGap = 3 // rows between strings
)

// Draw draws the neck. Where not every fret fits, it draws those around the
// cursor and the marks.
func Draw(t *theme.Theme, d Drawing) string {
	strs := len(d.Neck.Tuning)
	names := d.Neck.Tuning.OpenNames()
	label, cell, first, last := d.columns()
	at := make(map[fretboard.Place]fretboard.Mark, len(d.Marks))
	for _, m := range d.Marks {
		at[m.Place] = m
	}
	lines := make([]string, 0, strs+1)
	for s := 1; s <= strs; s++ {
		lines = append(lines, row(t, d, s, names[s-1], label, cell, first, last, at))
		for gap := range d.gap() {
			if s < strs {
				lines = append(lines, between(t, d, s, gap, label, cell, first, last))
			}
		}
	}
	lines = append(lines, numbers(t, d, label, cell, first, last))
	if d.Hand != nil {
		lines = append(lines, hand(t, d, label, cell, first, last))
	}
	return strings.Join(lines, "\n")
}

// columns are where the frets stand: behind a label, each in so many columns, from the
// first to the last.
func (d Drawing) columns() (label, cell, first, last int) {
	label = 2
	for _, n := range d.Neck.Tuning.OpenNames() {
		label = max(label, 3+lipgloss.Width(n))
	}
	room := d.Width - label - 2
	cell = min(most, room/(d.Neck.HighestFret+1))
	first, last = 0, d.Neck.HighestFret
	least := least
	if d.Close {
		least--
	}
	if cell < least {
		cell = least
		first, last = window(d, max(1, room/cell))
	}
	return label, cell, first, last
}

// gap is the rows between two strings.
func (d Drawing) gap() int { return max(0, min(mostGap, d.Height/len(d.Neck.Tuning)-1)) }

// At is the place that stands at a column and row of what Draw draws, both from 0; false
// where there is none.
func At(d Drawing, x, y int) (fretboard.Place, bool) {
	if len(d.Neck.Tuning) == 0 {
		return fretboard.Place{}, false
	}
	label, cell, first, last := d.columns()
	if d.Neck.LeftHanded {
		label = 0
	}
	frets := seen(d.Neck, first, last)
	s, i := y/(1+d.gap())+1, (x-label)/cell
	if x < label || i >= len(frets) || s > len(d.Neck.Tuning) {
		return fretboard.Place{}, false
	}
	return fretboard.Place{String: s, Fret: frets[i]}, true
}

// window picks the frets to draw where there is room for count: the lowest of a few
// stretches that holds the cursor, or the marks, so that the neck stands still while the
// hand moves within one.
func window(d Drawing, count int) (first, last int) {
	low, high := d.Neck.HighestFret, 0
	focus := d.Marks
	if d.Cursor != nil {
		focus = []fretboard.Mark{{Place: *d.Cursor}}
	}
	for _, m := range focus {
		low, high = min(low, m.Place.Fret), max(high, m.Place.Fret)
	}
	step, highest := max(1, count/2), max(0, d.Neck.HighestFret-count+1)
	for first < highest && first+count <= high && min(highest, first+step) <= low {
		first = min(highest, first+step)
	}
	return first, min(d.Neck.HighestFret, first+count-1)
}

// piece is a stretch of a row that is drawn in one style.
type piece struct {
	text  string
	style *lipgloss.Style
}

func row(t *theme.Theme, d Drawing, str int, name string, label, cell, first, last int, at map[fretboard.Place]fretboard.Mark) string {
	g := t.Glyphs
	line, wire, runsOn, look := g.Thin, g.ThinWire, g.RunsOn, &t.String
	if slices.Contains(d.Neck.BassStrings, str) {
		line, wire, runsOn, look = g.Heavy, g.HeavyWire, g.HeavyRunsOn, &t.Heavy
	}
	// A row is wire, inside, wire, inside … wire, as it is seen.
	frets := seen(d.Neck, first, last)
	wires := make([]piece, len(frets)+1)
	insides := make([]piece, len(frets))
	for i := range wires {
		wires[i] = piece{wire, look}
	}
	low, high := d.edges(len(frets))
	if first == 0 {
		wires[low], wires[nut(low)] = piece{" ", nil}, piece{g.Nut, &t.Text}
	} else {
		wires[low].text = runsOn
	}
	if last < d.Neck.HighestFret {
		wires[high].text = runsOn
	}
	cursor := -1
	for i, fret := range frets {
		fill := line
		if fret == 0 {
			fill = " "
		}
		p := fretboard.Place{String: str, Fret: fret}
		m, marked := at[p]
		onCursor := d.Cursor != nil && *d.Cursor == p
		if onCursor {
			cursor = i
		}
		if !marked {
			insides[i] = piece{strings.Repeat(fill, cell-1), look}
			if fret > 0 && d.Height < 2*len(d.Neck.Tuning) && inlaid(len(d.Neck.Tuning), str, fret) {
				insides[i].text = centre(g.Inlay, cell-1, fill)
			}
			continue
		}
		style := t.Role(m.Role)
		if onCursor {
			insides[i] = piece{centre(m.Text, cell-1, fill), &style}
			continue
		}
		text := style.Render(m.Text)
		if tone := toneOf(m.Text); d.Degrees && tone != theme.Other && m.Role != fretboard.Wrong && m.Role != fretboard.Coming {
			text = t.Tone(tone).Bold(m.Role != fretboard.Plain && m.Role != fretboard.Anchor).Render(m.Text)
		}
		inside := func(open, shut string) {
			free := max(0, cell-1-lipgloss.Width(open+m.Text+shut))
			left := look.Render(strings.Repeat(fill, free/2)) + style.Render(open)
			insides[i] = piece{left + text + style.Render(shut) + look.Render(strings.Repeat(fill, free-free/2)), nil}
		}
		open, shut := brackets(g, m.Role)
		// Brackets that do not fit between the wires take a wire's place.
		switch over := lipgloss.Width(open+m.Text+shut) - (cell - 1); {
		case open != "" && over == 1:
			inside(open, "")
			wires[i+1] = piece{shut, &style}
		case open != "" && over == 2:
			inside("", "")
			wires[i], wires[i+1] = piece{open, &style}, piece{shut, &style}
		default:
			inside(open, shut)
		}
	}
	if cursor >= 0 {
		wires[cursor], wires[cursor+1] = piece{"[", &t.Strong}, piece{"]", &t.Strong}
		insides[cursor].style = &t.Cursor
	}

	pieces := make([]piece, 0, 2*len(frets)+1)
	for i := range frets {
		pieces = append(pieces, wires[i], insides[i])
	}
	pieces = append(pieces, wires[len(frets)])
	tag := fmt.Sprintf("%d %s", str, name)
	if d.Neck.LeftHanded {
		return join(pieces) + " " + t.Dim.Render(tag)
	}
	return t.Dim.Render(tag) + strings.Repeat(" ", max(0, label-lipgloss.Width(tag))) + join(pieces)
}

// edges are which of the wires about so many frets stands below the lowest, and which above
// the highest.
func (d Drawing) edges(frets int) (low, high int) {
	if d.Neck.LeftHanded {
		return frets, 0
	}
	return 0, frets
}

// nut is the wire beside the one below the open strings.
func nut(low int) int {
	if low > 0 {
		return low - 1
	}
	return 1
}

// between draws the fret wires between two strings that stand apart.
func between(t *theme.Theme, d Drawing, above, gap, label, cell, first, last int) string {
	frets := seen(d.Neck, first, last)
	low, high := d.edges(len(frets))
	row := ""
	for i := range len(frets) + 1 {
		wire := t.String.Render(t.Glyphs.Wire)
		switch {
		case i == low, i == high && last < d.Neck.HighestFret:
			wire = " "
		case first == 0 && i == nut(low):
			wire = t.Text.Render(t.Glyphs.Nut)
		}
		row += wire
		if i < len(frets) {
			inlay := ""
			if gap == 0 && frets[i] > 0 && inlaid(len(d.Neck.Tuning), above, frets[i]) {
				inlay = t.Dim.Render(t.Glyphs.Inlay)
			}
			row += centre(inlay, cell-1, " ")
		}
	}
	if !d.Neck.LeftHanded {
		row = strings.Repeat(" ", label) + row
	}
	return strings.TrimRight(row, " ")
}

// inlaid reports whether a fret has an inlay on a string, or below it where the strings
// stand apart: one in the middle of the neck at 3, 5, 7 and 9, two at the octave, and so on up.
func inlaid(strings, str, fret int) bool {
	middle := strings / 2
	switch fret % 12 {
	case 0:
		return str == middle-1 || str == middle+1
	case 3, 5, 7, 9:
		return str == middle
	}
	return false
}

// toneOf tells what a degree is to its chord by its number.
func toneOf(degree string) theme.Tone {
	switch strings.TrimLeft(degree, "b#") {
	case "1":
		return theme.Root
	case "3":
		return theme.Third
	case "5":
		return theme.Fifth
	case "6", "7":
		return theme.Seventh
	case "2", "4", "9", "11", "13":
		return theme.Tension
	}
	return theme.Other
}

// Legend says in a line what the degrees and the signs about those in some roles mean
// where music is played, as far as there is room: the signs first. On a page that stands
// still, now is a word for the place shown.
func Legend(t *theme.Theme, width int, now string, roles ...fretboard.Role) string {
	signs := signs(t, now, roles...)
	if tones := Tones(t, width-lipgloss.Width(signs)-3); tones != "" {
		return signs + "   " + tones
	}
	return signs
}

// Tones is the legend of the degrees in one line, as many as have room.
func Tones(t *theme.Theme, width int) string {
	var words []string
	for _, w := range []struct {
		tone       theme.Tone
		sign, says string
	}{{theme.Root, "1", "root"}, {theme.Third, "3", "third"}, {theme.Fifth, "5", "fifth"}, {theme.Seventh, "7", "seventh or 6"}, {theme.Tension, "9", "tension"}} {
		word := t.Tone(w.tone).Render(w.sign) + " " + t.Dim.Render(w.says)
		if lipgloss.Width(strings.Join(append(words, word), "   ")) <= width {
			words = append(words, word)
		}
	}
	return strings.Join(words, "   ")
}

// signs is the legend of the signs about a degree in some roles, in one line.
func signs(t *theme.Theme, now string, roles ...fretboard.Role) string {
	means := map[fretboard.Role]string{
		fretboard.Right: now, fretboard.Next: "next bass note", fretboard.Coming: "next shape", fretboard.Staying: "stays", fretboard.Anchor: "also in this bar",
	}
	var words []string
	for _, r := range roles {
		words = append(words, Sign(t, r, "5")+" "+t.Dim.Render(means[r]))
	}
	return strings.Join(words, "   ")
}

// Sign writes a degree with the signs of a role about it.
func Sign(t *theme.Theme, role fretboard.Role, degree string) string {
	open, shut := brackets(t.Glyphs, role)
	return t.Role(role).Render(open + degree + shut)
}

// Hand is a position of the hand: the fret of its first finger, and the one that it goes
// to, 0 for none.
type Hand struct{ At, To int }

// span is the frets of a hand: a finger a fret.
const span = 4

// hand draws the four frets that the hand lies on, and which way it goes from there.
func hand(t *theme.Theme, d Drawing, label, cell, first, last int) string {
	if d.Neck.LeftHanded {
		label = 0
	}
	row := strings.Repeat(" ", label)
	for _, f := range seen(d.Neck, first, last) {
		fill := " "
		if f >= d.Hand.At && f < d.Hand.At+span {
			fill = t.Glyphs.Rule
		}
		row += fill + strings.Repeat(fill, cell-1)
	}
	row = strings.TrimRight(row, " ")
	to, up := d.Hand.To, t.Glyphs.Right
	if d.Neck.LeftHanded {
		up = t.Glyphs.Left
	}
	down := map[bool]string{true: t.Glyphs.Right, false: t.Glyphs.Left}[d.Neck.LeftHanded]
	says := ""
	switch {
	case to > d.Hand.At:
		says = fmt.Sprintf("hand at %d, then %s %d", d.Hand.At, up, to)
	case to > 0 && to < d.Hand.At:
		says = fmt.Sprintf("hand at %d, then %s %d", d.Hand.At, down, to)
	default:
		says = fmt.Sprintf("hand at %d", d.Hand.At)
	}
	before := lipgloss.Width(row) - lipgloss.Width(strings.TrimLeft(row, " "))
	if room := before - label - 2; lipgloss.Width(row+"  "+says) > d.Width && lipgloss.Width(says) <= room {
		return t.Dim.Render(strings.Repeat(" ", label) + says + strings.TrimPrefix(row, strings.Repeat(" ", label+lipgloss.Width(says))))
	}
	return t.Dim.Render(ansi.Truncate(row+"  "+says, d.Width, ""))
}

// seen lists the frets from left to right.
func seen(n fretboard.Neck, first, last int) []int {
	var frets []int
	for f := first; f <= last; f++ {
		frets = append(frets, f)
	}
	if n.LeftHanded {
		slices.Reverse(frets)
	}
	return frets
}

func numbers(t *theme.Theme, d Drawing, label, cell, first, last int) string {
	if d.Neck.LeftHanded {
		label = 0
	}
	pieces := []piece{{strings.Repeat(" ", label), nil}}
	for _, f := range seen(d.Neck, first, last) {
		look := &t.Dim
		switch f % 12 {
		case 0, 3, 5, 7, 9:
			look = &t.Text
		}
		pieces = append(pieces, piece{" ", nil}, piece{centre(fmt.Sprint(f), cell-1, " "), look})
	}
	left, right := first > 0, last < d.Neck.HighestFret
	if d.Neck.LeftHanded {
		left, right = right, left
	}
	switch {
	case left && label > 0:
		pieces[0] = piece{strings.Repeat(" ", label-1) + t.Glyphs.Leftward, &t.Text}
	case left:
		pieces[1] = piece{t.Glyphs.Leftward, &t.Text}
	}
	if right {
		pieces = append(pieces, piece{" " + t.Glyphs.Rightward, &t.Text})
	}
	return strings.TrimRight(join(pieces), " ")
}

func brackets(g theme.Glyphs, r fretboard.Role) (open, shut string) {
	switch r {
	case fretboard.Asked:
		return "<", ">"
	case fretboard.Right:
		return "(", ")"
	case fretboard.Wrong:
		return g.Times, g.Times
	case fretboard.Next:
		return ">", "<"
	case fretboard.Coming:
		return "{", "}"
	case fretboard.Staying:
		return "(", "}"
	}
	return "", ""
}

// centre puts text into a stretch of a width, filled up on both sides.
func centre(text string, width int, fill string) string {
	free := max(0, width-lipgloss.Width(text))
	left := free / 2
	return strings.Repeat(fill, left) + text + strings.Repeat(fill, free-left)
}

func join(pieces []piece) string {
	var b strings.Builder
	for i := 0; i < len(pieces); {
		// Neighbours of one style are rendered together: fewer escape codes.
		j, text := i, ""
		for j < len(pieces) && pieces[j].style == pieces[i].style {
			text += pieces[j].text
			j++
		}
		if pieces[i].style == nil {
			b.WriteString(text)
		} else {
			b.WriteString(pieces[i].style.Render(text))
		}
		i = j
	}
	return b.String()
}
