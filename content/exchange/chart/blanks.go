package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
)

// written drops from a bar what is left open, such as ____ or ?, and makes a bar in doubt
// of one in which nothing else stands.
func (r *reader) written(list []token) []token {
	for _, t := range list {
		if t.unsure {
			r.doubt("line %d: %s has a question mark and is played", r.number, t.text)
		}
	}
	out := slices.DeleteFunc(slices.Clone(list), func(t token) bool { return t.kind == aBlank })
	switch {
	case len(out) == len(list):
	case len(out) > 0:
		r.doubt("line %d: the place left open in its bar is left out", r.number)
	default:
		r.open(list[0].text)
	}
	return out
}

// open makes a bar of a place in which no chord is written.
func (r *reader) open(text string) {
	if text == "" {
		text = "an empty cell"
	}
	if len(r.bars) == 0 {
		r.push(bar{Bar: transcribe.Bar{Chords: []transcribe.Chord{{Chord: harmony.Chord{Symbol: "N.C.", None: true}}}}})
		r.doubt("line %d: %s is a bar of which nothing is known: no chord is put in", r.number, text)
		return
	}
	r.push(bar{})
	r.doubt("line %d: %s is a bar of which nothing is known: the chord before it sounds on", r.number, text)
}

// filled puts a place left open into each empty cell of a row below numbers of bars.
func (r *reader) filled(list []token) (out []token) {
	for i, t := range list {
		if i > 0 && len(r.numbersAbove) > 0 {
			for ; t.gap >= 2*tabGap; t.gap -= tabGap {
				out = append(out, token{kind: aBlank, column: t.column, gap: tabGap})
			}
		}
		out = append(out, t)
	}
	return out
}

// trailingCells makes bars of the empty cells that end a row below numbers of bars.
func (r *reader) trailingCells(line string, from int) {
	n := strings.Count(line[len(strings.TrimRight(line, " \t")):], "\t")
	for made := len(r.bars) - from; made > 0 && n > 0 && made < len(r.numbersAbove); made++ {
		r.open("")
		n--
	}
}

var (
	notesCell  = regexp.MustCompile(`(?i)^\W*(?:notes?|remarks?|comments?|lyrics?|bemerkung(?:en)?|remarques?|notas?)\W*$`)
	chordsCell = regexp.MustCompile(`(?i)^\W*(?:chords?|changes|akkorde?|accords?|acordes?)\W*$`)
)

// withoutNotes blanks the column of notes in a table that names it beside one of chords.
func (r *reader) withoutNotes(lines []string) {
	for _, by := range []string{"\t", "|", ",", ";"} {
		column := -1
		for i, line := range lines {
			fields := strings.Split(line, by)
			if column < 0 {
				if slices.ContainsFunc(fields, chordsCell.MatchString) {
					if column = slices.IndexFunc(fields, notesCell.MatchString); column >= 0 {
						lines[i] = ""
						r.told = append(r.told, transcribe.Loss{What: fmt.Sprintf("line %d: the column %s is left out", i+1, clipped(strings.TrimSpace(fields[column])))})
					}
				}
			} else if column < len(fields) {
				fields[column] = ""
				lines[i] = strings.TrimRight(strings.Join(fields, by), " \t")
			}
		}
	}
}
