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
// another or SetMeter gives one. All faults are reported in one go; the score is nil
// if there is any. What was in doubt stands in its Told.
func Read(text string) (*transcribe.Score, tune.Faults) {
	if f, not := tune.NotText(text); not {
		return nil, tune.Faults{f}
	}
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(strings.TrimPrefix(text, "\ufeff"))
	r := reader{meter: tune.Meter{Upper: 4, Lower: 4}, starts: true, times: 1, part: part{times: 1}}
	r.score.Meter = r.meter
	lines := strings.Split(text, "\n")
	typed := make([][]rune, len(lines))
	for i, line := range lines {
		typed[i] = []rune(line)
		lines[i] = unlisted(signs.Replace(line))
		r.barred = r.barred || strings.HasPrefix(strings.TrimSpace(lines[i]), "|")
		r.repeats = r.repeats || strings.Contains(lines[i], ":|")
	}
	r.roots, r.letters, r.before = rootsOf(lines), lettersOf(lines), lettersBefore(lines)
	r.counted, r.guessed = countedLines(lines)
	r.dashes = slices.ContainsFunc(lines, dashBeats.MatchString)
	for i, line := range lines {
		r.number, r.typed = i+1, typed[i]
		if !utf8.ValidString(line) {
			r.fault(utf8.RuneCountInString(line[:strings.IndexRune(line, utf8.RuneError)])+1, "a byte that is no UTF-8", "a text in UTF-8")
			continue
		}
		r.line(line)
	}
	r.closePart()
	r.jump()
	r.order()
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
	for _, b := range r.bars {
		r.score.Bars = append(r.score.Bars, b.Bar)
	}
	r.score.Told = r.told
	return &r.score, nil
}

var (
	bullet   = regexp.MustCompile(`^\s*[*•·-] +`)
	bulleted = regexp.MustCompile(`^\s*(?:[*•·] +[\p{L}\[|].*[^*\s]|- +\p{L}(?:[^-]|\S-)*)\s*$`)
)

// unlisted blanks the sign that a line of a list begins with.
func unlisted(line string) string {
	if !bulleted.MatchString(line) {
		return line
	}
	n := bullet.FindStringIndex(line)[1]
	return strings.Repeat(" ", utf8.RuneCountInString(line[:n])) + line[n:]
}

// signs puts signs that look or mean alike into one, each for one of the same width.
var signs = strings.NewReplacer("\u00a0", " ", "\t", " ", "–", "-", "—", "-", "│", "|", "¦", "|", "｜", "|", "‖", "|",
	"→", ">", "𝄎", "%", "𝄀", "|", "𝄁", "|", "×", "x")

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
}

type reader struct {
	score  transcribe.Score
	bars   []bar
	faults tune.Faults
	told   []transcribe.Loss
	// number is that of the line, typed what stands on it, tabs and all; columns are
	// where the groups of the last line with wide gaps begin.
	number  int
	typed   []rune
	columns []int
	// barred and repeats say whether lines of the chart begin with a bar line, and
	// whether bars are repeated.
	barred, repeats bool
	// counted is set where the lines are numbered, a bar each, dashes where dashes are
	// beats somewhere.
	counted, dashes bool
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
	repeat
	marks
	times int
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

var rule = regexp.MustCompile(`^[-=_*~+. ]{3,}$`)

func (r *reader) line(line string) {
	line = r.eachTimes(r.withoutRemark(r.eachBars(spelled(r.unbracketed(r.uncommented(line))))))
	line = thenFirst.ReplaceAllStringFunc(strings.TrimRight(line, " "), func(found string) string { return strings.Repeat(" ", len(found)) })
	text := strings.TrimSpace(line)
	switch {
	case text == "":
		if len(r.bars) > r.part.from {
			r.starts = true
		}
	case rule.MatchString(text) && !strings.Contains(text, "."):
	case r.formLine(text):
	case r.header(text):
	case r.sectionLine(line):
	case r.timesAlone(text):
	case r.jumpLine(text):
	case r.likeAnother(text):
	case strings.Contains(line, "|"):
		r.barredLine(line)
	case r.wordsAlone(text):
	default:
		r.bareLine(line)
	}
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

var (
	inParentheses = regexp.MustCompile(`\(([^()]+)\)`)
	timesAndMore  = regexp.MustCompile(`(?i)\(((?:repeat )?(?:x ?\d{1,2}|\d{1,2} ?x|\d{1,2} times|twice))([,;:][^()]*)\)`)
	inBrackets    = regexp.MustCompile(`[\[{]([^\[\]{}]+)[\]}](\s*(?:x\s?\d{1,2}|\d{1,2}\s?x)\b)?`)
	thenFirst     = regexp.MustCompile(`(?i)^\s*(?:and )?then[,:]? +`)
)

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
		if len(fields) < 2 || !plainWord.MatchString(text) || played.MatchString(text) || slices.ContainsFunc(fields, r.like) {
			return found
		}
		r.leave("line %d: %s is left out", r.number, clipped(found))
		return strings.Repeat(" ", utf8.RuneCountInString(found))
	})
}

// wordsAlone takes a line without chords: the title where nothing has come yet,
// else words to sing or a remark, which a chart of chords does not hold.
func (r *reader) wordsAlone(text string) bool {
	fields := strings.Fields(text)
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
	case r.first() && len(fields) > 0 && (chords == 0 || chords*2 <= len(fields) && plainWord.MatchString(text) && !figure.MatchString(text)):
		r.title(text)
		return true
	case chords*4 > len(fields):
		return false
	case chords == 0 && len(r.bars) == 0 && byLine.MatchString(text):
	case chords == 0 && len(r.bars) > 0 && remarkAlone.MatchString(text):
	case len(fields) < 3 && (r.lyrics == 0 || chords > 0):
		return false
	}
	if r.lyrics++; r.lyrics == 1 {
		r.leave("line %d holds no chords and is left out, as are others like it", r.number)
	}
	return true
}

var (
	plainWord   = regexp.MustCompile(`(?:^|\s)\p{L}?[\p{Ll}]{3,}(?:\s|$)`)
	figure      = regexp.MustCompile(`\d`)
	byLine      = regexp.MustCompile(`(?i)^\(?(?:by|for|from) \p{L}`)
	formLetters = regexp.MustCompile(`^(?i:(play|form|order|the form is) )?\(?([A-E]{2,12})\)?\.?$`)
	// remarkAlone is a word or two that no mistyped chord looks like.
	remarkAlone = regexp.MustCompile(`^[\p{Ll} ]*[\p{Ll}]{4,}[\p{Ll} ]*[.:,]?$`)
)

// first reports whether nothing of the chart has come yet.
func (r *reader) first() bool {
	return len(r.bars) == 0 && r.score.Title == "" && len(r.parts) == 0 && r.part.name == ""
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
	if text == "" {
		return false
	}
	if text == "." || text == "/" || similes.MatchString(text) || similes2.MatchString(text) || nothing.MatchString(text) {
		return true
	}
	return mistyped.MatchString(text) || slices.ContainsFunc(r.apart(word{text: text}), func(w word) bool { return r.reads(w.text) })
}

var mistyped = regexp.MustCompile(`^[A-Ga-gHh][#b♯♭]?(m|M|maj|min|-|\+|°|ø|Δ|\^)?\d`)

func (r *reader) reads(word string) bool {
	_, err := harmony.ParseChord(r.roots.fix(word))
	return err == nil && word != ""
}
