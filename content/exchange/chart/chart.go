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
	lines, tabbed := strings.Split(text, "\n"), false
	for i, line := range lines {
		if r.number = i + 1; len(line) > longestLine {
			r.fault(longestLine, "a line that goes on", fmt.Sprintf("lines of at most %d characters", longestLine))
			return nil, r.faults
		}
		lines[i] = cleaned(line)
		if tablature.MatchString(line) && strings.Count(line, "-")*2 > len(line) && !tableRule.MatchString(strings.TrimSpace(line)) {
			if !tabbed {
				r.leave("line %d and those of tablature below it are left out", r.number)
			}
			lines[i], tabbed = "", true
		} else {
			tabbed = false
		}
	}
	r.withoutNotes(lines)
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
	fresh := r
	if r.lines(lines); r.wanted {
		first := r
		r = fresh
		r.later = &first
		r.lines(lines)
	}
	r.jump()
	r.order()
	for n := len(r.bars); r.all > 1 && len(r.faults) == 0 && n > 0 && r.again(0, n); {
		r.all--
	}
	return r.finished(k)
}

// lines reads all lines, up to the end of the last part.
func (r *reader) lines(lines []string) {
	for i, line := range lines {
		r.number, r.below = i+1, ""
		if i+1 < len(lines) {
			r.below = lines[i+1]
		}
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
	if !slices.ContainsFunc(r.bars, func(b bar) bool { return len(b.Chords) < 3 }) {
		r.told = append(r.told, r.full...)
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
	tags     = regexp.MustCompile("`|</?[a-z]{1,6} ?/?>|<!--.*?-->|\\[/?(?:b|i|code|quote|pre)\\]")
	// clock is the time at which a line comes in a recording, or was sent and by whom.
	clock = regexp.MustCompile(`(?i)^\s*(?:\[\d[\d/.,: apm-]*\d(?: ?[ap]m)?\] (?:- )?\p{L}[\p{L} ]{0,20}: |\d{1,2}[/.]\d{1,2}[/.]\d{2,4},? \d{1,2}:\d\d(?: ?[ap]m)? - \p{L}[\p{L} ]{0,20}: |\[?\(?\d{1,2}:\d\d(?::\d\d)?(?: ?[ap]m)?[\])]?(?:\s+-\s\p{L}[\p{L} ]{0,20}: |(?:\s+-)?\s+))`)
	// cells are those of a row, each in quotation marks.
	cells = regexp.MustCompile(`^\s*"[^"]*"(?:\s*[,;\t]\s*"[^"]*")+\s*$`)
	// boldCell is the name of a section in the first cell of a row.
	boldCell = regexp.MustCompile(`^\s*\|\s*\*\*([A-Z][1-4]?)\*\*\s*\|`)
	// emphasized is a text between stars, emphasis a line that is nothing else.
	emphasized = regexp.MustCompile(`\*{1,3}([^*\s|][^*|]*)\*{1,3}|__([^_|]+)__`)
	emphasis   = regexp.MustCompile(`^\s*\*+([^*]+)\*+\s*$`)
	// codaSigns is a word for a coda beside its sign, alCoda and codaNext the sign in its place; blockStarts and blockEnds are marks
	// around the lines of a section.
	codaSigns   = regexp.MustCompile(`(?i)(?:[⊕𝄌]\s*)?(\b(?:to |al )?coda\b)(?:\s*[⊕𝄌])?`)
	alCoda      = regexp.MustCompile(`(?i)\bal\s+[⊕𝄌]`)
	codaNext    = regexp.MustCompile(`^\s*[⊕𝄌]\s*\|`)
	blockStarts = regexp.MustCompile(`(?i)^\s*\{start_of_(\p{L}+)(?:: *[^}]*)?\}\s*$`)
	blockEnds   = regexp.MustCompile(`(?i)^\s*\{end_of_\p{L}+\}\s*$`)
	// tablature is a line of a string, with the frets on it.
	tablature = regexp.MustCompile(`^\s*(?:[A-Ga-g][#b]?\s?[|:]|[|-]*\d)[-0-9|hpbrstx/\\~()*.:]{8,}\s*$`)
	struck    = regexp.MustCompile(`~~[^~]+~~`)
	// inWhole is a line in parentheses that names something and its value.
	inWhole = regexp.MustCompile(`^(\s*)\(([^()|]*\w:\s[^()]*)\)\s*$`)
	signs   = strings.NewReplacer("\u00a0", " ", "\u200b", "", "–", "-", "—", " - ", "│", "|", "¦", "|", "｜", "|", "‖", "|", "┃", "|", "∣", "|", "⎮", "|", "ǀ", "|",
		"→", ">", "➔", ">", "| 𝄆", "|:", "𝄆", "|:", "𝄇 |", ":||", "𝄇", ":|", "𝄎", "%", "𝄀", "|", "𝄁", "|", "×", "x", "“", "\"", "”", "\"", "„", "\"", "«", "\"", "»", "\"",
		"’", "'", "−", "-", "‑", "-", "♭", "b", "♯", "#", "·", ".", "𝄐", "")
)

// cleaned puts signs that look or mean alike into one, and blanks what is no part of a
// line: signs of quoting, of a list, and the time of day.
func cleaned(line string) string {
	line = quoted.ReplaceAllStringFunc(signs.Replace(line), blanks)
	line = tags.ReplaceAllStringFunc(line, blanks)
	line = boldCell.ReplaceAllString(line, "[$1] |")
	if cells.MatchString(line) {
		line = strings.ReplaceAll(line, "\"", " ")
	}
	if m := emphasis.FindStringSubmatch(line); m == nil || !sectionAlone.MatchString(strings.TrimSpace(m[1])) {
		if m != nil {
			line = "  " + m[1]
		}
		line = emphasized.ReplaceAllString(line, "  $1$2  ")
	}
	if bulleted.MatchString(line) {
		line = bullet.ReplaceAllStringFunc(line, blanks)
	}
	line = codaNext.ReplaceAllString(alCoda.ReplaceAllString(line, "al Coda"), "Coda |")
	line = codaSigns.ReplaceAllString(line, "$1")
	line = blockEnds.ReplaceAllString(blockStarts.ReplaceAllString(line, "[$1]"), "")
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
	// length is how many bars it is said to have, 0 where nothing is said; counted is set
	// where some of its bars are played several times, signs where signs say so.
	length         int
	counted, signs bool
	// passes are where its bars begin once more, ended is set where lines name its endings.
	passes []int
	ended  bool
	// first is where its bars end before a count repeats them all.
	first int
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
	// numbersAbove are the columns of the last line of numbers alone.
	numbersAbove []int
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
	// rowLabels is set where they are in the first cell of each row of commas.
	rowLabels bool
	meter     tune.Meter
	// starts is set where the next bar starts a section, name then being its name.
	starts bool
	name   string
	part   part
	parts  []span
	form   []string
	// formLength is how many bars the form is said to have, 0 where nothing says.
	formLength int
	// all is how often a line before the bars says that all is played.
	all int
	// wanted is set where a section is named before it comes; later is what an earlier
	// reading has found.
	wanted bool
	later  *reader
	// then is set where the line began with that word, below is the next line.
	then  bool
	below string
	// rows and blocks are the first bars of lines, and of lines between empty ones.
	rows, blocks []int
	// full are the bars with a chord a beat, which is in doubt where no bar has fewer.
	full []transcribe.Loss
	// greeted is set where the first line greets, titled where the title stood in quotation
	// marks, hasBars where the chart has bar lines.
	greeted, titled, hasBars bool
	// words is how many lines were taken as words.
	lyrics int
	// taken counts the lines that were read as something else than bars.
	taken int
	// perBar is how many chords each bar without bar lines has, barsEach how many bars
	// each chord, 0 where nothing says; those of all the chart stand where a section says nothing.
	perBar, barsEach       int
	allPerBar, allBarsEach int
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
	// block is where the bars since the last mark of a section or empty line begin.
	block int
	repeat
	marks
}

// span is a part that has been read: its bars in playing order.
type span struct {
	name     string
	from, to int
	// once is where its first time ends, first where its bars do before a count repeats
	// them all; counted is that of its part.
	once    int
	first   int
	counted bool
	// line is that of its mark; passes are where its bars begin once more.
	line   int
	passes []int
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
	before, from := state(), len(r.bars)
	r.line(line)
	if len(r.bars) > from {
		r.rows = append(r.rows, from)
	}
	r.trailingCells(line, from)
	text := strings.TrimSpace(line)
	if comment := strings.HasPrefix(text, "#") || strings.HasPrefix(text, "//"); text != "" && !comment && state() == before {
		r.leave("line %d is left out", r.number)
	}
}
