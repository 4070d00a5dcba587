package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

var (
	rule = regexp.MustCompile("^(?:[-=_*~+. ]{3,}|`+\\w*)$")
	// tableRule is the rule below the first row of a table.
	tableRule = regexp.MustCompile(`^\|?(?:\s*(?::-+:?|-+:|[-=]{2,})\s*(?:\||$))+$|^(?:\|-)+\|$`)
	// starred is a remark that a star in a bar points to.
	starred   = regexp.MustCompile(`^\s*(?:\*|†|\d?\^)\)?\s*[\p{Ll}]`)
	pointed   = regexp.MustCompile(`\s(?:<-+|<=+|←)(\s+[^>].*|[^->=\s].*)$`)
	plainWord = regexp.MustCompile(`(?:^|\s)\p{L}?[\p{Ll}]{3,}(?:\s|$)`)
	thenLast  = regexp.MustCompile(`(?i)[,;]?\s+(?:and )?then[:.,]?\s*$`)
	thenFirst = regexp.MustCompile(`(?i)^\s*(?:and )?then[,:]? +`)
	// lengthsOf are letters of sections and how many bars they have.
	lengthsOf  = regexp.MustCompile(`^(?:[A-Z]\d? ?= ?\d{1,2} bars?[,;. ]*)+$`)
	timesFirst = regexp.MustCompile(`(?i)^(\s*)(\(?(?:x\s?\d{1,2}|\d{1,2}\s?x)\)?:?)(\s+\S.*)$`)
	valued     = regexp.MustCompile(`^\p{L}[\p{L} -]{1,20}:\s+\S`)
	// nearChord is a word that a mistyped chord could be, wordAlone one that none could.
	nearChord   = regexp.MustCompile(`^(?:[A-GH][#b]?(?:[mM][aijn]{0,3}|d[im]{1,2}|s[us]{1,2}|a[ug]{1,2}|[-+]+)?|[a-gh][#b]?m?|[A-Ga-gHh][#b]?(?:m|M|maj|min|-|\+|°|ø|Δ|\^)?\d\S*|[A-G][#b]?m{0,2}[/(]\S*)$`)
	remarkAlone = regexp.MustCompile(`^\p{L}*\p{Ll}{3,}\p{L}*[.:,!]*$`)
	formLetters = regexp.MustCompile(`^(?i:(play|form|order|the form is) )?\(?([A-E]{2,12})\)?\.?$`)
)

// line reads a line, mark of a section or not.
func (r *reader) line(line string) {
	line = strings.TrimRight(r.uncommented(line), " \t")
	r.then = false
	if m := thenFirst.FindString(line + " "); m != "" && len(r.bars) > 0 {
		r.then = true
		r.newBlock()
		r.taken++
		line = strings.TrimRight(blanks(m)+(line + " ")[len(m):], " ")
	}
	if m := pointed.FindStringSubmatchIndex(line); m != nil && (plainWord.MatchString(line[m[2]:]) || timesSaid.MatchString(line[m[2]:])) {
		line = line[:m[0]] + " " + timesSaid.FindString(line[m[2]:])
	}
	if m := timesFirst.FindStringSubmatch(line); m != nil && r.chordal(strings.TrimSpace(m[3])) {
		line = m[1] + blanks(m[2]) + m[3] + " " + strings.Trim(m[2], ":")
	}
	if m := thenLast.FindStringIndex(line); m != nil && (count(line[:m[0]]) > 0 || r.understood(line[:m[0]])) {
		line = line[:m[0]]
	}
	line = r.saidLast(r.saidFirst(r.allSaid(line)))
	text := strings.TrimSpace(line)
	switch {
	case lengthsOf.MatchString(text):
		r.leave("line %d: %s is left out", r.number, clipped(text))
	case text == "":
		r.newBlock()
		if len(r.bars) > r.part.from {
			r.starts = true
		}
	case rule.MatchString(text) && !strings.Contains(text, "."), tableRule.MatchString(text),
		r.formLine(text), r.header(text), r.asBefore(line), r.heading(line):
		r.taken++
	default:
		r.content(line)
	}
}

// content reads a line that is no header and no mark of a section.
func (r *reader) content(line string) {
	list := r.expanded(r.lex(line, 1))
	chords, near, words, bars, held, counts, inBrackets, lengths := 0, 0, 0, 0, 0, 0, 0, 0
	for i, t := range list {
		next := i + 1
		switch {
		case t.kind == aChord && strings.EqualFold(t.text, "a") && next < len(list) && list[next].gap == 1 && list[next].kind == aWord && plainWord.MatchString(list[next].text):
			words++ // an article
		case t.kind == aChord:
			chords++
			if i > 0 && list[i-1].kind == anOpening && next < len(list) && list[next].kind == aClosing {
				inBrackets++
			}
		case t.kind == aBarLine:
			bars++
		case t.kind == aLength:
			lengths++
		case t.kind == aHold, t.kind == aSimile, t.kind == aBlank:
			held++
		case t.kind == aCount:
			counts++
		case t.kind == aWord && barWord.MatchString(t.text) && next < len(list) && list[next].kind == aNumber:
		case t.kind == aWord && nearlyChord(t.text):
			near++
		case t.kind == aWord && !joining[strings.ToLower(strings.Trim(t.text, ",.:"))]:
			words++
		}
	}
	text := strings.TrimSpace(line)
	switch {
	case len(list) == 1 && list[0].kind == aCount && len(r.bars) > r.part.from:
		r.doubt("line %d: the part so far is played %d times", r.number, list[0].n)
		r.againFrom(r.part.from, list[0].n)
	case len(list) > 1 && !slices.ContainsFunc(list, func(t token) bool { return t.kind != aNumber && !barWord.MatchString(strings.Trim(t.text, ":")) }):
		r.numbersAbove = columnsOf(slices.DeleteFunc(list, func(t token) bool { return t.kind != aNumber }))
		r.leave("line %d holds numbers alone and is left out", r.number)
	case len(list) == 1 && list[0].kind == aJump:
		r.mark(list[0].text)
		r.taken++
	case bars == 0 && inBrackets > 0 && inBrackets == chords && (words > 0 || chords > 1 && list[0].text == "["):
		if r.lyrics++; r.lyrics == 1 {
			r.doubt("line %d: the chords in brackets are taken, a bar each, and the words left out", r.number)
		}
		r.compare(chords)
		r.singly(list)
	case bars > 0 && chords+near+held == 0 && words == 0 && counts == 0:
		r.leave("line %d holds bar lines and numbers alone and is left out", r.number)
	case bars == 0 && len(r.bars) > 0 && onlySimiles(list):
		r.bare(list)
	case bars == 0 && (chords+near == 0 || words > 0 && words >= chords+near && !startsWithChords(list)), len(r.bars) > 0 && starred.MatchString(line) && words > 0:
		r.says(text, chords+min(chords, lengths), held)
		r.taken++
	case chords == 0 && bars > 0 && held == 0 && near == 0:
		for _, cell := range cellsOf(list) {
			if len(r.labelled(cell)) > 0 {
				r.leave("line %d: %s is left out", r.number, clipped(text))
				break
			}
		}
	default:
		told, used := len(r.told), r.used
		switch {
		case bars > 0 && r.onlyRepeat(list):
		case bars > 0:
			r.barred(list)
		default:
			if words > 2 {
				r.doubt("line %d: the chords among its words are taken, a bar each", r.number)
			}
			r.bare(list)
		}
		if len(r.faults) == 0 && len(r.told) == told && r.used-used < chords {
			r.doubt("line %d: of its chords not all are played", r.number)
		}
	}
}

// onlySimiles reports whether a line plays bars before it again, with its number or without.
func onlySimiles(list []token) bool {
	return !slices.ContainsFunc(list, func(t token) bool { return t.kind != aSimile && t.kind != aNumber }) &&
		slices.ContainsFunc(list, func(t token) bool { return t.kind == aSimile && strings.Trim(t.text, "\"'") != "" })
}

// startsWithChords reports whether the first three of a line, but for signs, are chords.
func startsWithChords(list []token) bool {
	n := 0
	for _, t := range list {
		if t.kind == aChord {
			n++
		} else if t.kind == aWord || n > 2 {
			break
		}
	}
	return n > 2
}

// cellsOf parts tokens at bar lines.
func cellsOf(list []token) (out [][]token) {
	var cell []token
	for _, t := range append(slices.Clone(list), token{kind: aBarLine}) {
		if t.kind != aBarLine {
			cell = append(cell, t)
			continue
		}
		if len(cell) > 0 {
			out = append(out, cell)
		}
		cell = nil
	}
	return out
}

// expanded writes out groups in brackets that are played several times.
func (r *reader) expanded(list []token) []token {
	barred := slices.ContainsFunc(list, func(t token) bool { return t.kind == aBarLine })
	for k := 0; k+1 < len(list); k++ {
		if list[k].kind != aClosing || list[k+1].kind != aCount {
			continue
		}
		from := k - 1
		for from >= 0 && list[from].kind != anOpening {
			from--
		}
		if from < 0 || k-from < 3 && list[k-1].kind != aBarLine {
			continue
		}
		group := list[from+1 : k]
		between := token{kind: aParting}
		if barred {
			between = token{kind: aBarLine, text: "|"}
		}
		out := slices.Clone(list[:from])
		for i := range min(list[k+1].n, 64) {
			if i > 0 && len(group) > 1 && group[len(group)-1].kind != aBarLine {
				out = append(out, between)
			}
			out = append(out, group...)
		}
		if k+2 < len(list) && list[k+2].kind != aBarLine && list[k+2].kind != aParting {
			out = append(out, between)
		}
		done := len(out)
		list = append(out, list[k+2:]...)
		k = done - 1
	}
	return list
}

// onlyRepeat reads a line whose only bar lines are those of a repeat, around more chords
// than share a bar.
func (r *reader) onlyRepeat(list []token) bool {
	var inside []token
	times, open, shut := 0, false, false
	for i, t := range list {
		switch {
		case t.kind == aBarLine && i == 0 && t.opens && !t.closes:
			open = true
		case t.kind == aBarLine && i > 0 && t.closes && !t.opens && !shut:
			shut = true
		case t.kind == aCount && shut:
			times = t.n
		case t.kind != aChord || shut:
			return false
		default:
			inside = append(inside, t)
		}
	}
	if len(inside) < 3 || !open && !shut {
		return false
	}
	if open {
		r.closeRepeat()
		r.from, r.starts = len(r.bars), true
	}
	r.bare(inside)
	r.doubt("line %d has no bar lines but those of its repeat: a chord a bar", r.number)
	if shut {
		r.repeatHere(1, times)
	}
	return true
}

// first reports whether nothing of the chart has come yet.
func (r *reader) first() bool {
	return len(r.bars) == 0 && r.score.Title == "" && len(r.parts) == 0 && r.part.name == ""
}

// says takes a line without chords, or with few among words: the title where nothing has
// come yet, else words to sing or a remark.
func (r *reader) says(text string, chords, held int) {
	sung := r.lyrics > 0 && strings.Count(text, " ") > 4 && !saysBars.MatchString(text)
	counts := len(r.bars) > 0 && playedAgain.MatchString(text) && !sung || figuresIn.MatchString(text) && timesSaid.MatchString(text) || rangeIn.MatchString(text) && strings.Contains(text, "repeat")
	switch {
	case counts, len(r.bars) > 0 && goesBack.MatchString(text) && strings.Count(text, " ") < 7, len(r.bars) > 0 && (jumpIn.MatchString(text) || saysBars.MatchString(text) && unsure.MatchString(text)):
		r.doubt("line %d: %s is left out", r.number, clipped(text))
	case r.first() && hasLetters.MatchString(text) && !barsSaid.MatchString(text) || r.first() && chords == 0 && hasLetters.MatchString(text):
		r.title(text)
	case task.MatchString(text):
		r.leave("line %d: %s is left out", r.number, clipped(text))
	case chords > 1, len(r.bars) > 0 && (instead.MatchString(text) || strings.HasSuffix(text, ":") || saysBut.MatchString(text)):
		r.doubt("line %d: %s is left out", r.number, clipped(text))
	case chords == 0 && nearWords(text) && len(r.bars) > 0:
		r.fault(1, fmt.Sprintf("%q", clipped(text)), wantChord)
	case chords == 1, !strings.Contains(text, " "), strings.HasPrefix(text, "("), valued.MatchString(text), held > 0:
		r.leave("line %d: %s is left out", r.number, clipped(text))
	case len(r.bars) > 0 && r.lyrics == 0 && ofPlaying.MatchString(text):
		r.doubt("line %d: what %s means is not known: it is left out", r.number, clipped(text))
	default:
		if r.lyrics++; r.lyrics == 1 {
			r.leave("line %d holds no chords and is left out, as are others like it", r.number)
		}
	}
}

// ofPlaying are words of what is played, how often, and how.
var ofPlaying = regexp.MustCompile(`(?i)\b(?:repeat(?:s|ed)?|\d+ times|times|coda|segno|fine|ending|tag|vamp|fade|rit|solos?|tempo|bpm|modulat\w+|transpos\w+|key|(?:half|double|stop)[ -]time|chorus|verse|bridge|intro|outro|` +
	`interlude|turnaround|(?:last|first|second|1st|2nd|3rd) time|bars?|measures?|chords?|section|head|dal|al|up a|down a|half step|whole step)\b`)

// instead are words that say that something else could be played.
var instead = regexp.MustCompile(`(?i)\b(?:instead|rather|alternative|alternatively|optional|option|substitute)\b`)

// playedAgain says that something is played again.
var playedAgain = regexp.MustCompile(`(?i)\b(?:twice|repeat|again)\b`)

// saysBars speaks of chords or bars, unsure of what is not known; task is a numbered
// sentence of a worksheet.
var (
	saysBars = regexp.MustCompile(`(?i)\b(?:chords?|bars?|changes|repeat|play|lines?|section|bit)\b`)
	unsure   = regexp.MustCompile(`(?i)\b(?:can'?t|can ?not|never|don'?t|not sure|forgot|forgotten|missing|something|somehow|or so|unknown|fill in|no idea|\d{1,2} bars)\b`)
	goesBack = regexp.MustCompile(`(?i)^\W*(?:and |then |now )*(?:go |take it )?(?:back to|from) (?:the )?(?:top|start|first|beginning|verse|bridge|chorus|head|intro|[A-D]\b)`)
	task     = regexp.MustCompile(`^\d{1,2}[.)] \p{Lu}\p{Ll}+ .*[.?!]$`)
)

// saysBut sets what is below against what is above.
var saysBut = regexp.MustCompile(`(?i)^(?:but|or|versus|vs)\b.*\b(?:hear|play|think|say|says|like|use)s?\b`)

// nearWords reports whether a text is words that could be nothing but mistyped chords.
func nearWords(text string) bool {
	return !slices.ContainsFunc(strings.Fields(text), func(w string) bool { return !nearlyChord(w) })
}

// nearlyChord reports whether a word could be a mistyped chord.
func nearlyChord(word string) bool { return nearChord.MatchString(word) && !english.MatchString(word) }

// english are words that look like mistyped chords.
var english = regexp.MustCompile(`^(?i:end|ending|good?|do|add|bad|dad|dig|din|god|and|amid|among|hm+)$`)

var capitalized = regexp.MustCompile(`^ \p{Lu}`)

var hasLetters = regexp.MustCompile(`\p{L}`)

var formEnd = regexp.MustCompile(`(?i)[\s,;]+(?:form|order|play)(?: is)?:? ([A-E]{2,12})[.!]?\s*$`)

// formSaid takes a form that ends a line of chords, and cuts it off.
func (r *reader) formSaid(line string) string {
	m := formEnd.FindStringSubmatchIndex(line)
	if m == nil || r.chordWords(line[:m[0]]) < 2 {
		return line
	}
	r.form = strings.Split(line[m[2]:m[3]], "")
	return line[:m[0]]
}

// formLine takes a line of letters alone that are marks of sections, or of names of
// sections that have been read.
func (r *reader) formLine(text string) bool {
	if m := formLetters.FindStringSubmatch(text); m != nil && (m[1] != "" || len(r.bars) > 0 || lettersIn.MatchString(text)) {
		r.form = strings.Split(m[2], "")
		return true
	}
	names := strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune(" ,->", c) })
	if len(names) > 1 && !slices.ContainsFunc(names, func(w string) bool {
		return len(w) < 3 || r.like(w) || r.known(w) < 0 && !(strings.EqualFold(w, r.part.name) && len(r.bars) > r.part.from)
	}) {
		r.form = names
		return true
	}
	fields := strings.Fields(text)
	if len(fields) > 2 && strings.EqualFold(fields[0], "play") && !slices.ContainsFunc(fields[1:], func(w string) bool {
		return r.known(w) < 0 && !(w == r.part.name && len(r.bars) > r.part.from)
	}) {
		r.form = fields[1:]
		return true
	}
	if len(fields) < 2 || slices.ContainsFunc(fields, func(w string) bool { return !slices.Contains(r.letters, w) }) {
		return false
	}
	r.form = fields
	return true
}

// like reports whether a word is a chord or looks like one that is mistyped.
func (r *reader) like(text string) bool {
	list := r.lex(text, 1)
	return len(list) > 0 && (list[0].kind == aChord || list[0].kind == aSimile || list[0].kind == aHold || list[0].kind == aWord && mistyped.MatchString(text))
}

var mistyped = regexp.MustCompile(`^[A-Ga-gHh][#b♯♭]?(m|M|maj|min|-|\+|°|ø|Δ|\^)?\d`)

// itsNumber is the number of a tune or a section in a list, before its title.
var itsNumber = regexp.MustCompile(`^(#\d{1,2}\b\s*(?:[-.:)]\s*)?)["'(]?\p{L}`)

// saysHow reports whether a comment says a key, a meter or a tempo, and little else.
func saysHow(comment string) bool {
	names, strong := 0, 0
	for _, p := range certain(scan(comment)) {
		switch {
		case p.means == aName && hasLetters.MatchString(p.text):
			names++
		case tells(p) && !p.weak:
			strong++
		}
	}
	return strong > 0 && names < 2
}

// uncommented cuts a comment off: // or # at the start, after two spaces, or where
// what follows is no chord.
func (r *reader) uncommented(line string) string {
	for i := 0; i < len(line); i++ {
		long := strings.HasPrefix(line[i:], "//")
		if line[i] != '#' && !long || i > 0 && line[i-1] != ' ' {
			continue
		}
		before, after := strings.TrimSpace(line[:i]), strings.TrimLeft(line[i:], "/#")
		fields, number := strings.Fields(after), itsNumber.FindStringSubmatch(line[i:])
		switch {
		case before == "" && len(number) > 0 && (r.first() || sectionAlone.MatchString(strings.TrimSpace(line[i+len(number[1]):]))):
			return blanks(line[:i]+number[1]) + line[i+len(number[1]):]
		case before == "" && len(r.bars) == 0 && saysHow(strings.TrimSpace(after)):
			return blanks(line[:len(line)-len(after)]) + after
		case before == "" && !long && r.first() && capitalized.MatchString(after) && !sectionAlone.MatchString(strings.TrimSpace(after)):
			return blanks(line[:i]) + strings.TrimLeft(line[i:], "#")
		case before == "" && !long && (sectionAlone.MatchString(strings.TrimSpace(after)) || strings.HasPrefix(line[i:], "##")):
			return "[" + strings.TrimSpace(after) + "]"
		case before == "" && !long, strings.HasSuffix(line[:i], "  ") && !long:
			return line[:i]
		case len(fields) == 0 && long && before != "", slices.ContainsFunc(fields, func(w string) bool { return r.reads(w) || w == "|" }):
			i++ // beats, or the sharp of a chord
		default:
			return line[:i]
		}
	}
	return line
}
