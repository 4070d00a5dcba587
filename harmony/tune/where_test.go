package tune_test

import (
	"testing"

	"footfall/harmony/tune"

	"github.com/stretchr/testify/assert"
)

func TestWhere(t *testing.T) {
	const text = "tune T\nkey C\nmeter 4/4\ntempo 90\n\n[A]\nchords | C | F |\nhits   | on . on . | % |\n\n[B]\nchords | G |\nbass | 1 - 5 - |\n"
	for _, c := range []struct {
		section   string
		bar, beat int
		line, col int
	}{
		{"A", 1, 3, 8, 15}, {"A", 2, 3, 8, 22}, {"B", 1, 3, 12, 12}, {"B", 1, 9, 12, 8}, {"C", 1, 1, 0, 0}, {"A", 3, 1, 0, 0},
	} {
		line, col, ok := tune.Where(text, c.section, c.bar, c.beat, tune.ShapesRow, tune.HitsRow, tune.BassRow)
		assert.Equal(t, []int{c.line, c.col}, []int{line, col}, "%v", c)
		assert.Equal(t, c.line > 0, ok, "%v", c)
	}
}
