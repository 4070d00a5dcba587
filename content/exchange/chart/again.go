package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"footfall/harmony/tune"
)

var (
	// asideIn is a text in parentheses behind others, labelFirst a name with a colon.
	asideIn    = regexp.MustCompile(`[^\s(]\s*\(`)
	labelFirst = regexp.MustCompile(`^[^\s:]+(?: [^\s:]+){0,2}\s*:`)
	// numberedBars are those that a line stands for, endPart is a section behind the last.
	numberedBars = regexp.MustCompile(`(?i)^(?:bars?|mm?\.?|measures?)\s*\d+(?:\s*-\s*\d+)?\s*[:=]\s*`)
	endPart      = regexp.MustCompile(`(?i)^(?:outro|ending|coda|tag|end)\b`)
	// nthLetter is a section in letters with a word that tells its times apart, againThen a
	// section that may have bars of its own this time.
	nthLetter = regexp.MustCompile(`^(?i:(?:the )?(?:last|final|first|second|third|1st|2nd|3rd) )([A-E])(?: (?i:section|part))?\s*(:|$|\s\||\()`)
	againThen = regexp.MustCompile(`(?i)^(` + sectionName + `|[A-Z]\d?)(?: again| reprise| once more|,? in [A-G][#b]?m?|[,-] ?(?:up|down) .*)\s*:?$`)
	// equalTo and asAnother are a section that has the bars of another.
	equalTo   = regexp.MustCompile(`^(` + sectionName + `|` + letterName + `)\s*(?:=|(?i:is|as|like))\s*(?i:(?:the )?same as )?(\S.*)$`)
	asAnother = regexp.MustCompile(`(?i)^(` + sectionName + `) ((?:same|as|like|over|on|=)\b.*)$`)
	partOf    = regexp.MustCompile(`(?i)^(?:the )?(?:first|last) \S+ (?:bars|measures|lines) of `)
	thenSolos = regexp.MustCompile(`(?i),? (?:and )?then (?:the )?solos?[.!]?$`)
	// endingLine is an ending on a line of its own in a chart without signs of repeats.
	endingLine = regexp.MustCompile(`(?i)^(?:(\d)(?:st|nd|rd)|(first|second|third)) (?:ending|time)(?: bars?)?\s*[:.-]?\s*(.*)$`)
)

// sayings reads what a line, or what stands behind the mark of a section, says of bars
// that are written elsewhere; nil where it is not understood as a whole.
func (r *reader) sayings(line string, head bool) (all []saying) {
	line = strings.TrimSpace(line)
	if m := numberedBars.FindString(line); m != "" && !head {
		line = "= " + line[len(m):]
	} else if !head && (labelFirst.MatchString(line) || asideIn.MatchString(line) && !timesEnd.MatchString(line)) {
		return nil
	}
	p := phraseOf(line)
	p.head = head
	if len(p.words) == 0 || len(p.words) > 30 || len(r.bars) == 0 && !head || r.lyrics > 0 && !head && line[0] != '=' && !r.speaks(p) {
		return nil
	}
	enough := r.then
	for !p.done() {
		s, ok := r.say(p, head && len(all) == 0)
		if !ok || head && len(all) > 0 {
			return nil
		}
		enough = enough || head || r.sense(s)
		s.again = s.again || len(all) > 0
		all = append(all, s)
		p.led = true
		p.fill()
	}
	if !enough {
		return nil
	}
	return all
}

func (r *reader) understood(line string) bool { return len(r.sayings(line, false)) > 0 }

// said reads such a line and plays what it says, and reports whether it was understood.
func (r *reader) said(line string, head bool) bool {
	all := r.sayings(line, head)
	for _, s := range all {
		empty := r.part.name != "" && len(r.bars) == r.part.from && s.endOn == "" && (s.like || s.here)
		if in := head || empty; in && !r.inSection(s) || !in && !r.follow(s) {
			return false
		}
	}
	return len(all) > 0
}

// speaks reports whether a phrase among words to sing names a section or says the same.
func (r *reader) speaks(p *phrase) bool {
	return slices.ContainsFunc(p.words, func(w string) bool {
		return w == "same" || w == "repeat" || w == "top" || len(w) > 1 && (r.known(w) >= 0 || strings.EqualFold(w, r.part.name))
	})
}

// follow plays what a line says.
func (r *reader) follow(s saying) bool {
	n := max(s.times, 1)
	switch {
	case s.later:
		return false
	case s.endOn != "":
		r.closePart()
		r.starts, r.name = true, "Ending"
		r.bar(r.lex(s.endOn, 1))
		r.doubt("line %d: a bar of %s ends it", r.number, s.endOn)
	case s.top:
		r.closePart()
		r.mark("D.C.")
	case s.ending != 0 || s.last > 0:
		if s.name == "" {
			return false
		}
		r.section(s.name, 0)
		return r.inSection(s)
	case !s.found || s.here:
		start, times := r.part.from, max(s.times, 1+s.more)
		if r.block > start && r.block < len(r.bars) {
			start = r.block
		}
		if start >= len(r.bars) {
			return false
		}
		if times == 1 && (s.again || s.found) {
			times = 2
		}
		r.doubt("line %d: the part so far is played %d times", r.number, times)
		r.againFrom(start, times)
	case s.name != "":
		if s.at < 0 && !s.again && s.times > 1 {
			n-- // it has just been played once
		}
		r.section(s.name, n)
		r.closePart()
	default:
		r.doubt("line %d: bars %d to %d are played again", r.number, s.from+1, s.to)
		for range n + s.more {
			r.again(s.from, s.to)
		}
	}
	return true
}

// inSection plays as the bars of the section that has just begun what stands behind its mark.
func (r *reader) inSection(s saying) bool {
	source := r.bars
	if s.later {
		source = r.later.bars
	}
	if len(r.parts) == 0 && (s.here || s.ending != 0 || s.last > 0) {
		return false
	}
	base := len(r.parts) - 1
	if !s.found || s.here {
		for i, o := range r.parts {
			if o.name != "" && (strings.EqualFold(strings.TrimRight(o.name, "' 0123456789"), strings.TrimRight(r.part.name, "' 0123456789")) || strings.EqualFold(unnumberedName(o.name), unnumberedName(r.part.name))) {
				base = i
				break
			}
		}
		s.from, s.to = r.parts[base].from, r.parts[base].first
	} else if s.name != "" && !s.later {
		if s.at < 0 {
			return false
		}
		base = s.at
	}
	var of span
	if base >= 0 {
		of = r.parts[base]
	}
	switch {
	case s.ending != 0:
		n := s.ending
		if n < 0 {
			n = len(of.passes) + 1
		}
		if n > len(of.passes)+1 || len(of.passes) == 0 {
			return false
		}
		starts := append(append([]int{of.from}, of.passes...), of.to)
		r.copied(r.bars[starts[n-1]:starts[n]])
	case s.last > 0:
		end := s.to
		if len(of.passes) > 0 && (s.name != "" || s.here || !s.found) {
			end = of.passes[0]
		}
		if s.last >= end-s.from {
			return false
		}
		r.copied(r.bars[s.from : end-s.last])
		from := len(r.bars)
		r.line(s.change)
		if got := len(r.bars) - from; got != s.last {
			r.doubt("line %d: %d bars are said to be others than before, and %d are written", r.number, s.last, got)
		}
		return true
	default:
		if s.top || s.to <= s.from {
			return false
		}
		at := len(r.bars)
		for range max(s.times, 1) {
			if at == len(r.bars) {
				r.copied(source[s.from:s.to])
			} else {
				r.again(at, at+s.to-s.from)
			}
		}
	}
	r.told = append(r.told, told(0, s.name == "" && s.found && !s.here, "line %d: %s is played as bars %d to %d", r.number, clipped(r.part.name), s.from+1, s.to))
	return true
}

// copied plays bars again as those of the section that has just begun.
func (r *reader) copied(bars []bar) {
	if len(bars) == 0 || len(r.bars)+len(bars) > tune.MaxBars {
		r.fault(1, "a repeat of nothing, or of too much", fmt.Sprintf("bars to repeat, at most %d in all", tune.MaxBars))
		return
	}
	bars = starting(bars)
	for i := range bars {
		bars[i].Section = ""
	}
	bars[0].Section, r.starts, r.name = r.part.name, false, ""
	r.bars = append(r.bars, bars...)
}

// rest reads the end of a line in its place.
func (r *reader) rest(line, rest string) {
	if rest = strings.TrimSpace(rest); rest == "" {
		return
	}
	at := max(strings.LastIndex(line, rest), 0)
	r.line(strings.Repeat(" ", utf8.RuneCountInString(line[:at])) + rest)
}

// asBefore reads a line that plays bars written elsewhere, or that begins an ending or a
// section in words.
func (r *reader) asBefore(line string) bool {
	text := strings.TrimSpace(line)
	here := len(r.bars) > r.part.from
	if m := endingLine.FindStringSubmatch(text); m != nil && !r.repeats && here && (m[3] == "" || r.chordal(m[3])) {
		n := max(numbersInWords[strings.ToLower(m[2])], int((m[1] + "0")[0]-'0'))
		if n > 1 && r.endings {
			r.closed = true
		}
		if n == 1 || r.endings {
			r.part.ended = true
			r.openEnding(1)
			r.rest(line, m[3])
			return true
		}
	}
	if m := againThen.FindStringSubmatch(text); m != nil && strings.TrimSpace(r.below) != "" && r.chordal(strings.TrimSpace(r.below)) {
		r.headed(m[1], "", line, "")
		return true
	}
	if r.said(text, false) {
		return true
	}
	if m := thenSolos.FindString(text); m != "" && r.said(strings.TrimSuffix(text, m), false) {
		r.doubt("line %d: %s is left out", r.number, strings.TrimLeft(m, ", "))
		return true
	}
	if m := asAnother.FindStringSubmatch(text); m != nil && len(r.bars) > 0 && len(r.sayings(m[2], true)) > 0 {
		r.headed(m[1], "", line, m[2])
		return true
	}
	if m := equalTo.FindStringSubmatch(text); m != nil {
		p := phraseOf(m[2])
		if _, ok := r.namedPassage(p); ok && p.done() && len(r.bars) > 0 || partOf.MatchString(m[2]) {
			r.headed(m[1], "", line, m[2])
			return true
		}
		if len(r.bars) == 0 && sectionFirst.MatchString(text) && strings.Contains(text, "=") && !r.chordal(m[2]) {
			r.doubt("line %d: %s is left out", r.number, clipped(text))
			return true
		}
	}
	if m := nthLetter.FindStringSubmatch(text); m != nil {
		name := m[1]
		if i := r.inForm(name); i >= 0 {
			name = r.parts[i].name
		}
		r.headed(name, "", line, strings.TrimLeft(text[len(m[0])-len(m[2]):], ": "))
		return true
	}
	return false
}
