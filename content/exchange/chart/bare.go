package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"footfall/harmony/tune"
)

// bare reads a line of chords without bar lines: what parts its bars is the strongest
// sign there is.
func (r *reader) bare(list []token) {
	start := len(r.bars)
	whole := r.counted && list[0].kind == aNumber || r.lineBars ||
		len(list) > 2 && barWord.MatchString(list[0].text) && list[1].kind == aNumber && len(figuresIn.FindAllString(list[1].text, -1)) == 1
	if rest := r.unnumbered(list); len(rest) > 0 && rest[0].column != list[0].column {
		list = r.uncounted(rest)
	}
	list = r.unremarked(r.lengths(r.trailedOff(list)))
	if len(list) > 0 {
		list[0].gap = 1
	}
	var jumps []token
	list = slices.DeleteFunc(list, func(t token) bool {
		if t.kind == aJump {
			jumps = append(jumps, t)
		}
		return t.kind == aJump
	})
	list, times := r.segments(list)
	if !slices.ContainsFunc(list, func(t token) bool { return t.kind == aChord || t.kind == aSimile || t.kind == aHold }) {
		return
	}
	if list = r.each(list); len(list) > 0 {
		r.divide(list, whole)
	}
	if times > 1 {
		r.againFrom(start, times)
	}
	for _, t := range jumps {
		r.mark(t.text)
	}
	r.starting = columnsOf(list)
}

// trailedOff drops dots around words, as in .. something .., which hold no chord.
func (r *reader) trailedOff(list []token) []token {
	if !slices.ContainsFunc(list, func(t token) bool { return t.kind == aWord && remarkAlone.MatchString(t.text) }) {
		return list
	}
	out := slices.DeleteFunc(slices.Clone(list), func(t token) bool { return len(t.text) > 1 && strings.Trim(t.text, ".…") == "" })
	if len(out) < len(list) {
		r.doubt("line %d: not all of it is written: its chords are taken", r.number)
	}
	return out
}

// uncounted drops the numbers of bars from a line that has one before each chord.
func (r *reader) uncounted(list []token) []token {
	n := len(r.bars) + 1
	return slices.DeleteFunc(slices.Clone(list), func(t token) bool {
		if t.kind == aNumber && t.n == n+1 && strings.Trim(t.text, "0123456789") != "" {
			n++
			return true
		}
		return false
	})
}

// lengths takes a number in parentheses behind a chord as how many bars it has.
func (r *reader) lengths(list []token) []token {
	told := false
	for i := range list {
		if i > 0 && list[i].kind == aNumber && strings.HasPrefix(list[i].text, "(") && list[i-1].kind == aChord {
			list[i].kind = aLength
			if !told {
				r.doubt("line %d: a number in parentheses is how many bars the chord before it has", r.number)
			}
			told = true
		}
	}
	return list
}

// segments writes out counts within a line, each of the chords before it; one at its
// end is that of the whole line.
func (r *reader) segments(list []token) (out []token, times int) {
	counts := 0
	for _, t := range list {
		if t.kind == aCount {
			counts++
		}
	}
	if k := len(list) - 1; counts == 1 && list[k].kind == aCount {
		times, list = list[k].n, list[:k]
		if k := len(list) - 1; k > 0 && list[k].kind == aHold && strings.Trim(list[k].text, "-/") == "" && list[k-1].kind != aHold {
			list = list[:k]
		}
		return list, times
	}
	if counts == 0 {
		return list, 0
	}
	from := 0
	between := token{kind: aParting}
	for i, t := range list {
		if t.kind != aCount {
			if i == 0 || list[i-1].kind != aCount || t.kind != aHold {
				out = append(out, t)
			}
			continue
		}
		for from < len(out) && (out[from].kind == aParting || out[from].kind == aHold && out[from].text == "-") {
			from++
		}
		for k := len(out) - 1; k > from && out[k].kind == aHold && out[k].text == "-"; k-- {
			out = out[:k]
		}
		group := slices.Clone(out[from:])
		for range min(t.n, 64) - 1 {
			if len(group) == 0 || len(out) > 4*tune.MaxBars {
				break
			}
			out = append(append(out, between), group...)
		}
		out = append(out, between)
		from = len(out)
	}
	r.doubt("line %d: each count repeats the chords before it", r.number)
	return out, 0
}

// each reads a line on which chords have their numbers of bars, before or behind them.
func (r *reader) each(list []token) []token {
	n := 0
	for _, t := range list {
		if t.kind == aLength {
			n++
		}
	}
	if n == 0 {
		return list
	}
	first, chords, length := list[0].kind == aLength, 0, 1
	for i, t := range list {
		switch t.kind {
		case aLength:
			length = t.n
		case aChord, aSimile:
			chords++
			if !first && i+1 < len(list) && list[i+1].kind == aLength {
				length = list[i+1].n
			}
			for range min(length, tune.MaxBars) {
				r.bar([]token{t})
			}
			length = 1
		}
	}
	if letters := chordTexts(list); len(letters) > 1 && inOrder(letters) != nil {
		r.doubt("line %d: %s are read as chords", r.number, strings.Join(letters, ", "))
	}
	if chords != n {
		r.doubt("line %d: a chord without a number of bars has one", r.number)
	}
	return nil
}

// chordTexts returns the texts of the chords of a line.
func chordTexts(list []token) (out []string) {
	for _, t := range list {
		if t.kind == aChord {
			out = append(out, t.text)
		}
	}
	return out
}

// divide makes bars of a line.
func (r *reader) divide(list []token, whole bool) {
	beats := r.meter.Beats()
	k := kinds(list)
	if strings.Contains(k, ",") && strings.ContainsAny(k, "-/.") {
		dashes := !r.dashes && strings.Contains(k, "-")
		for i := range list {
			if list[i].kind == aParting && dashes {
				list[i] = token{kind: aHold, text: "-", n: 1, column: list[i].column}
			}
		}
		list = slices.DeleteFunc(slices.Clone(list), func(t token) bool { return t.kind == aParting })
		if dashes {
			list = slices.CompactFunc(list, func(a, b token) bool { return a.kind == aHold && b.kind == aHold && a.text == "-" && b.text == "-" })
		}
	}
	stated := r.perBar > 1 || r.barsEach > 0
	list = slices.DeleteFunc(slices.Clone(list), func(t token) bool { return t.kind == aParting && (t.text == "" || stated) })
	if len(list) == 0 {
		return
	}
	k = kinds(list)
	if len(list) > 1 && strings.Count(k, "-") == 1 && strings.HasSuffix(k, "-") {
		list, k = list[:len(list)-1], k[:len(k)-1]
	}
	list = r.filled(list)
	if slices.ContainsFunc(list[1:], func(t token) bool { return t.gap >= 2*tabGap }) {
		r.doubt("line %d: cells without a chord are passed over", r.number)
	}
	asBeats := r.dashes && len(list) == beats
	switch {
	case whole:
		r.bar(list)
		if r.lineBars && len(list) > 1 {
			r.doubt("line %d: each line is a bar", r.number)
		}
		if r.guessed && len(r.bars) == 1 {
			r.doubt("line %d and those below it are numbered: the chords of each share a bar", r.number)
		}
	case strings.Contains(k, ","):
		r.byParts(list)
	case strings.ContainsAny(k, "-/") && slices.ContainsFunc(list[1:], func(t token) bool { return t.gap >= tabGap }):
		from := 0
		for i, t := range list {
			if i > 0 && t.gap >= tabGap {
				r.bar(list[from:i])
				from = i
			}
		}
		r.bar(list[from:])
		r.doubt("line %d: each cell is a bar", r.number)
	case !asBeats && evenly.MatchString(k):
		r.singly(list)
	case !r.dashes && betweenDashes.MatchString(k):
		r.between(list)
		r.doubt("line %d: dashes part the bars", r.number)
	case slashed(list, k, beats):
		r.between(list)
		r.doubt("line %d: a slash parts the bars", r.number)
	case phrased(list, k, beats):
		r.singly(list)
		r.doubt("line %d: the slash parts chords, a bar each", r.number)
	case strings.ContainsAny(k, "-/."):
		if betweenSlashes.MatchString(k) && !strings.HasSuffix(k, "/") && len(k) > beats {
			r.doubt("line %d: each word is a beat", r.number)
		}
		r.byBeats(list, beats)
	case r.perBar > 1 && len(list)%r.perBar == 0:
		for part := range slices.Chunk(list, r.perBar) {
			r.bar(part)
		}
		r.doubt("line %d: %d chords share each bar, as the chart says", r.number, r.perBar)
	case r.barsEach > 0:
		for _, t := range list {
			for range r.barsEach {
				r.bar([]token{t})
			}
		}
		r.doubt("line %d: each chord has %d bars, as the chart says", r.number, r.barsEach)
	case len(list) > 1 && len(list) == len(r.numbersAbove):
		r.singly(list)
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
		if r.startsBarred && len(list) > 1 {
			r.doubt("line %d has no bar lines: a chord a bar", r.number)
		}
		r.singly(list)
	}
}

// singly gives each chord of a line a bar.
func (r *reader) singly(list []token) {
	for _, t := range list {
		if t.kind == aChord || t.kind == aSimile || t.kind == aBlank {
			r.bar([]token{t})
		}
	}
}

// between gives the chords between signs a bar.
func (r *reader) between(list []token) {
	from := 0
	for i := 0; i <= len(list); i++ {
		if i == len(list) || list[i].kind == aHold || list[i].kind == aParting {
			if i > from {
				r.bar(list[from:i])
			}
			from = i + 1
		}
	}
}

// byParts reads a line that commas or arrows part: bars where no more than two chords
// stand between them, else phrases of a chord a bar.
func (r *reader) byParts(list []token) {
	var counts []int
	n := 0
	for _, t := range append(slices.Clone(list), token{kind: aParting}) {
		switch {
		case t.kind != aParting:
			n++
		case n > 0:
			counts = append(counts, n)
			n = 0
		}
	}
	switch most := slices.Max(append(counts, 0)); {
	case most == 1:
		r.compare(len(counts))
		r.singly(list)
	case most == 2 && len(counts) > 2:
		r.between(list)
		r.doubt("line %d: commas part the bars, and chords without one share a bar", r.number)
	default:
		r.singly(list)
		if most != slices.Min(counts) || most == 2 {
			r.doubt("line %d: commas part phrases, a chord a bar", r.number)
		} else if r.startsBarred {
			r.doubt("line %d has no bar lines: a chord a bar", r.number)
		}
	}
}

// columnsOf returns where the tokens of a line begin.
func columnsOf(list []token) (out []int) {
	for _, t := range list {
		out = append(out, t.column)
	}
	return out
}

// kinds is a line with c for each chord and a sign for what is none.
func kinds(list []token) string {
	var b strings.Builder
	for _, t := range list {
		switch {
		case t.kind == aParting:
			b.WriteByte(',')
		case t.kind == aHold && strings.Trim(t.text, "-") == "":
			b.WriteByte('-')
		case t.kind == aHold:
			b.WriteByte('/')
		default:
			b.WriteByte('c')
		}
	}
	return b.String()
}

var (
	// evenly has one dash between each two chords; betweenDashes bars of a chord or two.
	evenly         = regexp.MustCompile(`^c(?:-c)+-?$`)
	betweenDashes  = regexp.MustCompile(`^c{1,2}(?:[-/]c{1,2})*-c{1,2}(?:[-/]c{1,2})*-?$`)
	betweenSlashes = regexp.MustCompile(`^/?cc?(?:/cc?)+/?$|^/cc?/$`)
	// dashBeats finds dashes that part no chords: two in a row, or one that ends a bar.
	dashBeats = regexp.MustCompile(`[A-G]\S* +- +-(?:[ |]|$)|[A-G][^-| ]* +- *\|`)
)

// slashed reports whether single slashes or dots part bars of a chord or two, which as
// beats would fill none.
func slashed(list []token, k string, beats int) bool {
	if !betweenSlashes.MatchString(k) || beatsOf(list)%beats == 0 && k[0] == 'c' {
		return false
	}
	if k[0] == '/' {
		list = list[1:]
	}
	for i := range list {
		if i%beats == 0 && list[i].kind == aHold || beatsOf(list)%beats != 0 {
			return true
		}
	}
	return false
}

// phrased reports whether slashes part as many chords, three or more, from as many,
// and are no beats.
func phrased(list []token, k string, beats int) bool {
	parts := strings.Split(k, "/")
	return len(parts) > 1 && len(parts[0]) > 2 && beatsOf(list)%beats != 0 &&
		!slices.ContainsFunc(parts, func(p string) bool { return p != parts[0] })
}

// byBeats reads a line in which each word is a beat.
func (r *reader) byBeats(list []token, beats int) {
	var bars [][]token
	at := 0
	for i, t := range list {
		if at%beats == 0 {
			if t.kind == aHold && i > 0 && t.n != beats {
				r.fault(t.column, "a bar that begins with a beat held over", "bar lines, such as | Dm7 / G7 / | C |")
				return
			}
			bars = append(bars, nil)
		}
		bars[len(bars)-1] = append(bars[len(bars)-1], t)
		at += max(t.n, 1)
	}
	if at%beats != 0 {
		r.fault(list[len(list)-1].column, fmt.Sprintf("%d words, a beat each, which fill no bars of %d", at, beats),
			"bar lines, such as | Dm7 / G7 / | C |")
		return
	}
	for _, b := range bars {
		r.bar(b)
	}
}

// grouped reports whether wide gaps part groups of chords that stand close together.
func grouped(list []token) bool {
	narrow, wide, between := 0, 0, 0
	rest := list[min(1, len(list)):]
	twos := slices.ContainsFunc(rest, func(t token) bool { return t.gap == 2 })
	for _, t := range rest {
		switch {
		case t.gap <= 1:
			narrow++
		case t.gap >= 5, t.gap >= 3 && !twos:
			wide++
		case t.gap == 2 && twos:
			narrow++
		default:
			between++
		}
	}
	return narrow > 0 && wide > 0 && between == 0
}

// aligned reports whether each group of the line with wide gaps before this one
// has a chord below it that begins in the same column.
func (r *reader) aligned(list []token) bool {
	return len(r.columns) > 1 && len(list) > len(r.columns) && !slices.ContainsFunc(r.columns, func(c int) bool {
		return !slices.ContainsFunc(list, func(t token) bool { return t.column == c })
	})
}

// groups parts chords where wide gaps stand, or as the line before them does.
func (r *reader) groups(list []token) [][]token {
	var out [][]token
	wide := !r.aligned(list)
	for i, t := range list {
		if i == 0 || wide && t.gap >= 3 || !wide && slices.Contains(r.columns, t.column) {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], t)
	}
	return out
}
