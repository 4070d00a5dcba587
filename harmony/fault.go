package harmony

import (
	"fmt"
	"slices"
	"strings"
)

// Fault is one thing that is wrong with a text: where, what was found there and
// what would do. Line and Column count from 1, columns in characters (♭ is one);
// Line is 0 in a text that has none, such as a chord symbol. Of a symbol or a ramp
// Found is what stands there as it stands, "" at the end.
type Fault struct {
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Found  string `json:"found"`
	Want   string `json:"want"`
	// Fix is the text that sets the fault right, "" where there is none to give: for
	// a line that leaves the strings its bass rows, each below its section's name.
	Fix string `json:"fix,omitempty"`
}

// Error says the fault in one line.
func (f Fault) Error() string {
	if f.Line > 0 {
		return fmt.Sprintf("line %d, column %d: found %s; want %s", f.Line, f.Column, f.Found, f.Want)
	}
	found := "the end"
	if f.Found != "" {
		found = fmt.Sprintf("%q", f.Found)
	}
	return fmt.Sprintf("column %d: found %s; want %s", f.Column, found, f.Want)
}

// Faults are all the faults of a text, in its order. As an error it lists them,
// one a line; nil or empty means that nothing is wrong.
type Faults []Fault

// mostTold is how many faults an error lists.
const mostTold = 100

// Error lists the faults, one a line, and counts those after the first hundred.
func (fs Faults) Error() string {
	var lines []string
	for _, f := range fs[:min(len(fs), mostTold)] {
		lines = append(lines, f.Error())
	}
	if more := len(fs) - mostTold; more > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(lines, "\n")
}

// Sort puts the faults in the order of the text and returns them.
func (fs Faults) Sort() Faults {
	slices.SortStableFunc(fs, func(a, b Fault) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return fs
}
