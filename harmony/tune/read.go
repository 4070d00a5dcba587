package tune

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"footfall/harmony"
)

// Tempi in quarter notes a minute that a tune may have.
const (
	LowestTempo  = harmony.LowestTempo
	HighestTempo = harmony.HighestTempo
)

// Bounds of a tune, far beyond any: its sections, and its bars both as written
// and in one pass of the form.
const (
	maxSections = 1000
	MaxBars     = 10_000
)

// endLine is the line name of comments after the last row.
const endLine = "end"

// Read reads a tune from its text. It reports every fault of the text in one
// go, in the order of the text; the tune is nil if there is any.
func Read(text string) (*Tune, Faults) {
	r := newReader()
	r.read(text)
	if len(r.faults) > 0 {
		return nil, r.faults.Sort()
	}
	return r.tune, nil
}

// Check reads a tune like Read, and then resolves its bass row within a range: a
// row that leaves it is a fault too, at the token that does.
func Check(text string, within Range) (*Tune, Faults) {
	r := newReader()
	r.read(text)
	if r.playable() {
		if _, err := r.tune.Line(within); err != nil {
			r.faults = append(r.faults, r.lineFault(err.(*LineError)))
		}
	}
	if len(r.faults) > 0 {
		return nil, r.faults.Sort()
	}
	return r.tune, nil
}

// playable reports whether what the line depends on is without fault: the meter,
// the form, the chords and the bass rows.
func (r *reader) playable() bool {
	if r.badForm || len(r.sections) == 0 || len(r.sections) > maxSections || r.written > MaxBars {
		return false
	}
	for i, s := range r.sections {
		if _, known := r.meter(i); !known || s.skip || s.rows[ChordsRow] == nil || slices.Contains(s.bad[ChordsRow], true) || slices.Contains(s.bad[BassRow], true) {
			return false
		}
		if bass := s.rows[BassRow]; bass != nil && len(bass.cells) != len(r.tune.Sections[i].Bars) {
			return false
		}
	}
	return true
}

// span is a piece of a line: where it stands, counted in characters from 1, and
// its text.
type span struct {
	line, col int
	text      string
}

// reader gathers a tune and all that is wrong with its text.
type reader struct {
	tune   *Tune
	faults Faults
	seen   map[string]bool
	// pending are comments that wait for the line they belong to.
	pending  []string
	sections []*rawSection
	named    map[string]int // the sections that have a name, by it
	written  int            // bars of the chords rows
	form     []span
	badForm  bool
	chords   map[string]harmony.Chord
	strings  int
	meterOK  bool
	oldHits  bool // a . in the hits row leaves the beat to the layer
}

// rawSection is a section whose rows are split but not yet read.
type rawSection struct {
	name span
	rows [Rows]*rawRow
	// headers are the names of the header lines so far.
	headers  []string
	meter    Meter
	badMeter bool
	rhythm   Comping
	// bad holds the rows' bars that are at fault, so that a copy of one is not
	// reported again.
	bad [Rows][]bool
	// bass holds the column of each half beat's token for each bar.
	bass [][]int
	skip bool
}

type rawRow struct {
	name  span
	cells []span
	end   int
}

func newReader() *reader {
	return &reader{
		tune:   &Tune{Swing: harmony.Swing{Ratio: Ratio{Long: 1, Short: 1}}},
		seen:   map[string]bool{},
		chords: map[string]harmony.Chord{},
		named:  map[string]int{},
	}
}

// mostFaults is how many faults of a text are told: one with more is no tune.
const mostFaults = 10_000

func (r *reader) fault(at span, found, want string) {
	if len(r.faults) >= mostFaults {
		return
	}
	r.faults = append(r.faults, Fault{Line: at.line, Column: at.col, Found: found, Want: want})
}

func quoted(s string) string {
	const most = 40
	if utf8.RuneCountInString(s) > most {
		s = string([]rune(s)[:most]) + "…"
	}
	return strconv.Quote(s)
}

func (r *reader) read(text string) {
	if f, not := NotText(text); not {
		r.faults = append(r.faults, f)
		return
	}
	text = strings.TrimPrefix(text, "\ufeff")
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		r.readLine(i+1, line)
	}
	r.comments("", endLine, "")
	r.finish(len(lines))
}

func (r *reader) readLine(number int, line string) {
	if !r.legible(number, line) {
		return
	}
	body, comment := cutComment(line)
	at := trimmed(span{number, 1, body})
	switch {
	case at.text == "":
		if comment != "" {
			r.pending = append(r.pending, comment)
		}
	case strings.HasPrefix(at.text, "["):
		r.startSection(at, comment)
	default:
		name := at.text
		if end := strings.IndexFunc(name, func(c rune) bool { return c == '|' || unicode.IsSpace(c) }); end >= 0 {
			name = name[:end]
		}
		rest := trimmed(at.from(len(name)))
		at.text = name
		if len(r.sections) > 0 {
			r.row(at, rest, comment)
		} else {
			r.header(at, rest, comment)
		}
	}
}

// legible reports whether a line is text, and its first fault if it is not.
func (r *reader) legible(number int, line string) bool {
	col := 0
	for i, c := range line {
		col++
		if c == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(line[i:]); size == 1 {
				r.fault(span{number, col, ""}, fmt.Sprintf("the byte %#02x, which is no UTF-8", line[i]), "a text in UTF-8")
				return false
			}
		}
		if unicode.IsControl(c) && c != '\t' {
			r.fault(span{number, col, ""}, fmt.Sprintf("the control character %U", c), "text without control characters")
			return false
		}
	}
	return true
}

// cutComment splits a line at its comment: a # at its start, or behind two
// spaces or tabs.
func cutComment(line string) (body, comment string) {
	blanks := 2
	for i, c := range line {
		switch {
		case c == ' ' || c == '\t':
			blanks++
			continue
		case c == '#' && (blanks >= 2 || strings.TrimSpace(line[:i]) == ""):
			return line[:i], strings.TrimRightFunc(line[i:], unicode.IsSpace)
		}
		blanks = 0
	}
	return line, ""
}

// from returns the rest of a span after n bytes.
func (s span) from(n int) span {
	return span{s.line, s.col + utf8.RuneCountInString(s.text[:n]), s.text[n:]}
}

// end returns the column behind a span.
func (s span) end() int { return s.col + utf8.RuneCountInString(s.text) }

func trimmed(s span) span {
	t := strings.TrimLeftFunc(s.text, unicode.IsSpace)
	s = s.from(len(s.text) - len(t))
	s.text = strings.TrimRightFunc(t, unicode.IsSpace)
	return s
}

// fields splits a span at white space.
func (s span) fields() []span {
	var out []span
	start, col, startCol := -1, s.col, 0
	for i, c := range s.text {
		switch {
		case unicode.IsSpace(c):
			if start >= 0 {
				out = append(out, span{s.line, startCol, s.text[start:i]})
				start = -1
			}
		case start < 0:
			start, startCol = i, col
		}
		col++
	}
	if start >= 0 {
		out = append(out, span{s.line, startCol, s.text[start:]})
	}
	return out
}

// comments files the waiting comments and the one behind a line with it.
func (r *reader) comments(section, line, behind string) {
	for _, text := range r.pending {
		r.tune.Comments = append(r.tune.Comments, Comment{Section: section, Line: line, Text: text})
	}
	r.pending = nil
	if behind != "" {
		r.tune.Comments = append(r.tune.Comments, Comment{Section: section, Line: line, Behind: true, Text: behind})
	}
}

// squeeze turns each run of white space into one space.
func squeeze(s string) string { return strings.Join(strings.Fields(s), " ") }

var sectionName = regexp.MustCompile(`^\pL[\pL\pN'_-]*$`)

func (r *reader) startSection(at span, comment string) {
	inner, closed := strings.CutSuffix(at.text[1:], "]")
	name := trimmed(span{at.line, at.col + 1, inner})
	raw := &rawSection{name: name}
	r.comments(name.text, sectionLine, comment)
	switch {
	case !closed || !sectionName.MatchString(name.text):
		r.fault(at, quoted(at.text), "a section name in brackets, a letter first and then letters, digits, ' - or _, such as [A] or [Intro]")
		raw.skip = true
	case r.isSection(name.text):
		r.fault(at, "a second section "+name.text, "a name that no section has yet")
		raw.skip = true
	case len(r.sections) == maxSections:
		r.fault(at, "one section more than fits", fmt.Sprintf("at most %d sections", maxSections))
		raw.skip = true
	case len(r.sections) > maxSections:
		raw.skip = true
	default:
		r.named[name.text] = len(r.sections)
	}
	r.sections = append(r.sections, raw)
}

func (r *reader) isSection(name string) bool {
	_, ok := r.named[name]
	return ok
}

// sectionLine is the line name of a section's name line.
const sectionLine = "["

func (r *reader) row(name, rest span, comment string) {
	section := r.sections[len(r.sections)-1]
	r.comments(section.name.text, name.text, comment)
	if slices.Contains(sectionHeaders, name.text) {
		r.sectionHeader(section, name, rest)
		return
	}
	row := slices.Index(rowNames[:], name.text)
	if row < 0 {
		want := "a row, one of " + strings.Join(rowNames[:], ", ") + ", a meter or comping line, or a section such as [B]"
		if slices.Contains(headerNames, name.text) {
			want = "headers above the first section"
		}
		r.fault(name, quoted(name.text), want)
		return
	}
	if section.rows[row] != nil {
		r.fault(name, "a second "+name.text+" row in this section", "one "+name.text+" row a section")
		return
	}
	raw := &rawRow{name: name, end: rest.end()}
	section.rows[row] = raw
	if !strings.HasPrefix(rest.text, "|") {
		found := quoted(rest.text)
		if rest.text == "" {
			found = "no bars"
		}
		r.fault(rest, found, "a | before the first bar")
		raw.cells = nil
		section.skip = true
		return
	}
	rest = rest.from(1)
	for {
		i := strings.IndexByte(rest.text, '|')
		if i < 0 {
			if last := trimmed(rest); last.text != "" {
				raw.cells = append(raw.cells, last)
			}
			break
		}
		cell := rest
		cell.text = rest.text[:i]
		raw.cells = append(raw.cells, trimmed(cell))
		rest = rest.from(i + 1)
	}
	if row == int(ChordsRow) {
		before := r.written
		if r.written += len(raw.cells); before <= MaxBars && r.written > MaxBars {
			r.fault(name, "more bars than fit", fmt.Sprintf("at most %d bars in all", MaxBars))
		}
	}
	if r.written > MaxBars {
		raw.cells = nil
		return
	}
	if len(raw.cells) == 0 {
		r.fault(rest, "no bars", "a bar between | and |")
		section.skip = true
	}
}

// sectionHeaders are the headers that a section may have of its own.
var sectionHeaders = []string{"meter", "comping"}

// sectionHeader reads a header line of a section.
func (r *reader) sectionHeader(section *rawSection, name, value span) {
	if slices.Contains(section.headers, name.text) {
		r.fault(name, "a second "+name.text+" line in this section", "one "+name.text+" line a section")
		return
	}
	section.headers = append(section.headers, name.text)
	ok := false
	switch name.text {
	case "meter":
		section.meter, ok = harmony.ParseMeter(value.text)
		section.badMeter = !ok
	case "comping":
		c, err := ParseComping(value.text)
		section.rhythm, ok = c, err == nil
	}
	found := quoted(value.text)
	if value.text == "" {
		found = "nothing after " + name.text
	}
	if !ok {
		r.fault(value, found, headerWant[name.text])
	}
}

// meter returns the meter of a section, and whether it is known.
func (r *reader) meter(section int) (Meter, bool) {
	raw := r.sections[section]
	return r.tune.MeterOf(&r.tune.Sections[section]), !raw.badMeter && (r.meterOK || raw.meter != Meter{})
}

// finish reads the rows now that all headers and names are known.
func (r *reader) finish(lines int) {
	end := span{line: lines, col: 1}
	for _, name := range []string{"tune", "key", "meter", "tempo"} {
		if !r.seen[name] {
			r.fault(span{line: 1, col: 1}, "no "+name+" line", headerWant[name]+" in a line that starts with "+name)
		}
	}
	if len(r.sections) == 0 {
		r.fault(end, "no section", "a section such as [A] with a chords row")
		return
	}
	for i, raw := range r.sections[:min(len(r.sections), maxSections)] {
		r.tune.Sections = append(r.tune.Sections, Section{Name: raw.name.text, Meter: raw.meter, Comping: raw.rhythm})
		r.readSection(i)
	}
	r.checkForm()
	if r.playable() {
		r.firstHold()
	}
	r.tune.sortComments()
}

// checkForm reports names that are no section, and a form longer than MaxBars.
func (r *reader) checkForm() {
	bars := 0
	for _, f := range r.form {
		i, ok := r.named[f.text]
		if !ok {
			var names []string
			for _, s := range r.sections[:min(len(r.sections), 20)] {
				names = append(names, s.name.text)
			}
			r.fault(f, quoted(f.text), "the name of a section: "+strings.Join(names, ", "))
			r.badForm = true
			continue
		}
		before := bars
		if bars += len(r.tune.Sections[i].Bars); before <= MaxBars && bars > MaxBars {
			r.fault(f, fmt.Sprintf("a form that comes to more than %d bars here", MaxBars), "a shorter form")
			r.badForm = true
		}
	}
}

// firstHold reports a hold before the first note of the form.
func (r *reader) firstHold() {
	bar := r.tune.Unroll()[0]
	if len(bar.Bar.Bass) == 0 || bar.Bar.Bass[0].First.Kind != BassHold {
		return
	}
	r.fault(r.bassPlace(bar.Section, 1, 1, false), `a "-" with no note before it to hold`, "a degree, or a . that rests")
}

// bassPlace returns where the text has a token of the bass row.
func (r *reader) bassPlace(section string, bar, beat int, off bool) span {
	raw := r.sections[r.named[section]]
	cols := raw.bass[bar-1]
	half := harmony.HalfOf(beat, off)
	if half >= len(cols) {
		half = 0
	}
	return span{line: raw.rows[BassRow].name.line, col: cols[half]}
}

func (r *reader) lineFault(e *LineError) Fault {
	at := r.bassPlace(e.Section, e.SectionBar, e.At.Beat, e.At.Off)
	_, fix, _ := r.tune.Fold(e.Range)
	return Fault{
		Fix:    fix,
		Line:   at.line,
		Column: at.col,
		Found: fmt.Sprintf("%s, which leads to %s in bar %d (%s bar %d) beat %s",
			quoted(e.Token.String()), e.Pitch, e.At.Bar, e.Section, e.SectionBar, beatWords(e.At)),
		Want: e.Want(),
	}
}
