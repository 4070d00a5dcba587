package chart

import (
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

const likeBefore = `(?:(?:the )?same(?: chords| changes| thing)?(?: again| as (?:before|above|[A-Z]\d?))?|as (?:before|above|[A-Z]\d?)|like [A-Z]\d?|idem|ditto)`

var (
	// onceMore is a line that plays the part so far again.
	onceMore = regexp.MustCompile(`(?i)^\(?(?:(?:and |then )?(?:the )?(?:same|all that|all of that|that|that bit|it)(?: thing| bit| part)? (?:again|once more|twice|over)|once more|play (?:it|that|all) again|repeat (?:it|that|all(?: of (?:it|that))?))\)?[.!]?$`)
	// nthLetter is a section in letters with a word that tells its times apart.
	nthLetter = regexp.MustCompile(`^(?i:(?:the )?(?:last|final|first|second|third|1st|2nd|3rd) )([A-E])(?: (?i:section|part))?\s*(:|$|\s\||\()`)
	// otherwise is a section that is another but for its last bars.
	otherwise = regexp.MustCompile(`(?i)^` + likeBefore + `[,;.]?\s*(?:but|except|only)?\s*(?:for |with )?(?:the )?(?:last|final) (?:(\d|one|two|three|four) )?bars?(?: (?:are|is|become|becomes|go|goes))?\s*[:=-]?\s*(\S.*)$`)
	// withEnding is a section that is another with one of its endings.
	withEnding = regexp.MustCompile(`(?i)^(?:` + likeBefore + `[,;.]?\s*)?(?:(?:with|take|use|but|to)[,]? )?(?:the )?(first|second|third|last|1st|2nd|3rd|4th) ending[.]?$`)
	// endingLine is an ending on a line of its own in a chart without signs of repeats.
	endingLine = regexp.MustCompile(`(?i)^(?:(\d)(?:st|nd|rd)|(first|second|third)) (?:ending|time)(?: bars?)?\s*[:.-]?\s*(.*)$`)
	// namedEnding is a section and one of its endings, barsAgain bars by their numbers.
	namedEnding = regexp.MustCompile(`(?i)^(\p{L}[\p{L} ]*?\d?)[,:]? ((?:with |take )?(?:the )?(?:first|second|third|last|1st|2nd|3rd) ending)[.]?$`)
	barsAgain   = regexp.MustCompile(`(?i)^(?:(?:bars?|mm?\.|measures?)\s*\d+\s*-\s*\d+\s*[:=-]?\s*)?(?:repeat|(?:same )?as|=|like)\s*(?:bars?|mm?\.?|measures?)?\s*(\d{1,3})\s*-\s*(\d{1,3})$`)
	// barsOf are some of the bars of what is written elsewhere.
	barsOf = regexp.MustCompile(`(?i)^\(?(?:the )?last (\d{1,2}|two|four) bars?\)?(?:\s*\(?(` + timesWords + `)\)?)?[.]?$`)
	// inParens is a section and how often it is played.
	inParens = regexp.MustCompile(`^\((\p{L}[\p{L} ]*?\d?)[ ,]+(` + timesWords + `)\)$`)
	endPart  = regexp.MustCompile(`(?i)^(?:outro|ending|coda|tag|end)\b`)
	asNamed  = regexp.MustCompile(`(?i)^(?:same )?(?:as|like) ([A-Z]\d?)\b`)
	firstOf  = regexp.MustCompile(`(?i)^(?:d\.?\s?c\.?|da capo|(?:go )?back to (?:the )?top)\W+(?:play )?(?:the )?(?:first|1st) (\d{1,2}) (?:bars?|measures?)\b`)
)

// asBefore reads a line that plays bars written elsewhere, with or without a change.
func (r *reader) asBefore(line string) bool {
	text := strings.TrimSpace(line)
	here := len(r.bars) > r.part.from
	if onceMore.MatchString(text) && here && (r.lyrics == 0 || strings.Contains(strings.ToLower(text), "same")) {
		r.doubt("line %d: the part so far is played again", r.number)
		r.againFrom(r.part.from, 2)
		return true
	}
	if m := firstOf.FindStringSubmatch(text); m != nil {
		if n, _ := strconv.Atoi(m[1]); n > 0 && n <= len(r.bars) {
			r.doubt("line %d: the first %d bars are played again", r.number, n)
			r.again(0, n)
			return true
		}
	}
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
	if m := barsAgain.FindStringSubmatch(text); m != nil {
		from, _ := strconv.Atoi(m[1])
		to, _ := strconv.Atoi(m[2])
		if from > 0 && from <= to && to <= len(r.bars) {
			r.doubt("line %d: bars %d to %d are played again", r.number, from, to)
			r.again(from-1, to)
			return true
		}
	}
	if m := namedEnding.FindStringSubmatch(text); m != nil && (r.inForm(m[1]) >= 0 || here && strings.EqualFold(m[1], r.part.name)) {
		r.headed(m[1], "", line, m[2])
		return true
	}
	if m := inParens.FindStringSubmatch(text); m != nil && (r.known(m[1]) >= 0 || here && strings.EqualFold(m[1], r.part.name)) {
		r.headed(m[1], m[2], line, "")
		return true
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

// rest reads the end of a line in its place.
func (r *reader) rest(line, rest string) {
	if rest = strings.TrimSpace(rest); rest == "" {
		return
	}
	at := max(strings.LastIndex(line, rest), 0)
	r.line(strings.Repeat(" ", utf8.RuneCountInString(line[:at])) + rest)
}

// varied reads what stands behind the mark of a section that is another with a change.
func (r *reader) varied(line, rest string) bool {
	if m := barsOf.FindStringSubmatch(rest); m != nil {
		n, _ := strconv.Atoi(m[1])
		n = max(n, numbersInWords[strings.ToLower(m[1])])
		if len(r.bars) == 0 {
			r.doubt("line %d: the last %d bars of the chart are played first", r.number, n)
			r.lastBars, r.part, r.name = n, part{times: 1}, ""
			return true
		}
		if n <= len(r.bars) {
			r.doubt("line %d: the last %d bars before it are played again", r.number, n)
			at := len(r.bars)
			for range max(count(m[2]), 1) {
				r.copied(at-n, at)
			}
			return true
		}
	}
	changed, ending := otherwise.FindStringSubmatch(rest), withEnding.FindStringSubmatch(rest)
	if changed == nil && ending == nil || len(r.parts) == 0 {
		return false
	}
	base := len(r.parts) - 1
	for i, s := range r.parts {
		if s.name != "" && strings.EqualFold(strings.TrimRight(s.name, "' 0123456789"), strings.TrimRight(r.part.name, "' 0123456789")) || strings.EqualFold(unnumberedName(s.name), unnumberedName(r.part.name)) {
			base = i
			break
		}
	}
	if m := asNamed.FindStringSubmatch(rest); m != nil && r.known(m[1]) >= 0 {
		base = r.known(m[1])
	}
	s := r.parts[base]
	if ending != nil {
		n := numbersInWords[strings.ToLower(ending[1])]
		if n == 0 {
			n, _ = strconv.Atoi(figuresIn.FindString(ending[1]))
		}
		if n == 0 {
			n = len(s.passes) + 1
		}
		if n > len(s.passes)+1 || len(s.passes) == 0 {
			return false
		}
		starts := append(append([]int{s.from}, s.passes...), s.to)
		r.copied(starts[n-1], starts[n])
		r.told = append(r.told, told(0, false, "line %d: %s is played as before", r.number, clipped(r.part.name)))
		return true
	}
	n, _ := strconv.Atoi(changed[1])
	n = max(n, numbersInWords[strings.ToLower(changed[1])], 1)
	end := s.to
	if len(s.passes) > 0 {
		end = s.passes[0]
	}
	if n >= end-s.from || !r.chordal(changed[2]) {
		return false
	}
	r.copied(s.from, end-n)
	from := len(r.bars)
	r.rest(line, changed[2])
	if len(r.bars)-from != n {
		r.doubt("line %d: %d bars are said to be others than before, and %d are written", r.number, n, len(r.bars)-from)
	}
	return true
}

// copied plays bars again as those of the section that has just begun.
func (r *reader) copied(from, to int) {
	at, name := len(r.bars), r.part.name
	if r.again(from, to) {
		for i := range r.bars[at:] {
			r.bars[at+i].Section = ""
		}
		r.bars[at].Section, r.starts, r.name = name, false, ""
	}
}

// introduced plays the last bars first where the chart says so.
func (r *reader) introduced() {
	end := len(r.bars)
	if k := len(r.parts) - 1; k > 0 && endPart.MatchString(r.parts[k].name) && len(r.form) == 0 && !r.marked {
		end = r.parts[k].from
	}
	if n := r.lastBars; n > 0 && n <= end && len(r.faults) == 0 {
		intro := starting(r.bars[end-n : end])
		for i := range intro {
			intro[i].Section = ""
		}
		intro[0].Section, r.bars[0].Starts = "Intro", true
		r.bars = append(intro, r.bars...)
	}
}
