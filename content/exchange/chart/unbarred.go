package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"
)

// bareLine reads a line without bar lines.
func (r *reader) bareLine(line string) {
	start := len(r.bars)
	whole := r.counted && numbered.MatchString(line) || r.lineBars
	line = r.unnumbered(line)
	times := 0
	if m := timesEnd.FindStringIndex(line); m != nil {
		times = count(strings.Trim(line[m[0]:], " ()[],"))
		if said := line[m[0]:]; strings.EqualFold(strings.TrimSpace(said), "repeat") {
			line = strings.TrimSuffix(line[:m[0]], " /") + said
			m[0] = len(line) - len(said)
		}
		line = line[:m[0]]
	}
	line, mark := unmarked(line)
	defer r.mark(mark)
	list := r.unremarked(r.uncounted(r.words(line, 1)))
	beats := r.meter.Beats()
	cells := r.listed(line)
	defer func(starting []int) { r.starting = starting }(columnsOf(list))
	switch {
	case whole && len(list) > 0:
		r.bar(list)
		if r.lineBars && len(list) > 1 {
			r.doubt("line %d: each line is a bar", r.number)
		}
		if r.guessed && len(r.bars) == 1 {
			r.doubt("line %d and those below it are numbered: the chords of each share a bar", r.number)
		}
	case len(cells) > 0:
		for _, c := range cells {
			r.bar(c)
		}
		r.doubt("line %d: commas part the bars, and chords without one share a bar", r.number)
	case !r.dashes && dashParted(list):
		for _, part := range strings.FieldsFunc(kinds(list), func(c rune) bool { return c != 'c' }) {
			n := len(part)
			r.bar(list[:n])
			list = list[min(n+1, len(list)):]
		}
		r.doubt("line %d: dashes part the bars", r.number)
	case parted(unedged(list), beats) && !(len(list)%beats == 0 && !holds(list[0].text)):
		list = unedged(list)
		from := 0
		for i, w := range list {
			if holds(w.text) {
				r.bar(list[from:i])
				from = i + 1
			}
		}
		r.bar(list[from:])
		r.doubt("line %d: a slash parts the bars", r.number)
	case phrased(list, beats):
		for _, w := range list {
			if !holds(w.text) {
				r.bar([]word{w})
			}
		}
		r.doubt("line %d: the slash parts chords, a bar each", r.number)
	case slices.ContainsFunc(list, func(w word) bool { return holds(w.text) }):
		r.byBeats(list, beats)
	case r.perBar > 1 && len(list)%r.perBar == 0:
		for part := range slices.Chunk(list, r.perBar) {
			r.bar(part)
		}
		r.doubt("line %d: %d chords share each bar, as the chart says", r.number, r.perBar)
	case grouped(list) && !slices.Equal(r.starting, columnsOf(list)), r.aligned(list):
		gs := r.groups(list)
		r.columns = nil
		for _, g := range gs {
			r.columns = append(r.columns, g[0].column)
			r.bar(g)
		}
		r.doubt("line %d has no bar lines: chords close together share a bar", r.number)
	default:
		r.compare(len(list))
		if r.barred && len(list) > 1 {
			r.doubt("line %d has no bar lines: a chord a bar", r.number)
		}
		for _, w := range list {
			r.bar([]word{w})
		}
	}
	if times > 1 {
		to := len(r.bars)
		for range times - 1 {
			if !r.again(start, to) {
				return
			}
		}
		r.starts = true
	}
}

// listed returns the bars of a line where commas part them: two commas or more, and
// no more than two chords between them, somewhere two.
func (r *reader) listed(line string) [][]word {
	if strings.Count(line, ",") < 2 || strings.ContainsAny(line, "();") {
		return nil
	}
	var out [][]word
	column, two := 1, false
	for _, cell := range strings.Split(line, ",") {
		list := r.words(cell, column)
		column += utf8.RuneCountInString(cell) + 1
		two = two || len(list) == 2
		switch {
		case len(list) > 2 || slices.ContainsFunc(list, func(w word) bool { return !r.reads(w.text) }):
			return nil
		case len(list) > 0:
			out = append(out, list)
		}
	}
	if !two {
		return nil
	}
	return out
}

// columnsOf returns where the words of a line begin.
func columnsOf(list []word) (out []int) {
	for _, w := range list {
		out = append(out, w.column)
	}
	return out
}

// kinds is a line with c for each chord and a sign for what is none.
func kinds(list []word) string {
	var b strings.Builder
	for _, w := range list {
		switch {
		case strings.Trim(w.text, "-") == "":
			b.WriteByte('-')
		case holds(w.text):
			b.WriteByte('/')
		default:
			b.WriteByte('c')
		}
	}
	return b.String()
}

var betweenDashes = regexp.MustCompile(`^c{1,2}(?:[-/]c{1,2})*-c{1,2}(?:[-/]c{1,2})*$`)

// dashParted reports whether single dashes, and slashes beside them, part bars of a
// chord or two.
func dashParted(list []word) bool { return betweenDashes.MatchString(kinds(list)) }

// unedged is a line without the slashes before and behind its bars.
func unedged(list []word) []word {
	if len(list) > 2 && list[0].text == "/" {
		list = list[1:]
	}
	if k := len(list) - 1; k > 1 && list[k].text == "/" && list[k-1].text != "/" {
		list = list[:k]
	}
	return list
}

// parted reports whether single slashes part bars of a chord or two, which as beats
// would fill none.
func parted(list []word, beats int) bool {
	n, bars, fills := 0, 1, len(list)%beats == 0
	for i, w := range list {
		switch {
		case !holds(w.text):
			n++
		case w.text != "/" || n == 0:
			return false
		default:
			n, bars = 0, bars+1
			fills = fills && i%beats != 0
		}
		if n > 2 {
			return false
		}
	}
	return n > 0 && bars > 1 && !fills
}

// phrased reports whether slashes part as many chords, three or more, from as many,
// and are no beats.
func phrased(list []word, beats int) bool {
	each, n := 0, 0
	for _, w := range list {
		switch {
		case !holds(w.text):
			n++
			continue
		case w.text != "/" || n < 3 || each > 0 && n != each:
			return false
		}
		each, n = n, 0
	}
	return each > 0 && n == each && len(list)%beats != 0
}

// byBeats reads a line in which each word is a beat.
func (r *reader) byBeats(list []word, beats int) {
	for i := 0; i < len(list); i += beats {
		if i+beats > len(list) || holds(list[i].text) && i+beats != len(list) && len(list)%beats != 0 {
			r.fault(list[min(i, len(list)-1)].column, fmt.Sprintf("%d words, a beat each, which fill no bars of %d", len(list), beats),
				"bar lines, such as | Dm7 / G7 / | C |")
			return
		}
	}
	for i := 0; i < len(list); i += beats {
		if holds(list[i].text) {
			r.fault(list[i].column, "a bar that begins with a beat held over", "bar lines, such as | Dm7 / G7 / | C |")
			return
		}
	}
	for i := 0; i < len(list); i += beats {
		r.bar(list[i : i+beats])
	}
}

// grouped reports whether wide gaps part groups of words that stand close together.
func grouped(list []word) bool {
	narrow, wide, between := 0, 0, 0
	twos := slices.ContainsFunc(list[min(1, len(list)):], func(w word) bool { return w.gap == 2 })
	for _, w := range list[min(1, len(list)):] {
		switch {
		case w.gap <= 1:
			narrow++
		case w.gap >= 5, w.gap >= 3 && !twos:
			wide++
		case w.gap == 2 && twos:
			narrow++
		default:
			between++
		}
	}
	return narrow > 0 && wide > 0 && between == 0
}

// aligned reports whether each group of the line with wide gaps before this one
// has a word below it that begins in the same column.
func (r *reader) aligned(list []word) bool {
	return len(r.columns) > 1 && len(list) > len(r.columns) && !slices.ContainsFunc(r.columns, func(c int) bool {
		return !slices.ContainsFunc(list, func(w word) bool { return w.column == c })
	})
}

// groups parts words where wide gaps stand, or as the line before them does.
func (r *reader) groups(list []word) [][]word {
	var out [][]word
	wide := !r.aligned(list)
	for i, w := range list {
		if i == 0 || wide && w.gap >= 3 || !wide && slices.Contains(r.columns, w.column) {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], w)
	}
	return out
}

// unremarked drops the words of a line that say how to play, and tells so.
func (r *reader) unremarked(list []word) []word {
	return slices.DeleteFunc(list, func(w word) bool {
		out := r.remark(w) && len(list) > 1 && w.gap > 0
		if out {
			r.leave("line %d: %s is left out", r.number, clipped(w.text))
		}
		return out
	})
}
