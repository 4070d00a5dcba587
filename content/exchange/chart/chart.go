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
	r := reader{meter: tune.Meter{Upper: 4, Lower: 4}, starts: true, times: 1, part: part{times: 1}}
	if k.Meter != nil {
		r.meter = *k.Meter
	}
	r.score.Meter = r.meter
	lines := strings.Split(text, "\n")
	typed := make([][]rune, len(lines))
	for i, line := range lines {
		if len(line) > longestLine {
			r.number = i + 1
			r.fault(longestLine, "a line that goes on", fmt.Sprintf("lines of at most %d characters", longestLine))
			return nil, r.faults
		}
		typed[i] = []rune(line)
		lines[i] = unlisted(unquoted(signs.Replace(line)))
		r.barred = r.barred || strings.HasPrefix(strings.TrimSpace(lines[i]), "|")
		r.repeats = r.repeats || strings.Contains(lines[i], ":|")
	}
	r.roots, r.letters, r.before = rootsOf(lines), lettersOf(lines), lettersBefore(lines)
	if d, told := degreesOf(lines, k.Key); d != nil {
		r.roots, r.told = roots{degrees: d}, told
		if r.number = 1; d.key == nil {
			r.fault(1, "degrees for chords, and no key that they are counted in", "a line such as Key: Bb")
			return nil, r.faults
		}
	}
	r.counted, r.guessed = countedLines(lines)
	r.lineBars = barsOnLines(lines)
	for _, line := range lines {
		if m := perBar.FindStringSubmatch(line); m != nil && r.perBar == 0 {
			number := strings.NewReplacer("one", "1", "two", "2", "three", "3", "four", "4").Replace(strings.ToLower(m[1]))
			r.perBar = 1 + strings.Index("1234", number)
		}
	}
	r.dashes = slices.ContainsFunc(lines, dashBeats.MatchString)
	for i, line := range lines {
		r.number, r.typed = i+1, typed[i]
		if !utf8.ValidString(line) {
			r.fault(utf8.RuneCountInString(line[:strings.IndexRune(line, utf8.RuneError)])+1, "a byte that is no UTF-8", "a text in UTF-8")
			continue
		}
		r.accounted(line)
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

var quoted = regexp.MustCompile(`^\s*(?:>\s?)+`)

// unquoted blanks the signs before a line that an answer quotes.
func unquoted(line string) string {
	return quoted.ReplaceAllStringFunc(line, blanks)
}

func blanks(text string) string { return strings.Repeat(" ", utf8.RuneCountInString(text)) }

// signs puts signs that look or mean alike into one.
var signs = strings.NewReplacer("\u00a0", " ", "\t", " ", "–", "-", "—", " - ", "│", "|", "¦", "|", "｜", "|", "‖", "|",
	"→", ">", "| 𝄆", "|:", "𝄆", "|:", "𝄇 |", ":||", "𝄇", ":|", "𝄎", "%", "𝄀", "|", "𝄁", "|", "×", "x")

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
	// number is that of the line, typed what stands on it, tabs and all; columns are
	// where the groups of the last line with wide gaps begin.
	number  int
	typed   []rune
	columns []int
	// starting are the columns of all words of the last line without bar lines.
	starting []int
	// barred and repeats say whether lines of the chart begin with a bar line, and
	// whether bars are repeated.
	barred, repeats bool
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
	// perBar is how many chords each bar without bar lines has, 0 where nothing says.
	perBar int
	// above are the bars of the line before, row those of this one.
	above, row []int
	// perLine is how many chords stand on the last line that had no bar lines, and unequal
	// is set where those of a part differ.
	perLine int
	// singles counts the last lines that held one chord each.
	singles int
	unequal bool
	// used counts the chords that stand in bars.
	used int
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

// chordLine reads a line of chords, and tells where some of them are in no bar.
func (r *reader) chordLine(line string, read func(string)) {
	told, used, typed := len(r.told), r.used, 0
	for _, w := range strings.FieldsFunc(line, func(c rune) bool { return strings.ContainsRune(" |,;()[]{}:", c) }) {
		if len(w) > 1 && r.reads(w) {
			typed++
		}
	}
	if read(line); len(r.faults) == 0 && len(r.told) == told && r.used-used < typed {
		r.doubt("line %d: of its chords not all are played", r.number)
	}
}

var (
	rule = regexp.MustCompile(`^[-=_*~+. ]{3,}$`)
	// tableRule is the rule below the first row of a table.
	tableRule = regexp.MustCompile(`^\|?(?:\s*:?[-=]{2,}:?\s*(?:\||$))+$`)
	// barNumbers are bar lines with nothing or numbers between them.
	barNumbers = regexp.MustCompile(`^[\d ]*\|[\d| ]*$`)
	// inWhole is a line in parentheses that names something and its value, clock the time
	// at which a line comes in a recording.
	inWhole = regexp.MustCompile(`^(\s*)\(([^()|]*\w:\s[^()]*)\)\s*$`)
	clock   = regexp.MustCompile(`^\s*\[?\(?\d{1,2}:\d\d(?::\d\d)?[\])]?(?:\s+-)?\s+`)
	// starred is a remark that a star in a bar points to.
	starred = regexp.MustCompile(`^\s*(?:\*|†|\d?\^)\)?\s*[\p{Ll}]`)
	// inParens is a line in parentheses that says something, valued a line of mail.
	inParens   = regexp.MustCompile(`^\([^()]*\b\p{Ll}{2,}\b[^()]*\)\.?$`)
	perBar     = regexp.MustCompile(`(?i)\b(one|two|three|four|[1-4])(?: chords?)? (?:per|a|to a|to the|in each|each) (?:bar|measure)\b`)
	wordOnly   = regexp.MustCompile(`^\p{L}[\p{L}'.!:]*$`)
	link       = regexp.MustCompile(`^(?:https?://|www\.)\S+$`)
	valued     = regexp.MustCompile(`^\p{L}[\p{L} -]{1,20}:\s+\S`)
	onlyRepeat = regexp.MustCompile(`^(\s*)(\|+:)?([^|]*[^|:\s])\s*(:\|+)?\s*(.*)$`)
	inSquare   = regexp.MustCompile(`\[([^\[\]|]+)\]`)
)

func (r *reader) line(line string) {
	line = clock.ReplaceAllStringFunc(inWhole.ReplaceAllString(line, "$1 $2 "), blanks)
	if r.inSquares(line) {
		return
	}
	line = r.eachTimes(r.withoutRemark(r.eachBars(spelled(r.unbracketed(r.uncommented(line))))))
	line = thenFirst.ReplaceAllStringFunc(strings.TrimRight(line, " "), blanks)
	line = r.saidLast(r.saidFirst(line))
	text := strings.TrimSpace(line)
	switch {
	case barNumbers.MatchString(text) && !r.reads(strings.Fields(strings.Trim(text, "| ") + " |")[0]):
		r.leave("line %d holds bar lines and numbers alone and is left out", r.number)
	case text == "":
		if len(r.bars) > r.part.from {
			r.starts = true
		}
	case rule.MatchString(text) && !strings.Contains(text, "."), tableRule.MatchString(text),
		r.formLine(text), r.header(text), r.sectionLine(line), r.timesAlone(text), r.jumpLine(text), r.likeAnother(text):
		r.taken++
	case r.repeated(line):
	case strings.Contains(line, "|"):
		r.chordLine(line, r.barredLine)
	case r.wordsAlone(text):
		r.taken++
	default:
		r.chordLine(line, r.bareLine)
	}
}

var (
	inParentheses = regexp.MustCompile(`\(([^()]+)\)`)
	timesAndMore  = regexp.MustCompile(`(?i)\(((?:repeat )?(?:x ?\d{1,2}|\d{1,2} ?x|\d{1,2} times|twice))([,;:][^()]*)\)`)
	inBrackets    = regexp.MustCompile(`[\[{]([^\[\]{}]+)[\]}](\s*(?:x\s?\d{1,2}|\d{1,2}\s?x)\b)?`)
	thenFirst     = regexp.MustCompile(`(?i)^\s*(?:and )?then[,:]? +`)
)

var (
	plainWord   = regexp.MustCompile(`(?:^|\s)\p{L}?[\p{Ll}]{3,}(?:\s|$)`)
	figure      = regexp.MustCompile(`\d`)
	byLine      = regexp.MustCompile(`(?i)^\(?(?:by|for|from) \p{L}`)
	formLetters = regexp.MustCompile(`^(?i:(play|form|order|the form is) )?\(?([A-E]{2,12})\)?\.?$`)
	// remarkAlone is a word or two that no mistyped chord looks like.
	wordAlone = regexp.MustCompile(`^\p{L}{4,}[.:!]*$`)
	// nearChord is a word that a mistyped chord could be.
	nearChord   = regexp.MustCompile(`^[A-Ga-g][#b♯♭]?[majinMdsuog+-]*$`)
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
