package chart

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

var numbered = regexp.MustCompile(`(?i)^\s*(?:(?:bars?|mm?\.|measures?)\s*|\()?(\d{1,3})(?:\s*-\s*(\d{1,3}))?\s*([.:)]?)(\s+|$)`)

// unnumbered cuts the number of a bar off the start of a line.
func (r *reader) unnumbered(line string) string {
	m := numbered.FindStringSubmatchIndex(line)
	if m == nil || r.reads(line[m[2]:m[3]]) {
		return line
	}
	n, _ := strconv.Atoi(line[m[2]:m[3]])
	if r.isEnding(n, line[m[1]:]) {
		return line
	}
	if n != len(r.bars)+1 && !r.counted {
		r.doubt("line %d begins with %d, which is not the number of its first bar, %d", r.number, n, len(r.bars)+1)
	}
	return strings.Repeat(" ", utf8.RuneCountInString(line[:m[1]])) + line[m[1]:]
}

// isEnding reports whether a number is that of an ending: a 1 before a repeat's end,
// or the next one after it.
func (r *reader) isEnding(n int, rest string) bool {
	if !r.repeats {
		return false
	}
	if r.endings && r.closed {
		return true
	}
	return n == 1 && len(r.bars) > r.from && strings.Contains(rest, ":|")
}

// uncounted drops the numbers of bars from a line that has one before each chord.
func (r *reader) uncounted(list []word) []word {
	n := len(r.bars) + 1
	return slices.DeleteFunc(list, func(w word) bool {
		if m := numbered.FindStringSubmatch(w.text + " "); m != nil && m[3] != "" && m[1] == strconv.Itoa(n+1) {
			n++
			return true
		}
		return false
	})
}

// barsOnLines reports whether most lines with chords hold one, and others two: each is
// then a bar.
func barsOnLines(lines []string) bool {
	ones, twos := 0, 0
	for _, line := range lines {
		if !chordsOnly(line) {
			continue
		}
		switch fields := strings.Fields(line); {
		case strings.ContainsAny(line, "|,/-.") || len(fields) > 2:
			return false
		case len(fields) == 2:
			twos++
		default:
			ones++
		}
	}
	return twos > 0 && ones > 3 && ones > 2*twos
}

// countedLines reports whether the lines with chords are numbered from 1 on, one
// after another, perhaps from 1 again in another section, and hold a chord or two:
// each is then a bar, which is a guess where all hold two.
func countedLines(lines []string) (counted, guessed bool) {
	n, all, pairs := 0, 0, 0
	for _, line := range lines {
		m := numbered.FindStringSubmatch(line)
		if m == nil {
			if chordsOnly(line) {
				return false, false
			}
			continue
		}
		chords := strings.Fields(strings.NewReplacer("/", " ", ".", " ", "-", " ", ",", " ").Replace(line[len(m[0]):]))
		if n++; m[1] == "1" {
			n = 1
		}
		if all++; m[1] != strconv.Itoa(n) || m[2] != "" || len(chords) > 2 || strings.Contains(line, "|") {
			return false, false
		}
		if len(chords) == 2 {
			pairs++
		}
	}
	return all > 2 && pairs > 0, all == pairs
}
