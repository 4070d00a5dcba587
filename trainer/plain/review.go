package plain

import (
	"fmt"
	"io"
	"strings"

	"footfall/drills/progress"
)

// shownSpans is how many of the latest days, weeks and months are told.
const shownSpans = 14

// Review tells a look back: how much was right, then each table as its title and a
// line a row, in which each number is led by what it counts.
func Review(w io.Writer, v progress.Review) error {
	var b strings.Builder
	tables := v.Tables()
	if len(tables) == 0 {
		b.WriteString("Nothing has been practiced in this time.\n")
	} else {
		fmt.Fprintf(&b, "%d right of %d asked.\n", v.Right, v.Asked)
		if says := v.Advice(); says != "" {
			b.WriteString(spoken(says) + "\n")
		}
	}
	for _, t := range tables {
		t = t.Latest(shownSpans)
		var rows []string
		for _, row := range t.Rows {
			if says := rowWords(t, row); says != "" {
				rows = append(rows, spoken(says))
			}
		}
		if rows != nil {
			fmt.Fprintf(&b, "\n%s.\n%s\n", t.Title, strings.Join(rows, "\n"))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// rowWords tells a row of a table as a sentence: its first cell, then each other
// one that holds something, led by what it counts; "" where none does.
func rowWords(t progress.Table, row []string) string {
	var says []string
	for i, cell := range row[1:] {
		column := t.Columns[i+1]
		switch {
		case cell == "" || cell == "." || cell == "-" || t.Name == "due" && cell == "0":
			continue
		case t.OnTheNeck():
			column = "fret " + column + " is"
		case t.Name == "degrees":
			column = "the " + column + " is"
		}
		says = append(says, column+" "+cell)
	}
	if says == nil {
		return ""
	}
	name := t.Columns[0] + " " + row[0]
	if t.Columns[0] == "what" {
		name = capital(row[0])
	}
	return fmt.Sprintf("%s: %s.", name, strings.Join(says, ", "))
}
