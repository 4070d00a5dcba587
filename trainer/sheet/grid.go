package sheet

import (
	"fmt"
	"slices"
	"strings"

	"footfall/fretboard"
)

// Grid draws a shape on the part of the neck where it lies, in plain
// characters: the low string at the bottom, "=" for the strings of the bass, a
// label at each sounding place, x for a string that is not played, open strings
// left of the bar, fret numbers under it. frets and labels go from the low
// string up; labels has one for each sounding string. A left-handed neck is
// drawn from the other side.
func Grid(n fretboard.Neck, frets []int, labels []string) string {
	low, high := 1, 0
	for _, f := range frets {
		if f > 0 {
			if high == 0 {
				low = f
			}
			low, high = min(low, f), max(high, f)
		}
	}
	if high <= 4 {
		low = 1
	}
	high = max(high, low+2)
	rows := make([]string, 0, len(frets)+1)
	label := len(labels)
	for i := len(frets) - 1; i >= 0; i-- {
		text := ""
		if frets[i] >= 0 {
			label--
			text = labels[label]
		}
		rows = append(rows, gridRow(n, i, frets[i], text, low, high))
	}
	var numbers []string
	for f := low; f <= high; f++ {
		numbers = append(numbers, centred(fmt.Sprint(f), cellWidth, " "))
	}
	rows = append(rows, gridLine(n, "", "", numbers, " "))
	return strings.Join(rows, "\n") + "\n"
}

const cellWidth = 5

func gridRow(n fretboard.Neck, i, fret int, text string, low, high int) string {
	str := len(n.Tuning) - i
	line := "-"
	if slices.Contains(n.BassStrings, str) {
		line = "="
	}
	open := ""
	switch {
	case fret < 0:
		open = "x"
	case fret == 0:
		open = text
	}
	var cells []string
	for f := low; f <= high; f++ {
		if f == fret {
			cells = append(cells, centred(text, cellWidth, line))
		} else {
			cells = append(cells, strings.Repeat(line, cellWidth))
		}
	}
	return gridLine(n, fmt.Sprint(str), open, cells, "|")
}

// gridLine sets a row together, from the other side for a left-handed neck.
func gridLine(n fretboard.Neck, name, open string, cells []string, bar string) string {
	if n.LeftHanded {
		cells = slices.Clone(cells)
		slices.Reverse(cells)
		return strings.TrimRight("  "+bar+strings.Join(cells, bar)+bar+fmt.Sprintf(" %-4s %s", open, name), " ")
	}
	return strings.TrimRight(fmt.Sprintf("  %-1s %3s ", name, open)+bar+strings.Join(cells, bar)+bar, " ")
}

// centred puts text into a stretch of a width, filled up on both sides.
func centred(text string, width int, fill string) string {
	free := max(0, width-len(text))
	return strings.Repeat(fill, free/2) + text + strings.Repeat(fill, free-free/2)
}
