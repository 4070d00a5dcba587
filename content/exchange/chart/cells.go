package chart

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

const wantChord = "a chord symbol such as Dm7, N.C. for none, . or / to hold, or % for the bar before"

// barred reads a line with bar lines.
func (r *reader) barred(list []token) {
	start := len(r.bars)
	list = r.unnumbered(list)
	for k := len(list) - 1; k > 0 && list[k].kind == aRemark; k-- {
		r.leave("line %d: %s is left out", r.number, clipped(list[k].text))
		list = list[:k]
	}
	times, counts := 0, 0
	for _, t := range list {
		if t.kind == aCount {
			counts++
		}
	}
	if k := len(list) - 1; counts == 1 && list[k].kind == aCount {
		times, list = list[k].n, list[:k]
	}
	if len(list) > 2 && len(list[0].text) == 1 && list[0].kind == aChord && list[1].kind == aChord && list[1].gap > 1 && list[2].kind == aBarLine {
		r.doubt("line %d: %s at its start is read as a chord, not as the name of a section", r.number, list[0].text)
		r.told[len(r.told)-1].Kind, r.told[len(r.told)-1].Line = transcribe.Letter, r.number
	}
	var cell []token
	bars, closedHere := 0, false
	if r.tabled && len(list) > 2 && list[0].kind == aBarLine && list[2].kind == aBarLine && letterMark.MatchString(list[1].text) {
		r.section(list[1].text, 0)
		if list[1].kind == aChord {
			r.used++
		}
		list = list[2:]
	}
	for i := 0; i <= len(list); i++ {
		if i < len(list) && list[i].kind != aBarLine {
			cell = append(cell, list[i])
			continue
		}
		last := i == len(list)
		var line token
		if !last {
			line = list[i]
		}
		var ending []token
		if k := len(cell) - 1; k > 0 && !last && cell[k].kind == aNumber && strings.HasPrefix(cell[k].text, "[") {
			cell, ending = cell[:k], cell[k:]
		}
		if len(cell) > 1 && cell[0].kind == aCount && len(r.bars) > start {
			r.doubt("line %d: each count repeats the bars before it", r.number)
			r.againFrom(start, cell[0].n)
			start, cell = len(r.bars), cell[1:]
		}
		switch {
		case len(cell) > 0:
			if bars == 0 && !last && r.startsBarred && cell[0].kind == aChord {
				r.doubt("line %d: what stands before its first bar line is read as a bar", r.number)
			}
			r.cell(cell)
		case bars > 0 && !last && len(ending) == 0 && line.gap > 0 && !line.closes && !list[i-1].opens:
			r.empty()
		}
		if line.closes {
			n := 0
			if next := i + 1; next == len(list) {
				n, closedHere = times, true
			}
			r.repeatHere(line.column, n)
		}
		if line.opens {
			r.closeRepeat()
			r.from, r.starts = len(r.bars), true
		}
		cell = ending
		bars++
	}
	if times > 0 && !closedHere {
		r.againFrom(start, times)
	}
}

// againFrom plays the bars since one as often in all.
func (r *reader) againFrom(start, times int) {
	to := len(r.bars)
	r.part.counted = true
	if start == r.part.from {
		r.part.first = to
	}
	if start > r.block && times > 1 {
		r.doubt("line %d: its bars are played %d times, those before it once", r.number, times)
	}
	for range times - 1 {
		if !r.again(start, to) {
			return
		}
	}
	r.starts = true
}

// cell reads what stands between two bar lines.
func (r *reader) cell(list []token) {
	if t := list[0]; t.kind == aNumber {
		n := len(figuresIn.FindAllString(t.text, -1))
		switch {
		case r.repeats && (t.n > 1 && r.closed || t.n == 1 && len(r.bars) > r.from && !r.closed):
			r.openEnding(n)
			list = list[1:]
		case n == 1 && (t.n == len(r.bars)+1 || len(list) == 1):
			list = list[1:]
		}
	}
	for len(list) > 0 && list[0].kind == aMeter {
		m, _ := harmony.ParseMeter(strings.Trim(list[0].text, "(): "))
		r.setMeter(m)
		list = list[1:]
	}
	if len(list) == 1 && list[0].kind == aCount && len(r.bars) > r.part.from {
		r.doubt("line %d: the part so far is played %d times", r.number, list[0].n)
		r.againFrom(r.part.from, list[0].n)
		return
	}
	if list = r.labelled(list); len(list) == 0 {
		return
	}
	list = r.unremarked(list)
	times, counted := 1, false
	for len(list) > 0 && list[0].kind == aJump {
		r.mark(list[0].text)
		list = list[1:]
	}
	var jumps []token
	list = slices.DeleteFunc(list, func(t token) bool {
		switch t.kind {
		case aCount, aLength:
			times, counted = t.n, t.kind == aCount
		case aJump:
			jumps = append(jumps, t)
		default:
			return false
		}
		return true
	})
	for range min(times, tune.MaxBars) {
		if len(list) > 0 {
			r.bar(list)
		}
	}
	if times > 1 && counted {
		r.doubt("line %d: a bar is played %d times", r.number, times)
	}
	for _, t := range jumps {
		r.mark(t.text)
	}
}

// labelled takes a cell, or the start of one, that names a section, as in a table.
func (r *reader) labelled(list []token) []token {
	var text string
	for _, t := range list {
		if t.kind != aWord && t.kind != aNumber && (t.kind != aJump || len(list) > 1) && (t.kind != aRemark || text != "") {
			return list
		}
		text += strings.Repeat(" ", min(t.gap, 1)) + t.text
	}
	name := strings.Trim(strings.TrimSpace(text), "*_:[]()")
	if sectionNamed.MatchString(name) && !strings.EqualFold(name, "coda") && !(r.tabled && rowOfNames.MatchString(name+";")) {
		r.section(name, 0)
		return nil
	}
	return list
}

// empty takes a bar in which nothing is written.
func (r *reader) empty() {
	if len(r.bars) == 0 {
		return
	}
	r.bar([]token{{kind: aHold, text: ".", n: 1}})
	r.doubt("nothing is written in the bar: the chord before it sounds on")
}

// unremarked drops what says how to play, not what, and tells so; a word that a chord
// could be is a fault.
func (r *reader) unremarked(list []token) []token {
	var said []string
	out := slices.DeleteFunc(slices.Clone(list), func(t token) bool {
		switch {
		case t.kind == aWord && (nearlyChord(t.text) || len(list) == 1 && !remarkAlone.MatchString(t.text) || !hasLetter.MatchString(t.text) && t.text[0] < utf8.RuneSelf):
			r.fault(t.column, fmt.Sprintf("%q", clipped(t.text)), r.wants(t))
		case t.kind == aWord && joining[strings.ToLower(strings.Trim(t.text, ":.,"))]:
		case t.kind == aRemark && !hasName(t.text) && r.feel(strings.Trim(t.text, "()")):
			r.leave("line %d: %s is taken as how to play", r.number, clipped(t.text))
		case t.kind == aWord, t.kind == aRemark, t.kind == aNumber:
			said = append(said, t.text)
		default:
			return false
		}
		return true
	})
	if text := strings.Join(said, " "); figuresIn.MatchString(text) && (timesSaid.MatchString(text) || rangeIn.MatchString(text) || !plainLetters.MatchString(text)) {
		r.doubt("line %d: %s is left out", r.number, clipped(text))
	} else if text != "" {
		r.leave("line %d: %s is left out", r.number, clipped(text))
	}
	return r.unbracketed(out)
}

// unbracketed drops brackets around chords. Those in parentheses are marked.
func (r *reader) unbracketed(list []token) []token {
	open := false
	told := false
	for i := range list {
		switch t := &list[i]; {
		case t.kind == anOpening && t.text == "(":
			open = true
		case t.kind == aClosing:
			open = false
		case t.kind == anOpening && !told && !strings.HasPrefix(t.text, "[|"):
			told = true
			r.doubt("line %d: brackets around chords are left out", r.number)
		case t.kind == aChord && open:
			t.opens = true
		}
	}
	return slices.DeleteFunc(list, func(t token) bool { return t.kind == anOpening || t.kind == aClosing })
}

var (
	rangeIn      = regexp.MustCompile(`\d\s?-\s?\d`)
	plainLetters = regexp.MustCompile(`(?i)\bor\b|\p{L}{3}`)
	hasLetter    = regexp.MustCompile(`\p{L}|\d`)
	// joining are words that only join what stands before and behind them.
	joining = map[string]bool{"then": true, "and": true, "und": true, "dann": true, "et": true, "puis": true, "y": true, "luego": true}
)

// wants says what would do in the place of a word that is no chord.
func (r *reader) wants(t token) string {
	_, err := harmony.ParseChord(r.roots.fix(t.text))
	var e harmony.Fault
	switch m := small.FindStringSubmatch(t.text); {
	case m != nil && capitalReads(t.text):
		return fmt.Sprintf("%s, or %sm%s: some roots here are in small letters and some are marked as minor", capital(t.text), capital(m[1])+m[2], m[3])
	case errors.As(err, &e) && e.Column > 1:
		return fmt.Sprintf("a chord symbol: in column %d write %s", t.column+e.Column-1, e.Want)
	}
	return wantChord
}

// bar reads the tokens of one bar: chords, holds and similes.
func (r *reader) bar(list []token) {
	if len(r.bars) >= tune.MaxBars {
		if len(r.bars) == tune.MaxBars {
			r.fault(list[0].column, "more bars than fit", fmt.Sprintf("at most %d bars", tune.MaxBars))
			r.bars = append(r.bars, bar{})
		}
		return
	}
	if r.endings && r.closed {
		r.closeRepeat()
	}
	if len(list) > 2 && hasChord(list) {
		list = slices.DeleteFunc(slices.Clone(list), func(t token) bool { return t.kind == aParting })
		if evenly.MatchString(kinds(list)) && len(list)%2 == 1 && !(r.dashes && beatsOf(list) == r.meter.Beats()) {
			list = slices.DeleteFunc(list, func(t token) bool { return t.kind == aHold })
		}
	}
	if list = r.written(list); len(list) == 0 {
		return
	}
	if len(list) == 1 && list[0].kind == aSimile {
		r.simile(list[0])
		return
	}
	b := bar{}
	at, held := 0, false
	parenthesised := false
	for i, t := range list {
		switch t.kind {
		case aHold:
			if i == 0 && len(r.bars) == 0 {
				r.fault(t.column, fmt.Sprintf("%q with no chord before it", t.text), wantChord)
			}
			at, held = at+t.n, true
		case aChord:
			b.Chords = append(b.Chords, transcribe.Chord{At: float64(at), Chord: t.chord})
			parenthesised = parenthesised || t.opens
			r.used++
			at++
		case aSimile:
			r.fault(t.column, fmt.Sprintf("%q beside chords", t.text), wantChord)
			at++
		}
	}
	if at == 0 {
		return
	}
	n, beats := len(b.Chords), r.meter.Beats()
	// Chords that cannot share the beats evenly take whole ones, the first a beat more.
	whole := n == at && n < beats && beats%n != 0
	for i := range b.Chords {
		if whole {
			b.Chords[i].At = float64(i*(beats/n) + min(i, beats%n))
		} else {
			b.Chords[i].At *= float64(beats) / float64(at)
		}
	}
	r.push(b)
	if parenthesised {
		r.doubt("chords in parentheses are played")
	}
	switch {
	case whole:
		r.doubt("%d chords share %d beats: the first sounds longer", n, beats)
	case n > 1 && (at < beats && beats%at != 0 || at > beats && at != r.meter.Upper):
		r.doubt("%d words share %d beats evenly", at, beats)
	case n < 2 || held:
	case beats%n != 0:
		r.doubt("%d chords share %d beats evenly", n, beats)
	case n >= 4:
		r.full = append(r.full, told(len(r.bars), true, "%d chords stand in one bar", n))
	}
}

// simile plays the bar before again, the two before, or the one above.
func (r *reader) simile(t token) {
	k := len(r.bars)
	if k < t.n {
		r.fault(t.column, fmt.Sprintf("%q before there is a bar to play again", t.text), wantChord)
		return
	}
	from, ditto := k-t.n, strings.Trim(t.text, `"'`) == ""
	if i := len(r.row); ditto && i < len(r.above) {
		from = r.above[i]
	}
	for i := range t.n {
		r.push(bar{Bar: transcribe.Bar{Chords: slices.Clone(r.bars[from+i].Chords)}})
	}
	if ditto {
		r.doubt("%s is read as the bar above it", t.text)
	}
}

func hasChord(list []token) bool {
	return slices.ContainsFunc(list, func(t token) bool { return t.kind == aChord })
}

func beatsOf(list []token) (n int) {
	for _, t := range list {
		n += max(t.n, 1)
	}
	return n
}

// push adds a bar to those that have been read.
func (r *reader) push(b bar) {
	b.Starts, b.Section = r.starts, r.name
	if r.meter != r.score.Meter {
		b.Meter = r.meter
	}
	r.starts, r.name = false, ""
	r.row = append(r.row, len(r.bars))
	r.bars = append(r.bars, b)
}

// unnumbered drops the number of a bar at the start of a line.
func (r *reader) unnumbered(list []token) []token {
	i := 0
	if len(list) > 1 && list[0].kind == aWord && barWord.MatchString(list[0].text) {
		i = 1
	}
	if len(list) <= i+1 || list[i].kind != aNumber || r.repeats && i == 0 && r.isEnding(list[i].n, list) {
		return list
	}
	n, last := list[i].n, list[i].n
	if m := figuresIn.FindAllString(list[i].text, -1); len(m) > 1 {
		last, _ = strconv.Atoi(m[1])
	}
	chord := slices.IndexFunc(list, func(t token) bool { return t.kind == aChord })
	if chord > 0 && last > n && last-n < 64 && !slices.ContainsFunc(list[chord+1:], func(t token) bool {
		return !slices.Contains([]kind{aBarLine, anOpening, aClosing, aRemark, aWord}, t.kind) || t.kind == aWord && nearlyChord(t.text)
	}) {
		list = slices.Insert(slices.Clone(list), chord+1, token{kind: aLength, gap: 1, n: last - n + 1})
	}
	if n != len(r.bars)+1 && !r.counted {
		r.doubt("line %d begins with %d, which is not the number of its first bar, %d", r.number, n, len(r.bars)+1)
	}
	if list = list[i+1:]; len(list) > 1 && list[0].kind == aParting {
		list = list[1:]
	}
	return list
}

var barWord = regexp.MustCompile(`(?i)^(?:bars?|mm?\.?|measures?|takte?|mesures?|compas(?:es)?)\.?$`)

// isEnding reports whether a number is that of an ending: a 1 before a repeat's end,
// or the next one after it.
func (r *reader) isEnding(n int, list []token) bool {
	closes := slices.ContainsFunc(list, func(t token) bool { return t.closes && t.kind == aBarLine })
	return r.endings && r.closed || n == 1 && len(r.bars) > r.from && closes
}
