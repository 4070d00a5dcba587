package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footfall/content/exchange/transcribe"
)

// longestForm is how many bars a form line may come to.
const longestForm = 512

// lengthSaid is how many bars a form has in all.
var lengthSaid = regexp.MustCompile(`(?i)[\s,;:=-]*\(?[^\s()]*\b(\d{1,3})[ -]?(?:bars?|measures?|mesures?|takte?|compases)\b(?: form| in all| total)?\)?`)

// equalIn says in parentheses how long sections are; formHead is a form without a colon.
var (
	equalIn  = regexp.MustCompile(`\([^()]*=[^()]*\)?`)
	formHead = regexp.MustCompile(`^(?i:form)\s+([A-E](?: ?[A-E]){1,11}(?:[\s,(].*)?)$`)
)

// setForm takes the value of a form line.
func (r *reader) setForm(text string) {
	r.form = nil
	if m := lengthSaid.FindStringSubmatch(text); m != nil {
		if !strings.Contains(text, "each") {
			r.formLength, _ = strconv.Atoi(m[1])
		}
		text = lengthSaid.ReplaceAllString(text, "")
	}
	for _, part := range strings.FieldsFunc(equalIn.ReplaceAllString(text, ""), func(c rune) bool { return strings.ContainsRune(",-|/>;", c) }) {
		if m := named.FindStringSubmatch(strings.TrimSpace(part)); m != nil {
			r.form = append(append(r.form, m[1]), strings.Fields(m[2])...)
		} else {
			r.form = append(r.form, strings.Fields(part)...)
		}
	}
}

// run is a section and how often the form, or the chart as written, has it in a row.
type run struct {
	name  string
	parts []int
	times int
}

// inForm returns the part that a name in the form means, -1 for none.
func (r *reader) inForm(name string) int {
	if i := r.known(name); i >= 0 {
		return i
	}
	begins := func(s span) bool {
		return len(s.name) > 2 && len(name) < len(s.name) && strings.EqualFold(s.name[:len(name)], name)
	}
	i := slices.IndexFunc(r.parts, begins)
	if i >= 0 && slices.ContainsFunc(r.parts, func(s span) bool { return begins(s) && !strings.EqualFold(s.name, r.parts[i].name) }) {
		return -1
	}
	return i
}

// formNames are the sections of the form, one by one.
func (r *reader) formNames() (names []string) {
	last := 0
	for i, w := range r.form {
		if n := count(w); n > 0 && len(names) > 0 {
			again := slices.Clone(names[last:])
			if i > 3 && len(again) == 1 && len(again[0]) == 1 {
				r.told = append(r.told, told(0, true, "%s in the form is read as that of %s alone", w, again[0]))
			}
			for range min(n, 64) - 1 {
				names = append(names, again...)
			}
			continue
		}
		last = len(names)
		if r.inForm(w) < 0 && strings.ToUpper(w) == w {
			names = append(names, strings.Split(w, "")...)
			continue
		}
		names = append(names, w)
	}
	return names
}

// order puts the parts in the order of the chart's own form line, where what is written
// does not give that order already.
func (r *reader) order() {
	if len(r.form) == 0 || len(r.faults) > 0 {
		return
	}
	before, said := r.bars, len(r.told)
	r.ordered(r.formNames())
	if r.formLength > 0 && len(r.bars) != r.formLength && len(before) == r.formLength {
		r.bars = before
		r.told = append(r.told[:said], told(0, true, "the form is said to have %d bars, as the chart has as it is written: it is played so", r.formLength))
	} else if r.formLength > 0 && len(r.bars) != r.formLength {
		r.told = append(r.told, told(0, true, "the form is said to have %d bars and has %d", r.formLength, len(r.bars)))
	}
}

func (r *reader) ordered(names []string) {
	if r.writtenOut(names) {
		return
	}
	var runs []run
	found := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return r.inForm(n) < 0 })
	for _, n := range names {
		i := r.inForm(n)
		if i < 0 && (r.formLength > 0 || len(found) < 3 || 2*len(found) < len(names)) {
			if r.formLength == 0 || len(r.bars) != r.formLength {
				r.told = append(r.told, told(0, true, "the form is not followed: there is no section %s", clipped(n)))
			}
			return
		}
		if i < 0 {
			r.told = append(r.told, told(0, true, "the form is followed without %s: there is no such section", clipped(n)))
			continue
		}
		if k := len(runs) - 1; k >= 0 && strings.EqualFold(runs[k].name, r.parts[i].name) {
			runs[k].times++
		} else {
			runs = append(runs, run{r.parts[i].name, []int{i}, 1})
		}
	}
	written := r.writtenRuns()
	aligned := slices.EqualFunc(runs, written, func(a, b run) bool { return strings.EqualFold(a.name, b.name) })
	var out []bar
	var said []string
	for k, one := range runs {
		if aligned {
			one.parts = written[k].parts
		}
		next, doubt := r.playedRun(one, runs)
		if doubt != "" && !slices.Contains(said, doubt) {
			said = append(said, doubt)
			r.told = append(r.told, told(0, true, "%s", doubt))
		}
		if out = append(out, next...); len(out) > longestForm {
			r.fault(1, "a form too long", "a shorter one")
			return
		}
	}
	for i, s := range r.parts {
		played := func(o run) bool { return strings.EqualFold(o.name, s.name) }
		first := r.known(s.name) == i
		switch {
		case !slices.ContainsFunc(runs, played):
			name := clipped(s.name)
			if name == "" {
				name = "the part without a name"
			}
			r.told = append(r.told, told(0, true, "line %d: the form does not name %s, which is never played", max(s.line, 1), name))
		case !aligned && !first && !slices.EqualFunc(r.bars[s.from:s.to], r.firstLike(s), bar.sounds):
			r.told = append(r.told, told(0, true, "line %d: %s is written in two ways: the form plays the first", max(s.line, 1), clipped(s.name)))
		}
	}
	r.bars = out
}

// firstLike are the bars of the first part of that name.
func (r *reader) firstLike(s span) []bar {
	first := r.parts[r.known(s.name)]
	return r.bars[first.from:first.to]
}

// sounds reports whether two bars have the same chords.
func (b bar) sounds(other bar) bool {
	return slices.EqualFunc(b.Chords, other.Chords, func(x, y transcribe.Chord) bool {
		return x.At == y.At && x.Chord.Symbol == y.Chord.Symbol
	})
}

// writtenOut reports whether the chart has one part for each name of the form, which
// begins with it: A1, A2, B, A3 for AABA.
func (r *reader) writtenOut(names []string) bool {
	return len(names) > 1 && slices.EqualFunc(names, r.parts, func(n string, s span) bool {
		return len(s.name) >= len(n) && strings.EqualFold(s.name[:len(n)], n) && len(s.passes) == 0
	})
}

// writtenRuns are the sections in the order in which they are written.
func (r *reader) writtenRuns() (runs []run) {
	for i, s := range r.parts {
		if k := len(runs) - 1; k >= 0 && strings.EqualFold(runs[k].name, s.name) {
			runs[k].parts = append(runs[k].parts, i)
		} else {
			runs = append(runs, run{s.name, []int{i}, 1})
		}
	}
	return runs
}

// playedRun returns the bars of one run of a form of several, and what is in doubt.
func (r *reader) playedRun(one run, all []run) (out []bar, doubt string) {
	passes := 0
	for _, i := range one.parts {
		passes += 1 + len(r.parts[i].passes)
		out = append(out, r.bars[r.parts[i].from:r.parts[i].to]...)
	}
	out = slices.Clone(out)
	first := r.parts[one.parts[0]]
	own := 1 + len(first.passes)
	whole := r.equalPasses(first) && !r.within(first, all)
	switch {
	case passes == one.times && (own == 1 || whole):
		return out, doubt // as often as it is written
	case len(one.parts) == one.times && one.times > 1:
		return out, ""
	case own > one.times && whole && slices.ContainsFunc(all, func(o run) bool { return strings.EqualFold(o.name, one.name) && o.times == own }):
		at := first.passes[own-1-one.times]
		out = starting(r.bars[at:first.to])
		if n := first.passes[0] - first.from; one.times == 1 && slices.EqualFunc(out, r.bars[first.from:first.from+n], bar.sounds) {
			return out, ""
		}
		return out, "where the form names " + clipped(first.name) + " later it is played with its last ending"
	}
	out = nil
	for range one.times {
		out = append(out, starting(r.bars[first.from:first.to])...)
	}
	switch {
	case own > 1 && !r.within(first, all):
		doubt = "each time the form names " + clipped(first.name) + " it is played " + strconv.Itoa(own) + " times"
	case len(one.parts) > 1:
		doubt = fmt.Sprintf("line %d: %s stands %d times in a row where the form has it %d: the first is played", first.line, clipped(first.name), len(one.parts), one.times)
	}
	return out, doubt
}

// within reports whether the repeat of a part is within it, so that the whole of it has as
// many bars as another section of the form, and one pass as many as none.
func (r *reader) within(s span, all []run) bool {
	whole, once := false, false
	for _, o := range all {
		other := r.parts[o.parts[0]]
		if n := other.to - other.from; !strings.EqualFold(o.name, s.name) {
			whole = whole || n == s.to-s.from
			once = once || n == (s.to-s.from)/(1+len(s.passes))
		}
	}
	return whole && !once
}

// equalPasses reports whether all passes of a part have as many bars, so that each is
// the whole of it.
func (r *reader) equalPasses(s span) bool {
	from := s.from
	n := (s.to - s.from) / (1 + len(s.passes))
	for _, at := range append(slices.Clone(s.passes), s.to) {
		if at-from != n {
			return false
		}
		from = at
	}
	return true
}

// starting is a copy of bars that start a section.
func starting(bars []bar) []bar {
	out := slices.Clone(bars)
	out[0].Starts = true
	return out
}
