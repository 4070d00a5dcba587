package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony/tune"
)

// briefWord is a section's name cut short, in capitals, for Ch is a chord too.
const briefWord = `(?:V|Vs|Ver|Ch|Cho|Br|Pre|Int|Out|Sol|Ref|Inst)`

const sectionWord = `(?i:(?:(?:last|final|first|second|third|1st|2nd|3rd|guitar|piano|sax|bass|drum) )?(?:verse|strophe|chorus|bridge|intro|introduction|outro|coda|solos?|head|turnaround|interlude|tag|ending|pre(?:-?chorus)?|refrain|vamp|middle(?: 8| eight)?|part|section|break|shout|channel|theme|trio|riff|hook|groove|line|phrase|strain|breakdown|instrumental|link|post-?chorus))`

var (
	bracketed = regexp.MustCompile(`^(?:\[([^\[\]|]+)\]|\{([^{}|]+)\}|<([^<>|]+)>)\s*(.*)$`)
	lettered  = regexp.MustCompile(`^(?:\(([A-Z]'?[1-4]?)\)|([A-Z]'?\d?)\)|([A-Z]'?\d?)(?:\s?:| (?:section|part)\b:?))(?:\s+|$)(.*)$`)
	brief     = regexp.MustCompile(`^(` + briefWord + `\.?\d?)\.?(?:\s*:|$|(?:\s*:)?\s+(\|))(.*)$`)
	dashedOff = regexp.MustCompile(`^(` + sectionWord + `(?:[ -]?(?:[A-Z]'?|\d{1,2}|(?i:one|two|three|four)))?)\s+(?:--?>?|=)\s+(\S.*)$`)
	again     = regexp.MustCompile(`(?i)^(?:same|ditto|as (?:above|before)|same as .*|repeat .*)\.?$`)
	colon     = regexp.MustCompile(`^(` + sectionWord + `(?:[ -]?(?:[A-Z]'?|\d{1,2}|(?i:one|two|three|four)))?)\s*(\([^)]*\)|\d{1,2}\s?x|x\s?\d{1,2})?\s*[:.]\s*(.*)$`)
	alone     = regexp.MustCompile(`^[-=* ]*(` + sectionWord + `(?:[ -]?(?:[A-Z]'?|\d{1,2}|(?i:one|two|three|four)))?)[-=* ]*((?:\(?[x×]\s?\d+\)?|\(?\d+\s?[x×]\)?|twice|\(\d+ bars\))?)$`)
	framed    = regexp.MustCompile(`^(?:\*+|=+|--+|"+)\s*([A-Za-z][A-Za-z0-9' ]*?)\s*:?(?:\*+|=+|--+|"+):?$`)
	spaced    = regexp.MustCompile(`^((?i:part|section|line|phrase|strain|theme) [A-Z]\d?|` + sectionWord + `(?: \d{1,2})?)\s+(\S.*)$`)
	letter    = regexp.MustCompile(`^([A-Z]\d?'?)$`)
	before    = regexp.MustCompile(`^\s*(?:([A-Z]'?\d?)|(` + sectionWord + `(?:[ -]?(?:[A-Z]|\d{1,2}))?))\s*[:.)]?\s*(\|.*)$`)
	timesIn   = regexp.MustCompile(`(?i)^\(?\s*(?:(?:repeat|play|loop|all)[: ]+)?(?:x\s?(\d{1,2})|(\d{1,2})\s?x|(\d{1,2}) times|play (\d{1,2}) times|(twice|repeat|rpt\.?|play twice))\s*\)?$`)
	// played are words that say what is played, not how.
	played = regexp.MustCompile(`(?i)\b(?:repeat|times?|twice|play|beats?|fine|coda|segno|same|as|d\.?[cs]\.?)\b|\d\s?x|x\s?\d`)
	// sectionLength is how many bars a section has, behind its name.
	sectionLength = regexp.MustCompile(`^(` + sectionWord + `(?:[ -]?(?:[A-Z]|\d{1,2}))?)(?:(?:\s*[,(-]\s*|\s+)(\d{1,2}) (?i:bars?|measures?)\)?|\s*\((\d{1,2})\))\s*(?::\s*|$)`)
	// shared are two sections before the bars that both have.
	shared     = regexp.MustCompile(`^((?:` + sectionWord + `|` + briefWord + `)\.?\s?\d)\s?[/&,+-]\s?(?:(?:` + sectionWord + `|` + briefWord + `)\.?\s?)?\d\s*(?::|$)`)
	figuresIn  = regexp.MustCompile(`\d+`)
	lengthOnly = regexp.MustCompile(`(?i)^\(?\d+ (?:bars?|measures?)\)?:?$`)
	sameAs     = regexp.MustCompile(`(?i)^\(?(?:(?:the )?same(?: chords)? as|as|like)(?: the| in)? ([^()]+?)\)?\.?$`)
	pickup     = regexp.MustCompile(`(?i)^(?:pick-?up|anacrusis|upbeat|auftakt|lead-?in)\b`)
	timesFirst = regexp.MustCompile(`^(\s*)(\(?(?:x\s?\d{1,2}|\d{1,2}\s?x)\)?:?)(\s+\S.*)$`)
	ordinal    = regexp.MustCompile(`^(\d)\. ?(` + sectionWord + `)(\s*:.*)?$`)
	// numberWords are those that tell apart sections of one name.
	numberWords  = regexp.MustCompile(`(?i)^(?:last|final|first|second|third|1st|2nd|3rd) | (?:one|two|three|four)$`)
	lettersTimes = regexp.MustCompile(`^\s*([A-Z]'?\d?)\s*(\(?(?:x\s?\d{1,2}|\d{1,2}\s?x)\)?)\s*:`)
	labelled     = regexp.MustCompile(`^((?:\dst |\dnd |\drd )?\p{L}[\p{L}' -]{2,30}(?: \d{1,2})?)\s*[:=]\s*(.*)$`)
	then         = regexp.MustCompile(`(?i)\s(?:and )?then\s`)
	timesWorded  = regexp.MustCompile(`(?i)\((?:play(?:ed)? |repeat )?(twice|(?:two|three|four|\d{1,2}) times)(?: through)?\)`)
	// fromTop sends back to the first bar.
	fromTop    = regexp.MustCompile(`(?i)^\W*(?:repeat|(?:go )?back|again|play again)(?: (?:from|to))?(?: the)? (?:top|beginning|start)\b[^|]*$`)
	timesWord  = regexp.MustCompile(`^\(?(?:x\d{1,2}|\d{1,2}x)\)?$`)
	timesGlued = regexp.MustCompile(`(?i)\|(\(?(?:x\s?\d{1,2}|\d{1,2}\s?x)\)?\s*)$`)
	pointed    = regexp.MustCompile(`\s(?:<-+|<=+|←)(\s+[^>].*|[^->=\s].*)$`)
	timesSaid  = regexp.MustCompile(`(?i)\b(?:x\s?(\d{1,2})|(\d{1,2})\s?x|(\d{1,2}) times|twice|repeat)\b`)
	timesEnd   = regexp.MustCompile(`(?i)[\s(\[,]+(?:(?:repeat|play|loop|all)[: ]+)?(?:x\s?(\d{1,2})|(\d{1,2})\s?x|(\d{1,2}) times|twice|repeat)\s*[\])]?$`)
)

// count reads a word such as x2 or (2 times); 0 for another.
func count(text string) int {
	m := timesIn.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return 0
	}
	for _, d := range m[1:5] {
		if d != "" {
			n, _ := strconv.Atoi(d)
			return n
		}
	}
	return 2
}

// sectionLine takes a line that is, or begins with, the mark of a section.
func (r *reader) sectionLine(line string) bool {
	text := strings.TrimSpace(line)
	text = ordinal.ReplaceAllString(text, "$2 $1$3")
	length := 0
	if m := sectionLength.FindStringSubmatch(text); m != nil {
		length, _ = strconv.Atoi(m[2] + m[3])
		line = strings.Replace(line, m[0], m[1]+": ", 1)
		text = strings.TrimSpace(line)
	}
	if m := shared.FindStringSubmatch(text); m != nil {
		r.doubt("line %d: what %s has is played once", r.number, strings.TrimRight(m[0], ": "))
		line = strings.Replace(line, m[0], m[1]+": ", 1)
		text = strings.TrimSpace(line)
	}
	defer func() {
		if length > 0 {
			r.part.length = length
		}
	}()
	indent := len(line) - len(strings.TrimLeft(line, " "))
	if m := bracketed.FindStringSubmatch(text); m != nil {
		name, rest := m[1]+m[2]+m[3], m[4]
		if r.reads(name) && len(name) > 1 || m[1] != "" && strings.Contains(rest, "[") {
			r.fault(indent+1, fmt.Sprintf("%q, a chord where the name of a section stands", clipped(name)),
				"chords without brackets, a bar between two bar lines")
			return true
		}
		if regexp.MustCompile(`^\d+\.?$`).MatchString(name) {
			return false
		}
		r.section(name, rest)
		r.rest(line, rest)
		return true
	}
	if m := lettered.FindStringSubmatch(text); m != nil && (m[1] == "" || m[1] == "A" || !r.reads(m[1]) || r.known("A") >= 0 || r.part.name == "A") {
		r.section(m[1]+m[2]+m[3], m[4])
		r.rest(line, m[4])
		return true
	}
	if m := colon.FindStringSubmatch(text); m != nil {
		r.section(m[1]+" "+m[2], m[3])
		r.rest(line, m[3])
		return true
	}
	if m := brief.FindStringSubmatch(text); m != nil {
		r.section(m[1], m[2]+m[3])
		r.rest(line, m[2]+m[3])
		return true
	}
	if m := dashedOff.FindStringSubmatch(text); m != nil && !plainWord.MatchString(m[2]) && (m[2][0] == '|' || r.like(strings.Trim(strings.Fields(m[2])[0], "(),|:"))) {
		r.section(m[1], m[2])
		r.rest(line, m[2])
		return true
	}
	if name := strings.TrimSpace(timesEnd.ReplaceAllString(text, "")); len(name) > 2 && !r.like(name) &&
		(r.known(name) >= 0 || strings.EqualFold(name, r.part.name) && len(r.bars) > r.part.from) {
		r.section(text, "")
		return true
	}
	if m := labelled.FindStringSubmatch(text); m != nil && !r.like(m[1]) && (m[2] == "" || !plainWord.MatchString(m[2]) && r.like(strings.Trim(strings.Fields(m[2])[0], "(),|:"))) {
		r.section(m[1], m[2])
		r.rest(line, m[2])
		return true
	}
	if m := alone.FindStringSubmatch(text); m != nil {
		r.section(m[1]+" "+m[2], "")
		return true
	}
	if m := framed.FindStringSubmatch(text); m != nil {
		r.section(m[1], "")
		return true
	}
	if m := letter.FindStringSubmatch(text); m != nil && (slices.Contains(r.letters, m[1]) || r.known(m[1]) >= 0 || r.part.name == m[1] && len(r.bars) > r.part.from) {
		if !slices.Contains(r.letters, m[1]) && r.reads(m[1]) && r.singles > 1 {
			return false // a chord a line
		}
		if !slices.Contains(r.letters, m[1]) && r.reads(m[1]) {
			r.doubt("line %d: %s is read as the name of a section, not as a chord", r.number, m[1])
		}
		r.section(m[1], "")
		return true
	}
	if m := spaced.FindStringSubmatch(text); m != nil && !before.MatchString(text) && r.like(strings.Trim(strings.Fields(m[2])[0], "(|")) {
		r.section(m[1], "")
		r.rest(line, m[2])
		return true
	}
	if m := before.FindStringSubmatch(line); m != nil {
		if m[2] == "" && r.reads(m[1]) && !r.labels(m[3]) {
			return false
		}
		if m[2] == "" && r.reads(m[1]) && len(r.before) < 2 {
			r.doubt("line %d: %s before the first bar line is read as the name of a section, not as a chord", r.number, m[1])
		}
		r.section(m[1]+m[2], m[3])
		r.rest(line, m[3])
		return true
	}
	return false
}

// labels reports whether a letter before these bars is a section's name: where other
// lines begin with a bar line, or with the letters that would follow it.
func (r *reader) labels(bars string) bool {
	return strings.HasSuffix(strings.TrimRight(timesEnd.ReplaceAllString(bars, ""), " ]"), "|") && len(r.before) > 0 && (r.barred || len(r.before) > 1)
}

// rest reads what stands behind the mark of a section, in its place on the line.
func (r *reader) rest(line, rest string) {
	rest = strings.TrimSpace(rest)
	if lengthOnly.MatchString(rest) {
		r.part.length, _ = strconv.Atoi(figuresIn.FindString(rest))
	}
	if rest == "" || count(rest) > 0 || lengthOnly.MatchString(rest) || r.likeAnother(rest) || again.MatchString(rest) {
		return // a known section without bars of its own is played again
	}
	at := strings.LastIndex(line, rest)
	r.line(strings.Repeat(" ", len([]rune(line[:at]))) + rest)
}

// section closes the part before and starts another.
func (r *reader) section(name, rest string) {
	r.closePart()
	times := count(rest)
	name = strings.TrimSpace(name)
	if m := timesEnd.FindStringIndex(name); m != nil {
		times, name = count(strings.Trim(name[m[0]:], " ()[],")), strings.TrimSpace(name[:m[0]])
	}
	name, _, _ = strings.Cut(name, "(")
	r.starts, r.name = true, strings.TrimSpace(name)
	if pickup.MatchString(r.name) {
		r.doubt("line %d: the pickup is played as a whole bar", r.number)
	}
	r.part = part{name: r.name, from: len(r.bars), times: max(times, 1), said: times > 0, line: r.number}
	r.from = len(r.bars)
}

// closePart ends a part: it plays it as often as its mark says, or, where the mark
// of a known section has no bars, that section's again.
func (r *reader) closePart() {
	r.closeRepeat()
	p := r.part
	if len(r.bars) == p.from {
		if p.name == "" {
			return
		}
		i := r.known(p.name)
		if i < 0 && p.like != "" {
			i = r.known(p.like)
		}
		if i < 0 && (len(p.name) > 2 || p.name[0] == 'V') {
			i = slices.IndexFunc(r.parts, func(s span) bool {
				return s.name != "" && strings.EqualFold(unnumberedName(s.name), unnumberedName(p.name))
			})
			if i >= 0 {
				r.told = append(r.told, told(0, true, "line %d: %s has no bars of its own and is played as %s", p.line, clipped(p.name), clipped(r.parts[i].name)))
			}
		}
		if i < 0 {
			r.told = append(r.told, told(0, true, "line %d: %s has no bars and is left out", p.line, clipped(p.name)))
			return
		}
		to := r.parts[i].to
		if p.said {
			to = r.parts[i].once
		} else if once := r.parts[i].once; once < to {
			n := (to - r.parts[i].from) / (once - r.parts[i].from)
			r.told = append(r.told, told(len(r.bars), true, "line %d: %s is played once here, though %d times before", p.line, clipped(p.name), n))
			to = once
		}
		for range p.times {
			r.again(r.parts[i].from, to)
		}
		r.parts = append(r.parts, span{p.name, p.from, len(r.bars), p.from + to - r.parts[i].from})
		r.leave("line %d: %s has no bars of its own and is played as before", p.line, clipped(p.name))
	} else {
		if n := len(r.bars) - p.from; p.length > n && n == 1 {
			r.doubt("line %d: the bar is played %d times, as many as %s has", p.line, p.length, clipped(p.name))
			for range p.length - 1 {
				r.again(p.from, p.from+1)
			}
		} else if p.length > 0 && p.length != n && p.length != n*p.times {
			r.doubt("line %d: %s is said to have %d bars and has %d", p.line, clipped(p.name), p.length, n)
		}
		to := len(r.bars)
		for range p.times - 1 {
			r.again(p.from, to)
		}
		r.parts = append(r.parts, span{p.name, p.from, len(r.bars), to})
	}
	r.part = part{from: len(r.bars), times: 1}
	r.starts, r.name = true, ""
}

// known returns the first part of that name, -1 if there is none.
func (r *reader) known(name string) int {
	return slices.IndexFunc(r.parts, func(s span) bool { return strings.EqualFold(s.name, name) })
}

// unnumberedName is the name of a section without its number: Verse of Verse 2.
func unnumberedName(name string) string {
	return strings.TrimRight(numberWords.ReplaceAllString(name, ""), " -0123456789")
}

// likeAnother takes words such as (same as intro) for a part without bars.
func (r *reader) likeAnother(text string) bool {
	m := sameAs.FindStringSubmatch(text)
	if m == nil || r.part.name == "" || len(r.bars) > r.part.from || r.known(m[1]) < 0 {
		return false
	}
	r.part.like = m[1]
	return true
}

// again plays the bars from up to to once more.
func (r *reader) again(from, to int) bool {
	if from >= to || len(r.bars)+to-from > tune.MaxBars {
		r.fault(1, "a repeat of nothing, or of too much", fmt.Sprintf("bars to repeat, at most %d in all", tune.MaxBars))
		return false
	}
	copied := slices.Clone(r.bars[from:to])
	for i := from; i < to; i++ {
		r.bars[i].once = true
	}
	r.bars[from].Starts, copied[0].Starts = true, true
	r.bars = append(r.bars, copied...)
	return true
}

// timesAlone takes a line that holds nothing but how often to play.
func (r *reader) timesAlone(text string) bool {
	n := count(text)
	if n == 0 || len(r.bars) == r.part.from {
		return false
	}
	r.doubt("line %d: the part so far is played %d times", r.number, n)
	to := len(r.bars)
	for range n - 1 {
		if !r.again(r.part.from, to) {
			break
		}
	}
	r.starts = true
	return true
}

// lettersBefore returns the capitals that stand before the first bar lines of lines,
// where they are marks of sections: the first is A, each new one the next.
func lettersBefore(lines []string) []string {
	var out []string
	for _, line := range lines {
		m := before.FindStringSubmatch(line)
		if m == nil || m[1] == "" || slices.Contains(out, m[1]) {
			continue
		}
		next := byte('A')
		if len(out) > 0 {
			next = out[len(out)-1][0] + 1
		}
		if m[1][0] != next && !(len(m[1]) > 1 && m[1][0] == next-1) {
			return nil
		}
		out = append(out, m[1])
	}
	return out
}

// lettersOf returns the capitals that stand alone on lines as marks of sections: the
// first of them is A, each new one the next, and other lines hold more than a chord.
func lettersOf(lines []string) []string {
	var out []string
	full := false
	for _, line := range lines {
		text := letterBars.ReplaceAllString(strings.TrimSpace(line), "$1")
		full = full || len(strings.Fields(text)) > 1
		if letter.MatchString(text) && !slices.Contains(out, text) {
			last := byte('A' - 1)
			if len(out) > 0 {
				last = out[len(out)-1][0]
			}
			if text[0] != last+1 && !(len(text) > 1 && text[0] == last) {
				return nil
			}
			out = append(out, text)
		}
	}
	if !full || len(out) < 2 {
		return nil
	}
	return out
}

var (
	together   = regexp.MustCompile(`\(([^()]*[^()\s][\s|,]+[^()\s][^()]*)\)\s*(?:x\s?(\d{1,2})|(\d{1,2})\s?x)(?:\s|$)`)
	barsOf     = regexp.MustCompile(`([^\s|,;(]\S*) +(?:[~=:] +)?(?:(?:\(|for )?(\d{1,2}) bars?\)?|\(([1-48]|12|16)\))[\s,;|]*`)
	barsBefore = regexp.MustCompile(`(?:^|[\s,;]+)(?:then )?(\d{1,2}) bars? (?:of )?([^\s,;]+)`)
	barsFirst  = regexp.MustCompile(`^(?:` + barsBefore.String() + `)+[\s,;.]*$`)
	barsEach   = regexp.MustCompile(`^[\s|]*(?:` + barsOf.String() + `)+$`)
	// endingBefore is the number of an ending before the bar line that it begins at.
	endingBefore = regexp.MustCompile(`(?:\|\s*)?\[(\d(?:\s?[,.&-]\s?\d)*)[.\]]?\s*\|`)
	letterBars   = regexp.MustCompile(`^\s*([A-Z]) +\(?\d{1,2} bars\)?\s*$`)
	lasting      = regexp.MustCompile(`\s\(?(\d) beats?\)?`)
)

// spelled writes out what a line says in short: a group in parentheses that is played
// several times, and a chord with its number of beats.
func spelled(line string) string {
	if m := pointed.FindStringSubmatchIndex(line); m != nil && (plainWord.MatchString(line[m[2]:]) || timesSaid.MatchString(line[m[2]:])) {
		said := timesSaid.FindString(line[m[2]:])
		line = line[:m[0]]
		if said != "" {
			line += " " + said
		}
	}
	line = endingBefore.ReplaceAllString(line, "|[$1 ")
	line = timesWorded.ReplaceAllStringFunc(line, func(found string) string {
		said := strings.ToLower(timesWorded.FindStringSubmatch(found)[1])
		return "(x" + strings.NewReplacer(" times", "", "twice", "2", "two", "2", "three", "3", "four", "4").Replace(said) + ")"
	})
	line = fromTop.ReplaceAllString(line, "D.C.")
	line = lettersTimes.ReplaceAllString(line, "[$1 $2]")
	line = timesGlued.ReplaceAllString(line, "| $1")
	if m := timesFirst.FindStringSubmatch(line); m != nil {
		line = m[1] + strings.Repeat(" ", len(m[2])) + m[3] + " " + strings.Trim(m[2], ":")
	}
	line = together.ReplaceAllStringFunc(line, func(found string) string {
		m := together.FindStringSubmatch(found)
		n, _ := strconv.Atoi(m[2] + m[3])
		by := " "
		if strings.Contains(line, "|") {
			by = " | "
		}
		return strings.Repeat(by+m[1], min(n, 64))[len(by):] + " "
	})
	return lasting.ReplaceAllStringFunc(line, func(found string) string {
		n, _ := strconv.Atoi(lasting.FindStringSubmatch(found)[1])
		return strings.Repeat(" /", max(n-1, 0))
	})
}

// eachBars writes out chords that each have their number of bars, as in E9 (8 bars).
func (r *reader) eachBars(line string) string {
	if barsFirst.MatchString(line) {
		line = barsBefore.ReplaceAllString(line, " $2 $1 bars")
	} else if m := letterBars.FindStringSubmatch(line); m != nil && slices.Contains(r.letters, m[1]) {
		return m[1] // the mark of a section
	}
	if !barsEach.MatchString(line) {
		return line
	}
	var out []string
	bare := false
	for _, m := range barsOf.FindAllStringSubmatch(line, -1) {
		if !r.reads(m[1]) {
			return line
		}
		n, _ := strconv.Atoi(m[2] + m[3])
		bare = bare || m[3] != ""
		out = append(out, slices.Repeat([]string{m[1]}, max(n, 1))...)
	}
	if bare {
		r.doubt("line %d: a number in parentheses is how many bars the chord before it has", r.number)
	}
	return "| " + strings.Join(out, " | ") + " |"
}

// eachTimes writes out chords that each have a count of their own, as in Em x4 C x2.
func (r *reader) eachTimes(line string) string {
	if !strings.ContainsAny(line, "xX") {
		return line
	}
	between, cells := " ", []string{line}
	if strings.Contains(line, " - ") {
		between = " - "
	}
	if strings.Contains(line, "|") {
		between, cells = " | ", strings.Split(line, "|")
	}
	var out []string
	counts, words, last := 0, 0, false
	for i, cell := range cells {
		var group []string
		last = false
		for _, w := range strings.Fields(then.ReplaceAllString(strings.ReplaceAll(cell, ",", " "), " ")) {
			last = timesWord.MatchString(w)
			switch {
			case last && len(group) == 0:
				return line
			case last:
				n := max(min(count(w), 64), 1)
				counts++
				if words += n * len(group); words > 4*tune.MaxBars {
					return line
				}
				out = append(out, slices.Repeat([]string{strings.Join(group, " ")}, n)...)
				group = nil
			case w != "-" && !r.like(strings.Trim(w, "()")):
				return line
			default:
				group = append(group, w)
			}
		}
		if len(group) > 0 || len(cells) > 1 && !last && i > 0 && i < len(cells)-1 {
			out = append(out, strings.Join(group, " "))
		}
	}
	if counts == 0 || counts == 1 && last {
		return line
	}
	r.doubt("line %d: each count repeats the chords before it", r.number)
	line = strings.Join(out, between)
	if len(cells) > 1 {
		line = "| " + line + " |"
	}
	return line
}
