package chart

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// inSquares reads a line with several pairs of brackets: around the chords, where words
// to sing stand between them, or around the names of sections before their bars.
func (r *reader) inSquares(line string) bool {
	found := inSquare.FindAllStringSubmatchIndex(line, -1)
	chords, outside := 0, strings.TrimSpace(inSquare.ReplaceAllString(line, " "))
	for _, m := range found {
		if name := line[m[2]:m[3]]; r.reads(name) {
			chords++
		} else if count(name) > 0 || figure.MatchString(name[:1]) || headers.MatchString(name) {
			return false
		}
	}
	switch {
	case len(found) == 0 || strings.Contains(line, "|") && chords > 0:
	case chords == len(found) && (plainWord.MatchString(outside) || chords > 1 && outside == "" || r.lyrics > 0):
		var list []word
		for _, m := range found {
			list = append(list, word{utf8.RuneCountInString(line[:m[2]]) + 1, 2, line[m[2]:m[3]]})
		}
		r.lyrics++
		r.compare(len(list))
		for _, w := range list {
			r.bar([]word{w})
		}
		if r.lyrics == 1 {
			r.doubt("line %d: the chords in brackets are taken, a bar each, and the words left out", r.number)
		}
		return true
	case chords == 0 && len(found) > 1 && strings.TrimSpace(line[:found[0][0]]) == "":
		for i, m := range found {
			to := len(line)
			if i+1 < len(found) {
				to = found[i+1][0]
			}
			r.line(blanks(line[:m[0]]) + line[m[0]:to])
		}
		return true
	}
	return false
}

// repeated reads a line whose only bar lines are those of a repeat, around more chords
// than share a bar.
func (r *reader) repeated(line string) bool {
	m := onlyRepeat.FindStringSubmatch(line)
	if m == nil || m[2] == "" && m[4] == "" {
		return false
	}
	list := r.words(m[3], 1)
	if len(list) < 3 || slices.ContainsFunc(list, func(w word) bool { return !r.reads(w.text) }) {
		return false
	}
	if m[2] != "" {
		r.closeRepeat()
		r.from, r.starts = len(r.bars), true
	}
	r.chordLine(blanks(m[1]+m[2])+m[3], r.bareLine)
	r.doubt("line %d has no bar lines but those of its repeat: a chord a bar", r.number)
	if m[4] != "" {
		r.repeatHere(1, count(m[5]))
	}
	return true
}

// unbracketed takes the brackets from around bars; where a count follows, parentheses
// stand in their place.
func (r *reader) unbracketed(line string) string {
	return inBrackets.ReplaceAllStringFunc(line, func(found string) string {
		m := inBrackets.FindStringSubmatch(found)
		words := strings.FieldsFunc(m[1], func(c rune) bool { return strings.ContainsRune(" |,-", c) })
		switch {
		case len(words) < 2 || slices.ContainsFunc(words, func(w string) bool { return !r.reads(w) && !similes.MatchString(w) }):
			return found
		case m[2] == "":
			if !strings.HasPrefix(found, "[|") {
				r.doubt("line %d: brackets around chords are left out", r.number)
			}
			return " " + m[1] + " "
		}
		return "(" + m[1] + ")" + m[2]
	})
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
		fields := strings.Fields(after)
		switch {
		case before == "" && !long, strings.HasSuffix(line[:i], "  ") && !long:
			return line[:i]
		case len(fields) == 0 && long && before != "", slices.ContainsFunc(fields, func(w string) bool { return r.reads(w) || w == "|" }):
			i += 1 // beats, or the sharp of a chord
		default:
			return line[:i]
		}
	}
	return line
}

// withoutRemark blanks what a line of chords says in parentheses in plain words.
func (r *reader) withoutRemark(line string) string {
	if r.chordWords(inParentheses.ReplaceAllString(line, "")) < 2 {
		return line
	}
	if m := timesAndMore.FindStringSubmatchIndex(line); m != nil && plainWord.MatchString(line[m[3]:m[5]]) {
		r.leave("line %d: %s is left out", r.number, clipped(strings.Trim(line[m[4]:m[5]], ",;: ")))
		line = line[:m[3]] + ")" + line[m[1]:]
	}
	return inParentheses.ReplaceAllStringFunc(line, func(found string) string {
		text := strings.Trim(found, "()")
		fields := strings.Fields(text)
		instead := len(fields) > 1 && strings.EqualFold(fields[0], "or")
		says := len(fields) > 1 && plainWord.MatchString(text) && !played.MatchString(text) && !slices.ContainsFunc(fields, r.like)
		if !instead && !says {
			return found
		}
		r.leave("line %d: %s is left out", r.number, clipped(found))
		return strings.Repeat(" ", utf8.RuneCountInString(found))
	})
}

// wordsAlone takes a line without chords: the title where nothing has come yet,
// else words to sing or a remark, which a chart of chords does not hold.
func (r *reader) wordsAlone(text string) bool {
	fields := strings.FieldsFunc(text, func(c rune) bool { return c == ' ' || c == ',' || c == ';' })
	chords, held := 0, 0
	for _, w := range fields {
		if r.like(strings.Trim(w, "(),-")) {
			chords++
		} else if holds(w) {
			held++
		}
	}
	if chords > 0 && chords+held == len(fields) {
		chords = len(fields)
	}
	switch {
	case len(r.bars)+len(r.parts) > 0 && inParens.MatchString(text) && count(text) == 0 && !jumpIn.MatchString(text) && chords < len(fields),
		!r.first() && valued.MatchString(text) && chords == 0, link.MatchString(text),
		len(r.bars) > 0 && starred.MatchString(string(r.typed)):
		r.leave("line %d: %s is left out", r.number, clipped(text))
		return true
	case r.first() && len(fields) > 0 && (chords == 0 || chords*2 <= len(fields) && plainWord.MatchString(signsIn.ReplaceAllString(text, " ")) && !figure.MatchString(text)):
		r.title(text)
		return true
	case len(r.bars) > 0 && chords > 0 && chords*2 <= len(fields) && !slices.ContainsFunc(fields, func(w string) bool {
		return !r.like(w) && (!wordOnly.MatchString(w) || suffixes[strings.ToLower(w)] != "")
	}):
		r.leave("line %d: %s is left out", r.number, clipped(text))
		return true
	case chords*4 > len(fields):
		return false
	case chords == 0 && len(r.bars) == 0 && byLine.MatchString(text):
	case chords == 0 && len(r.bars) > 0 && (remarkAlone.MatchString(text) || wordAlone.MatchString(text) && !nearChord.MatchString(text)):
	case chords == 0 && len(r.bars) > 0 && slices.ContainsFunc(fields, func(w string) bool {
		return wordAlone.MatchString(w) && !nearChord.MatchString(w)
	}) && !slices.ContainsFunc(fields, func(w string) bool { return !wordOnly.MatchString(w) }):
	case len(fields) < 3 && (r.lyrics == 0 || chords > 0):
		return false
	}
	if r.lyrics++; r.lyrics == 1 {
		r.leave("line %d holds no chords and is left out, as are others like it", r.number)
	}
	return true
}
