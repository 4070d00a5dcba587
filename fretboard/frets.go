package fretboard

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"footfall/harmony/tune"
)

// lastFret is the highest fret that a written shape may name. Few necks have
// more than 24.
const lastFret = tune.HighestWrittenFret

// FormatFrets writes frets low string to high with dashes, x for a string that
// is not played: "x-3-2-0-1-0".
func FormatFrets(frets []int) string {
	parts := make([]string, len(frets))
	for i, f := range frets {
		parts[i] = "x"
		if f >= 0 {
			parts[i] = strconv.Itoa(f)
		}
	}
	return strings.Join(parts, "-")
}

// ParseFrets reads frets low string to high, one a string of the tuning: 0 to
// 24, x or X for a string that is not played. Dashes, blanks or commas part
// them (x-3-2-0-1-0, "x 3 2 0 1 0"); with no parting each character is a string
// (x32010). It returns −1 for x. The error says what is wrong and at which
// column, counted in characters from 1.
func (t Tuning) ParseFrets(s string) ([]int, error) {
	want := fmt.Sprintf("write %d frets low string to high, such as %s", len(t), t.exampleFrets())
	fields, columns := splitFrets(s)
	if len(fields) == 0 {
		return nil, fmt.Errorf("no frets found; %s", want)
	}
	if len(fields) == 1 && len([]rune(fields[0])) > 1 {
		compact := []rune(fields[0])
		start := columns[0]
		fields, columns = nil, nil
		for i, r := range compact {
			fields = append(fields, string(r))
			columns = append(columns, start+i)
		}
	}
	frets := make([]int, 0, len(fields))
	sounding := false
	for i, f := range fields {
		if f == "x" || f == "X" {
			frets = append(frets, muted)
			continue
		}
		n, err := strconv.Atoi(f)
		if err != nil || n < 0 {
			return nil, fmt.Errorf("column %d: %q is no fret; write 0 to %d, or x for a string not played", columns[i], f, lastFret)
		}
		if n > lastFret {
			return nil, fmt.Errorf("column %d: fret %s is past fret %d; write 0 to %d, or x for a string not played", columns[i], f, lastFret, lastFret)
		}
		sounding = true
		frets = append(frets, n)
	}
	if len(frets) != len(t) {
		noun := "frets"
		if len(frets) == 1 {
			noun = "fret"
		}
		return nil, fmt.Errorf("found %d %s for %d strings; %s", len(frets), noun, len(t), want)
	}
	if !sounding {
		return nil, fmt.Errorf("no string sounds; give at least one a fret from 0 to %d", lastFret)
	}
	return frets, nil
}

// exampleFrets writes a shape with as many strings as the tuning.
func (t Tuning) exampleFrets() string {
	example := []int{3, 2, 0, 0, 0, 3}
	for len(example) < len(t) {
		example = append([]int{muted}, example...)
	}
	return FormatFrets(example[len(example)-len(t):])
}

// splitFrets parts a text at dashes, blanks and commas, with the column of
// each field. Two partings in a row that hold no blank leave an empty field.
func splitFrets(s string) (fields []string, columns []int) {
	field, start := "", 0
	pending := false // a dash or comma waits for its field
	flush := func() {
		if field != "" {
			fields, columns = append(fields, field), append(columns, start)
			field, pending = "", false
		}
	}
	column := 0
	for _, r := range s {
		column++
		switch {
		case unicode.IsSpace(r):
			flush()
		case r == '-' || r == ',' || r == '–':
			flush()
			if pending || len(fields) == 0 {
				fields, columns = append(fields, string(r)), append(columns, column)
				continue
			}
			pending = true
		default:
			if field == "" {
				start = column
			}
			field += string(r)
		}
	}
	flush()
	if pending {
		fields, columns = append(fields, "-"), append(columns, column)
	}
	return fields, columns
}
