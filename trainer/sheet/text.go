// Package sheet writes an arrangement down for people: as text, and as pages to
// print. It works out no music; it draws what fretboard has arranged.
package sheet

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"footfall/fretboard"
)

// layerWords says what each layer holds.
var layerWords = map[fretboard.Layer]string{
	fretboard.Bass:        "the bass line",
	fretboard.BassChanges: "the bass line, a shape for each chord",
	fretboard.BassHalves:  "the bass line, every hit",
}

// column is half a beat of the text view: what stands in each row of it.
type column struct {
	chord, degree, hit string
	// finger has those of what is put down there, from the low string up.
	finger  string
	strings []string // index 0 is the string of the highest number
}

// textBar is a bar as columns, and its heading.
type textBar struct {
	section string
	number  string
	words   string
	columns []column
	widths  []int
}

// Text writes an arrangement in plain characters, no line wider than width
// unless a single bar is: chords, degrees with their direction, hits where they are
// struck, a row for each string with its frets, fingers, and the words.
func Text(a *fretboard.Arrangement, width int) string {
	var b strings.Builder
	t := a.Tune
	fmt.Fprintf(&b, "%s\n%s, %s, %g BPM, swing %s\n%s\n", t.Title, t.Key,
		t.Meters(), t.Tempo, t.Swing, layerWords[a.Layer])
	bars := textBars(a)
	for len(bars) > 0 {
		n, used := 0, labelWidth
		for n < len(bars) {
			used += bars[n].width() + 2
			if n > 0 && (used > width || bars[n].section != bars[0].section) {
				break
			}
			n++
		}
		writeSystem(&b, bars[:n], len(a.Neck.Tuning))
		bars = bars[n:]
	}
	if a.Layer != fretboard.Bass {
		b.WriteString("\n" + textLegend)
	}
	return b.String()
}

const textLegend = `hit: on the beat, and on the offbeat; with - it rings on, else it is short;
a push sounds the next chord, its bass note follows on the beat.
finger: from the low string up, 0 is open.
`

const labelWidth = 8

func (tb *textBar) width() int {
	sum := 0
	for _, w := range tb.widths {
		sum += w
	}
	return sum
}

func textBars(a *fretboard.Arrangement) []textBar {
	all, strokes := barsOf(a), rhythm(a)
	bars := make([]textBar, len(all))
	for i, b := range all {
		tb := textBar{section: b.section, number: b.title(), words: b.words, columns: make([]column, len(b.bass))}
		for k := range tb.columns {
			tb.columns[k] = column{chord: b.chords[k], degree: arrows(b.bass[k]), strings: make([]string, len(a.Neck.Tuning))}
		}
		for _, e := range b.notes {
			c := &tb.columns[e.At.Half()]
			c.strings[len(c.strings)-e.Place.String] = strconv.Itoa(e.Place.Fret)
			c.finger = strconv.Itoa(e.Finger)
		}
		if first := strokes[i][0]; first.from {
			tb.columns[0].hit = "-"
		}
		for _, e := range b.shapes {
			for k, at := range e.Strikes() {
				c := &tb.columns[at.Half()]
				if c.hit = hitWord(e, k); k == 0 {
					c.finger = handOf(e)
				}
				for s, fret := range e.Frets {
					place := fretboard.Place{String: len(e.Frets) - s, Fret: fret}
					if fret >= 0 && (place != e.Place || e.Free) {
						c.strings[s] = strconv.Itoa(fret)
					}
				}
			}
		}
		bars[i] = tb
	}
	for i := range bars {
		bars[i].measure()
	}
	return bars
}

// handOf writes the fingers of a shape's sounding strings, from the low one up.
func handOf(e *fretboard.Event) (fingers string) {
	for s, fret := range e.Frets {
		if fret >= 0 {
			fingers += strconv.Itoa(e.Fingers[s])
		}
	}
	return fingers
}

// measure gives each column the width its longest entry needs. A chord symbol
// may run on over the columns up to the next one.
func (tb *textBar) measure() {
	tb.widths = make([]int, len(tb.columns))
	for i, c := range tb.columns {
		w := 0
		for _, s := range append([]string{c.degree, c.hit, c.finger}, c.strings...) {
			if n := utf8.RuneCountInString(s); n > 0 {
				w = max(w, n+1)
			}
		}
		if i%2 == 0 {
			w = max(w, 3)
		}
		tb.widths[i] = w
	}
	for i := 0; i < len(tb.columns); i++ {
		if tb.columns[i].chord == "" {
			continue
		}
		room, k := 0, i
		for ; k < len(tb.columns) && (k == i || tb.columns[k].chord == ""); k++ {
			room += tb.widths[k]
		}
		if need := utf8.RuneCountInString(tb.columns[i].chord) + 1; need > room {
			tb.widths[k-1] += need - room
		}
	}
}

func writeSystem(b *strings.Builder, bars []textBar, nStrings int) {
	numbers := make([]string, len(bars))
	for i, tb := range bars {
		numbers[i] = tb.number
	}
	b.WriteString("\n")
	writeRow(b, bars[0].section, bars, ' ', ' ', func(i, k int) string {
		if k == 0 {
			return numbers[i]
		}
		return ""
	})
	writeRow(b, "chord", bars, '|', ' ', func(i, k int) string { return bars[i].columns[k].chord })
	writeRow(b, "degree", bars, '|', ' ', func(i, k int) string { return bars[i].columns[k].degree })
	if anyCell(bars, func(c column) bool { return c.hit != "" }) {
		writeRow(b, "hit", bars, '|', ' ', func(i, k int) string { return bars[i].columns[k].hit })
	}
	for s := nStrings - 1; s >= 0; s-- {
		fill := ' '
		if s < 2 {
			fill = '-'
		}
		writeRow(b, fmt.Sprintf("%6d", nStrings-s), bars, '|', fill, func(i, k int) string { return bars[i].columns[k].strings[s] })
	}
	writeRow(b, "finger", bars, '|', ' ', func(i, k int) string { return bars[i].columns[k].finger })
	for i, tb := range bars {
		if tb.words != "" {
			fmt.Fprintf(b, "bar %s: %s\n", numbers[i], tb.words)
		}
	}
}

func anyCell(bars []textBar, has func(column) bool) bool {
	for _, tb := range bars {
		for _, c := range tb.columns {
			if has(c) {
				return true
			}
		}
	}
	return false
}

// writeRow writes one row over all bars of a system. An entry longer than its
// column takes room from the empty columns after it.
func writeRow(b *strings.Builder, label string, bars []textBar, line, fill rune, cell func(bar, col int) string) {
	row := fmt.Sprintf("%-*s", labelWidth-1, label)
	for i := range bars {
		row += string(line) + string(fill)
		owed := 0
		for k, w := range bars[i].widths {
			text := cell(i, k)
			n := utf8.RuneCountInString(text)
			if text == "" && owed > 0 {
				take := min(owed, w)
				owed -= take
				w -= take
			}
			if text != "" {
				w -= owed
				owed = 0
			}
			if n > w {
				owed = n - w
				row += text
				continue
			}
			row += text + strings.Repeat(string(fill), max(0, w-n))
		}
	}
	row += string(line)
	b.WriteString(strings.TrimRight(row, " ") + "\n")
}
