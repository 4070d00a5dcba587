// Package chart reads chord charts as people type them: with bar lines or without,
// with marks of sections and repeats, title, key, tempo and meter, comments, and
// the small signs that each writes in a way of their own. What it had to choose it
// tells as a doubt; what it cannot read is a fault. It is pure.
package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Read reads a typed chart. A line with bar lines has the chords of each bar between
// them, sharing it evenly, where . or / holds; a line without any has a chord a bar,
// or where / stands for a beat, a word a beat. The meter is 4/4 until the chart names
// another. All faults are reported in one go; the score is nil
// if there is any. What was in doubt stands in its Told.
func Read(text string) (*transcribe.Score, tune.Faults) { return ReadWith(Known{}, text) }

// longestLine bounds a line, in bytes: what it may mean is tried in many ways.
const longestLine = 4000

// Known is what is known of a chart beforehand; what is nil is left to the chart.
// The key comes before one that the chart names, the meter behind.
type Known struct {
	Key   *harmony.Key
	Meter *tune.Meter
}

// ReadWith is Read of a chart of which something is known.
func ReadWith(k Known, text string) (*transcribe.Score, tune.Faults) {
	if f, not := tune.NotText(text); not {
		return nil, tune.Faults{f}
	}
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(strings.TrimPrefix(text, "\ufeff"))
	r := reader{meter: tune.Meter{Upper: 4, Lower: 4}, starts: true, part: part{times: 1}}
	if k.Meter != nil {
		r.meter = *k.Meter
	}
	r.score.Meter = r.meter
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		if r.number = i + 1; len(line) > longestLine {
			r.fault(longestLine, "a line that goes on", fmt.Sprintf("lines of at most %d characters", longestLine))
			return nil, r.faults
		}
		lines[i] = cleaned(line)
	}
	r.oddBars(lines)
	r.told = append(r.told, fromSung(lines)...)
	r.roots = rootsOf(lines)
	if d, told := degreesOf(lines, k.Key); d != nil {
		r.roots, r.told = roots{degrees: d}, append(r.told, told...)
		if r.number = 1; d.key == nil {
			r.fault(1, "degrees for chords, and no key that they are counted in", "a line such as Key: Bb")
			return nil, r.faults
		}
	}
	r.survey(lines)
	for i, line := range lines {
		r.number = i + 1
		if !utf8.ValidString(line) {
			r.fault(utf8.RuneCountInString(line[:strings.IndexRune(line, utf8.RuneError)])+1, "a byte that is no UTF-8", "a text in UTF-8")
			continue
		}
		if struck.MatchString(line) {
			line = struck.ReplaceAllStringFunc(line, blanks)
			r.doubt("line %d: what is struck through is left out", r.number)
		}
		for _, part := range r.innerMarks(r.formSaid(line)) {
			r.accounted(part)
		}
	}
	r.closePart()
	r.jump()
	r.order()
	return r.finished(k)
}

// finished makes the score of what was read.
func (r *reader) finished(k Known) (*transcribe.Score, tune.Faults) {
	r.told = append(r.roots.told, r.told...)
	if r.score.Swing == (tune.Ratio{}) {
		r.told = append(r.told, transcribe.Loss{What: "nothing says how it swings: eighths are straight", Kind: transcribe.Swing})
	}
	if m := r.score.Meter; r.uncertain && m.Lower == 8 && m.Upper%3 == 0 {
		r.told = append(r.told, told(0, true, "the tempo does not say what it counts: it is taken in quarter notes"))
	}
	if len(r.faults) == 0 && len(r.bars) == 0 {
		r.number = 1
		r.fault(1, "no chords", "chord symbols, such as | Dm7 | G7 | Cmaj7 | % |")
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	if k.Meter != nil && *k.Meter != r.score.Meter {
		r.told = append(r.told, told(0, false, "the chart names its meter, %s, which stands", r.score.Meter))
	}
	if d := r.roots.degrees; d != nil {
		r.score.Key = d.key
	} else if k.Key != nil {
		r.score.Key = k.Key
	}
	r.unusual()
	for _, b := range r.bars {
		r.score.Bars = append(r.score.Bars, b.Bar)
	}
	r.score.Told = r.told
	return &r.score, nil
}

var (
	quoted   = regexp.MustCompile(`^\s*(?:>\s?)+`)
	bullet   = regexp.MustCompile(`^\s*(?:[*•·-] +|[a-h]\) +)`)
	bulleted = regexp.MustCompile(`^\s*(?:[a-h]\) +\S.*|[*•·] +[\p{L}\[|].*[^*\s]|- +[\p{L}|](?:[^-]|\S-)*)\s*$`)
	tags     = regexp.MustCompile("`|</?[a-z]{1,6} ?/?>|\\[/?(?:b|i|code|quote|pre)\\]")
	// clock is the time at which a line comes in a recording, or was sent and by whom.
	clock = regexp.MustCompile(`(?i)^\s*(?:\[\d[\d/.,: apm-]*\d(?: ?[ap]m)?\] (?:- )?\p{L}[\p{L} ]{0,20}: |\d{1,2}[/.]\d{1,2}[/.]\d{2,4},? \d{1,2}:\d\d(?: ?[ap]m)? - \p{L}[\p{L} ]{0,20}: |\[?\(?\d{1,2}:\d\d(?::\d\d)?(?: ?[ap]m)?[\])]?(?:\s+-\s\p{L}[\p{L} ]{0,20}: |(?:\s+-)?\s+))`)
	// emphasized is a text between stars, emphasis a line that is nothing else.
	emphasized = regexp.MustCompile(`\*{1,3}([^*\s|][^*|]*)\*{1,3}|__([^_|]+)__`)
	emphasis   = regexp.MustCompile(`^\s*\*+([^*]+)\*+\s*$`)
	struck     = regexp.MustCompile(`~~[^~]+~~`)
	// inWhole is a line in parentheses that names something and its value.
	inWhole = regexp.MustCompile(`^(\s*)\(([^()|]*\w:\s[^()]*)\)\s*$`)
	signs   = strings.NewReplacer("\u00a0", " ", "\u200b", "", "–", "-", "—", " - ", "│", "|", "¦", "|", "｜", "|", "‖", "|", "┃", "|", "∣", "|",
		"→", ">", "➔", ">", "| 𝄆", "|:", "𝄆", "|:", "𝄇 |", ":||", "𝄇", ":|", "𝄎", "%", "𝄀", "|", "𝄁", "|", "×", "x", "“", "\"", "”", "\"", "„", "\"", "«", "\"", "»", "\"",
		"’", "'", "−", "-", "‑", "-", "♭", "b", "♯", "#", "·", ".", "𝄐", "")
)

// cleaned puts signs that look or mean alike into one, and blanks what is no part of a
// line: signs of quoting, of a list, and the time of day.
func cleaned(line string) string {
	line = quoted.ReplaceAllStringFunc(signs.Replace(line), blanks)
	line = tags.ReplaceAllStringFunc(line, blanks)
	if m := emphasis.FindStringSubmatch(line); m == nil || !sectionAlone.MatchString(m[1]) {
		line = emphasized.ReplaceAllString(line, "  $1$2  ")
	}
	if bulleted.MatchString(line) {
		line = bullet.ReplaceAllStringFunc(line, blanks)
	}
	return clock.ReplaceAllStringFunc(inWhole.ReplaceAllString(line, "$1 $2 "), blanks)
}

func blanks(text string) string { return strings.Repeat(" ", utf8.RuneCountInString(text)) }

var (
	oddBar   = regexp.MustCompile(`(^|\s|:)[Il!](\s|:|$)`)
	numerals = regexp.MustCompile(`(?:^|\s)(?:II|III|IV|VI?|ii|iii|iv|vi?)7?(?:\s|$)`)
)

// oddBars reads a capital I, a small l or an exclamation mark that stands alone between
// chords, twice or more on each of their lines, as a bar line.
func (r *reader) oddBars(lines []string) {
	for i, line := range lines {
		if odd := len(oddBar.FindAllString(line, -1)); odd == 0 || odd < 2 && !strings.Contains(line, "|") || numerals.MatchString(line) {
			continue
		}
		barred := oddBar.ReplaceAllString(oddBar.ReplaceAllString(line, "$1|$2"), "$1|$2")
		if chordsOnly(strings.NewReplacer("|", " ", ":", " ").Replace(barred)) {
			lines[i] = barred
			r.number = i + 1
			r.doubt("line %d: the signs between the chords are read as bar lines", r.number)
		}
	}
}

// bar is a bar as typed, with what decides when it is played.
type bar struct {
	transcribe.Bar
	// once is set where a repeat plays the bar, or its like, again later.
	once bool
}

// part is what stands between two marks of sections.
type part struct {
	name  string
	from  int
	times int
	// said is set where the mark says how often, like names the part it is played as.
	said bool
	like string
	line int
	// length is how many bars it is said to have, 0 where nothing is said.
	length int
}

type reader struct {
	score  transcribe.Score
	bars   []bar
	faults tune.Faults
	told   []transcribe.Loss
	// number is that of the line; columns are where the groups of the last line with
	// wide gaps begin.
	number  int
	columns []int
	// starting are the columns of all words of the last line without bar lines.
	starting []int
	// startsBarred and repeats say whether lines of the chart begin with a bar line, and
	// whether bars are repeated.
	startsBarred, repeats bool
	// tabled is set where the bars stand in a table whose first row has no chords.
	tabled bool
	// counted is set where the lines are numbered, a bar each, dashes where dashes are
	// beats somewhere.
	counted, dashes bool
	// lineBars is set where each line is a bar.
	lineBars bool
	// guessed is set where such numbers could be those of lines, uncertain where the
	// tempo does not say which note it counts.
	guessed, uncertain bool
	roots              roots
	// letters are the capitals that are marks of sections where they stand alone.
	letters []string
	// before are those that are where they stand before the first bar line.
	before []string
	meter  tune.Meter
	// starts is set where the next bar starts a section, name then being its name.
	starts bool
	name   string
	part   part
	parts  []span
	form   []string
	// words is how many lines were taken as words.
	lyrics int
	// taken counts the lines that were read as something else than bars.
	taken int
	// perBar is how many chords each bar without bar lines has, barsEach how many bars
	// each chord, 0 where nothing says.
	perBar, barsEach int
	// above are the bars of the line before, row those of this one.
	above, row []int
	// perLine is how many chords stand on the last line that had no bar lines, and unequal
	// is set where those of a part differ.
	perLine int
	// singles counts the last lines that held one chord each.
	singles int
	// odd where some line has an odd number.
	unequal, odd bool
	// used counts the chords that stand in bars.
	used int
	repeat
	marks
}

// span is a part that has been read: its bars in playing order.
type span struct {
	name     string
	from, to int
	// once is where its first time ends.
	once int
}

func (r *reader) fault(column int, found, want string) {
	r.faults = append(r.faults, tune.Fault{Line: r.number, Column: column, Found: found, Want: want})
}

// doubt tells what was chosen where the chart can be meant in another way.
func (r *reader) doubt(format string, args ...any) {
	r.told = append(r.told, transcribe.Loss{Bar: len(r.bars), What: fmt.Sprintf(format, args...), Doubt: true})
}

// leave tells what is left out of the tune.
func (r *reader) leave(format string, args ...any) {
	r.told = append(r.told, transcribe.Loss{What: fmt.Sprintf(format, args...)})
}

// accounted reads a line, and tells where nothing came of it.
func (r *reader) accounted(line string) {
	if len(r.row) > 0 {
		r.above, r.row = r.row, nil
	}
	state := func() string { return fmt.Sprint(len(r.bars), r.taken, r.repeat, r.marks, len(r.told), len(r.faults)) }
	before := state()
	r.line(line)
	text := strings.TrimSpace(line)
	if comment := strings.HasPrefix(text, "#") || strings.HasPrefix(text, "//"); text != "" && !comment && state() == before {
		r.leave("line %d is left out", r.number)
	}
}

var (
	rule = regexp.MustCompile("^(?:[-=_*~+. ]{3,}|`+\\w*)$")
	// tableRule is the rule below the first row of a table.
	tableRule = regexp.MustCompile(`^\|?(?:\s*(?::-+:?|-+:|[-=]{2,})\s*(?:\||$))+$`)
	// starred is a remark that a star in a bar points to.
	starred    = regexp.MustCompile(`^\s*(?:\*|†|\d?\^)\)?\s*[\p{Ll}]`)
	pointed    = regexp.MustCompile(`\s(?:<-+|<=+|←)(\s+[^>].*|[^->=\s].*)$`)
	fromTop    = regexp.MustCompile(`(?i)^\W*(?:repeat|(?:go )?back|again|play again)(?: (?:from|to))?(?: the)? (?:top|beginning|start)\b[^|]*$`)
	plainWord  = regexp.MustCompile(`(?:^|\s)\p{L}?[\p{Ll}]{3,}(?:\s|$)`)
	thenFirst  = regexp.MustCompile(`(?i)^\s*(?:and )?then[,:]? +`)
	timesFirst = regexp.MustCompile(`(?i)^(\s*)(\(?(?:x\s?\d{1,2}|\d{1,2}\s?x)\)?:?)(\s+\S.*)$`)
	valued     = regexp.MustCompile(`^\p{L}[\p{L} -]{1,20}:\s+\S`)
	// nearChord is a word that a mistyped chord could be, wordAlone one that none could.
	nearChord   = regexp.MustCompile(`^(?:[A-GH][#b]?(?:[mM][aijn]{0,3}|d[im]{1,2}|s[us]{1,2}|a[ug]{1,2}|[-+]+)?|[a-gh][#b]?m?|[A-Ga-gHh][#b]?(?:m|M|maj|min|-|\+|°|ø|Δ|\^)?\d\S*|[A-G][#b]?m{0,2}[/(]\S*)$`)
	remarkAlone = regexp.MustCompile(`^\p{L}*\p{Ll}{3,}\p{L}*[.:,!]*$`)
	formLetters = regexp.MustCompile(`^(?i:(play|form|order|the form is) )?\(?([A-E]{2,12})\)?\.?$`)
)

// line reads a line, mark of a section or not.
func (r *reader) line(line string) {
	line = thenFirst.ReplaceAllStringFunc(strings.TrimRight(r.uncommented(line), " \t"), blanks)
	if m := pointed.FindStringSubmatchIndex(line); m != nil && (plainWord.MatchString(line[m[2]:]) || timesSaid.MatchString(line[m[2]:])) {
		line = line[:m[0]] + " " + timesSaid.FindString(line[m[2]:])
	}
	if m := timesFirst.FindStringSubmatch(line); m != nil && r.chordal(strings.TrimSpace(m[3])) {
		line = m[1] + blanks(m[2]) + m[3] + " " + strings.Trim(m[2], ":")
	}
	if fromTop.MatchString(line) {
		line = "D.C."
	}
	line = r.saidLast(r.saidFirst(line))
	text := strings.TrimSpace(line)
	switch {
	case text == "":
		if len(r.bars) > r.part.from {
			r.starts = true
		}
	case rule.MatchString(text) && !strings.Contains(text, "."), tableRule.MatchString(text),
		r.formLine(text), r.header(text), r.heading(line), r.likeAnother(text):
		r.taken++
	default:
		r.content(line)
	}
}

// content reads a line that is no header and no mark of a section.
func (r *reader) content(line string) {
	list := r.expanded(r.lex(strings.ReplaceAll(line, "\t", "\t"), 1))
	chords, near, words, bars, held, counts, inBrackets := 0, 0, 0, 0, 0, 0, 0
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
		case t.kind == aHold, t.kind == aSimile:
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
	case bars == 0 && (chords+near == 0 || words > 0 && words >= chords+near && !startsWithChords(list)), len(r.bars) > 0 && starred.MatchString(line) && words > 0:
		r.says(text, chords, held)
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
	switch {
	case r.first() && hasLetters.MatchString(text):
		r.title(text)
	case chords > 1, instead.MatchString(text) && len(r.bars) > 0:
		r.doubt("line %d: %s is left out", r.number, clipped(text))
	case chords == 0 && nearWords(text) && len(r.bars) > 0:
		r.fault(1, fmt.Sprintf("%q", clipped(text)), wantChord)
	case chords == 1, !strings.Contains(text, " "), strings.HasPrefix(text, "("), valued.MatchString(text), held > 0:
		r.leave("line %d: %s is left out", r.number, clipped(text))
	default:
		if r.lyrics++; r.lyrics == 1 {
			r.leave("line %d holds no chords and is left out, as are others like it", r.number)
		}
	}
}

// instead are words that say that something else could be played.
var instead = regexp.MustCompile(`(?i)\b(?:instead|rather|alternative|alternatively|optional|option|substitute)\b`)

// nearWords reports whether a text is words that could be nothing but mistyped chords.
func nearWords(text string) bool {
	return !slices.ContainsFunc(strings.Fields(text), func(w string) bool { return !nearlyChord(w) })
}

// nearlyChord reports whether a word could be a mistyped chord.
func nearlyChord(word string) bool { return nearChord.MatchString(word) && !english.MatchString(word) }

// english are words that look like mistyped chords.
var english = regexp.MustCompile(`^(?i:end|ending|good?|do|add|bad|dad|dig|din|god|and|amid|among|hm+)$`)

var capitalized = regexp.MustCompile(`^ \p{Lu}\S*(?: \p{Lu}\S*)*\s*$`)

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
