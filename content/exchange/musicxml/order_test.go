package musicxml

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// flowsOf makes measures of a line of marks, one a measure: |: and :| are
// repeats, x3 plays one three times, [1 and ] endings, S segno, O coda, T to
// coda, F fine, DC and DS jumps; - is a measure without any.
func flowsOf(line string) []flow {
	var out []flow
	for _, m := range strings.Fields(line) {
		f := flow{}
		for _, mark := range strings.Split(m, "+") {
			switch {
			case mark == "|:":
				f.forward = true
			case mark == ":|":
				f.backward = true
			case strings.HasPrefix(mark, "x"):
				fmt.Sscan(mark[1:], &f.times)
			case strings.HasPrefix(mark, "["):
				f.endings = endingNumbers(mark[1:])
			case mark == "]":
				f.endsEnding = true
			case mark == "S":
				f.segno = true
			case mark == "O":
				f.coda = true
			case mark == "T":
				f.toCoda = true
			case mark == "F":
				f.fine = true
			case mark == "DC":
				f.daCapo = true
			case mark == "DS":
				f.dalSegno = true
			}
		}
		out = append(out, f)
	}
	return out
}

// TestPlayOrder has forms written out by hand, measures counted from 1. How
// jumps and repeats go together is common practice, no source.
func TestPlayOrder(t *testing.T) {
	for line, want := range map[string]string{
		"- - -":                "1 2 3",
		"- :| -":               "1 2 1 2 3",
		"- |: :|+x3 -":         "1 2 3 2 3 2 3 4",
		"|:+:| |:+:|":          "1 1 2 2",
		"|: - [1+]+:| [2+] -":  "1 2 3 1 2 4 5",
		"|: [1,2+]+:| [3+] -":  "1 2 1 2 1 3 4",
		"|: [1 ]+:| [2 ] -":    "1 2 3 1 4 5 6",
		"|: [1+]+:| - -":       "1 2 1 3 4",
		"|: [1+]+:| [2+]+:| -": "1 2 1 3 4",
		"- F - DC":             "1 2 3 4 1 2",
		"- S - F DS":           "1 2 3 4 5 2 3 4",
		"- T - DC O -":         "1 2 3 4 1 2 5 6",
		"|: [1+]+:| [2+] F DC": "1 2 1 3 4 5 1 3 4",
		"- S T - DS O":         "1 2 3 4 5 2 3 6",
		"DC":                   "1 1",
		"- DS -":               "1 2 1 2 3",
		":| :| :|":             "1 1 2 2 3 3",
		"[1 - -":               "1 2 3",
		"[2 -":                 "2",
	} {
		order, ended := playOrder(flowsOf(line), 1000)
		got := strings.Trim(fmt.Sprint(plusOne(order)), "[]")
		assert.Equal(t, want, got, line)
		assert.True(t, ended)
	}
	order, ended := playOrder(flowsOf("|: - :|+x16 |: :|+x16"), 20)
	assert.Len(t, order, 20)
	assert.False(t, ended)
}

func plusOne(in []int) []int {
	out := make([]int, len(in))
	for i, n := range in {
		out[i] = n + 1
	}
	return out
}

func TestEndingNumbers(t *testing.T) {
	for text, want := range map[string][]int{"1": {1}, "1, 2": {1, 2}, "1-3": {1, 2, 3}, "": {1}, "x": {1}, "2.": {2}, "9999": {1}} {
		assert.Equal(t, want, endingNumbers(text), text)
	}
}
