package tune

import (
	"fmt"
	"sort"
	"strings"
)

// Fault is one thing that is wrong with a text: where, what was found there and
// what would do. Line and Column count from 1, columns in characters (♭ is one).
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
	return fmt.Sprintf("line %d, column %d: found %s; want %s", f.Line, f.Column, f.Found, f.Want)
}

// Faults are all the faults of a text, in its order. As an error it lists them,
// one a line; nil or empty means that nothing is wrong.
type Faults []Fault

// Error lists the faults, one a line.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.Error()
	}
	return strings.Join(lines, "\n")
}

func (fs Faults) sorted() Faults {
	sort.SliceStable(fs, func(i, j int) bool {
		if fs[i].Line != fs[j].Line {
			return fs[i].Line < fs[j].Line
		}
		return fs[i].Column < fs[j].Column
	})
	return fs
}
