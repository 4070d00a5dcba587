package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// briefWord is a section's name cut short, in capitals, for Ch is a chord too.
const briefWord = `(?:V|v|V[Ss]|V[Ee][Rr]|C[Hh]|C[Hh][Oo]|B[Rr]|Pre|PRE|Int|INT|Out|OUT|Sol|SOL|Ref|REF|Inst|vs|vrs|ch|pre|br)\.?\s?\d?`

// sectionWord is a section's name, in English and some other languages.
const sectionWord = `(?i:(?:(?:last|final|first|second|third|1st|2nd|3rd|guitar|piano|sax|bass|drum|main|out) )?` +
	`(?:verse|strophe|chorus|bridge|intro|introduction|outro|coda|solos?|head(?: (?:in|out))?|turnaround|interlude|tag|ending|pre(?:-?chorus)?|refrain|vamp|middle(?: 8| eight)?|` +
	`part|section|break|shout|channel|theme|trio|riff|hook|groove|line|phrase|strain|breakdown|end|instrumental|link|post-?chorus|` +
	`couplet|pont|partie|thème|estrofa|estribillo|puente|parte|coro|verso|tema|final|fin|teil|vorspiel|zwischenspiel|nachspiel|schluss|thema|zeile))`

const (
	sectionName = sectionWord + `(?: (?i:section|part|theme))?(?:[ -]?(?:[A-Z]\d?\b'?|\d{1,2}|[IV]{1,3}\b|(?i:one|two|three|four)))?`
	letterName  = `[A-Z][1-4]?'{0,2}`
	timesWords  = `(?i:x\s?\d{1,2}|\d{1,2}\s?x|twice|bis|(?:\d{1,2}|two|three|four) (?:times|veces|fois|mal)|zweimal|repeat(?:ed)?(?: x?\d{1,2}x?)?)`
	barsWords   = `(?i:\d{1,2}[ -]?(?:bars?|measures?|takte?|mesures?|compases))`
)

var (
	sectionAlone = regexp.MustCompile(`^(?:` + sectionName + `|` + letterName + `|` + briefWord + `)$`)
	sectionNamed = regexp.MustCompile(`^` + sectionName + `$`)
	// headed is the mark of a section: its frame, its name, how often or how long, a
	// sign, and what follows.
	headed = regexp.MustCompile(`^(?P<open>[\[({<"]?[*=#_~-]*\s*|[*=#_~-]*\s*[\[({<"]?)(?P<name>(?P<word>(?:\d[.)]\s*)?` + sectionName + `)|(?P<brief>` + briefWord + `)|(?P<letter>` + letterName + `(?: (?i:section|part))?))` +
		`(?P<extra>(?:\s*[,(-]?\s*(?:` + timesWords + `|` + barsWords + `)\s*\)?|\s*\(\d{1,2}\))*)(?P<gap>\s*)` +
		`(?P<shut>[\])}>"]?[*=#_~]*[\])}>"]?(?:\s+-{2,})?)(?P<more>(?:\s*[(-]?\s*` + timesWords + `\)?)?)(?P<note>(?:\s*\([^()|]*\p{Ll}{3}[^()|]*\))?)(?P<sign>\s*[:.=;,]|\s+--?>?\s|-{1,2}\s?|\)|)(?P<after>\s*)(?P<rest>.*)$`)
	// lengthNext is a count or a length that is no number of its section.
	lengthNext   = regexp.MustCompile(`(?i)^(\W*` + sectionWord + `)\s+(\d{1,2}(?:\s?x\b|[ -](?:bars?|measures?)\b))`)
	framed       = regexp.MustCompile(`^(?:\[([^\[\]|]+)\]|\{([^{}|]+)\}|<([^<>|]+)>)\s*(.*)$`)
	betweenSigns = regexp.MustCompile(`^(?:\*+|=+|--+|"+|_+)\s*([\p{L}][\p{L}0-9' ]*?)\s*:?(?:\*+|=+|--+|"+|_+):?$`)
	// free is a name of its own before a colon.
	free      = regexp.MustCompile(`^((?:\dst |\dnd |\drd )?\p{L}[\p{L}' -]{1,30}(?: \d{1,2})?)\s*(\(?` + timesWords + `\)?|\([^()|]*\))?\s*[:=]\s*(.*)$`)
	timesSaid = regexp.MustCompile(`(?i)(?:x\s?(\d{1,2})|(\d{1,2})\s?x|(\d{1,2}|two|three|four) (?:times|veces|fois|mal)|zweimal|twice|bis|repeat(?:ed)?)`)
	barsSaid  = regexp.MustCompile(`(?i)(\d{1,2})[ -]?(?:bars?|measures?|takte?|mesures?|compases)|\((\d{1,2})\)`)
	// shared are two sections before the bars that both have.
	shared     = regexp.MustCompile(`^((?:` + sectionWord + `|(?:V|Ch|Vs))\.?\s?\d)\s?[/&,+-]\s?(?:(?:` + sectionWord + `|(?:V|Ch|Vs))\.?\s?)?\d\s*(?::|$)`)
	figuresIn  = regexp.MustCompile(`\d+`)
	lengthOnly = regexp.MustCompile(`(?i)^\(?\d+ (?:bars?|measures?)\)?:?$`)
	pickup     = regexp.MustCompile(`(?i)^(?:pick-?up|anacrusis|upbeat|auftakt|lead-?in|levare|anacrus[ae])\b`)
	// numberWords are those that tell apart sections of one name.
	numberWords = regexp.MustCompile(`(?i)^(?:last|final|first|second|third|1st|2nd|3rd) | (?:one|two|three|four)$`)
	inner       = regexp.MustCompile(`\s(?:\[[^\[\]|]+\]|(?:` + sectionName + `|` + letterName + `)(?: ?\(?` + timesWords + `\)?)?\s?:(?:\s|$))`)
)

var numberedLetter = regexp.MustCompile(`^\d{1,2}[.)]\s+([A-Z][1-4]?\s*:)`)

var letterFirst = regexp.MustCompile(`^\s*` + letterName + `\s?:\s`)

// innerMarks parts a line before the marks of sections within it.
func (r *reader) innerMarks(line string) []string {
	var out []string
	from := 0
	first := letterFirst.MatchString(line)
	for _, m := range inner.FindAllStringIndex(line, 40) {
		found := strings.TrimSpace(line[m[0]:m[1]])
		if len(found) < 5 && found[0] != '[' && !first {
			continue // a letter that might be a key
		}
		if found[0] != '[' && r.chordWords(line[from:m[0]]) == 0 || letterMark.MatchString(strings.TrimSpace(line[from:m[0]])) {
			continue // more of a name
		}
		name := strings.Trim(found, "[]: ")
		if from, _, values, _, feels := nameIn(certain(scan(name))); r.first() && from < 0 && values+feels > 1 {
			continue
		}
		if found[0] == '[' && (name == "" || r.reads(name) || countSign.MatchString(name) || figuresIn.MatchString(name[:1]) || headers.MatchString(name) || lettersIn.MatchString(name)) {
			continue
		}
		if strings.TrimSpace(line[from:m[0]]) != "" && from < m[0] {
			out = append(out, blanks(line[:from])+line[from:m[0]])
		}
		from = m[0]
	}
	return append(out, blanks(line[:from])+line[from:])
}

// heading takes a line that is, or begins with, the mark of a section.
func (r *reader) heading(line string) bool {
	text := numberedLetter.ReplaceAllString(strings.TrimSpace(line), "$1")
	if fields := strings.Fields(text); barWord.MatchString(fields[0]) && len(fields) > 1 && figuresIn.MatchString(fields[1]) {
		return false
	}
	if m := shared.FindString(text); m != "" {
		r.doubt("line %d: what %s has is played once", r.number, strings.TrimRight(m, ": "))
		name := shared.FindStringSubmatch(text)[1]
		r.headed(name, "", line, text[len(m):])
		return true
	}
	text = lengthNext.ReplaceAllString(text, "$1 ($2)")
	if m := framed.FindStringSubmatch(text); m != nil {
		name, rest := m[1]+m[2]+m[3], m[4]
		if r.chordal(name) && (!jumpSign.MatchString(rest) || sectionFirst.MatchString(rest)) && (r.chordWords(name) > 1 || m[1] != "" && (strings.Contains(rest, "[") || plainWord.MatchString(rest))) {
			return false
		}
		if r.reads(name) && len(name) > 1 || m[1] != "" && strings.HasPrefix(rest, "[") && r.reads(name) {
			r.fault(1, fmt.Sprintf("%q, a chord where the name of a section stands", clipped(name)),
				"chords without brackets, a bar between two bar lines")
			return true
		}
		if name = strings.TrimSpace(name); name == "" {
			return false
		}
		if figuresIn.MatchString(name[:1]) && !sectionAlone.MatchString(ordinals.ReplaceAllString(name, "")) || count(name) > 0 {
			return false
		}
		times := ""
		if t := r.lex(rest, 1); len(t) == 1 && t[0].kind == aCount {
			times, rest = rest, ""
		}
		r.headed(name, times, line, strings.TrimLeft(rest, ": "))
		return true
	}
	if m := headed.FindStringSubmatch(text); m != nil {
		at := func(name string) string { return m[headed.SubexpIndex(name)] }
		if r.isMark(at, text) {
			name := ordinals.ReplaceAllString(at("name"), "")
			if k := len(name) - 2; k > 1 && name[k] == ' ' && at("sign")+at("shut") == "" && at("rest") != "" && at("rest")[0] != '|' && r.reads(name[k+1:]) && !lettered.MatchString(name) {
				r.headed(name[:k], "", line, text[strings.LastIndex(text, name)+k+1:])
				return true
			}
			if n := ordinals.FindString(at("name")); n != "" && name != at("name") {
				name += " " + strings.Trim(n, ".) ")
			}
			r.headed(name, at("extra")+" "+at("more")+" "+at("note"), line, strings.TrimLeft(at("rest"), " "))
			return true
		}
	}
	if m := betweenSigns.FindStringSubmatch(text); m != nil && !r.reads(m[1]) && r.first() && !sectionFirst.MatchString(m[1]) {
		r.title(m[1])
		return true
	} else if m != nil && !r.reads(m[1]) {
		r.headed(m[1], "", line, "")
		return true
	}
	if m := goesLike.FindStringSubmatch(text); m != nil && r.chordal(m[2]) {
		r.headed(m[1], "", line, m[2])
		return true
	}
	name := strings.TrimSpace(timesEnd.ReplaceAllString(text, ""))
	if len(name) > 2 && !r.like(name) && (r.known(name) >= 0 || strings.EqualFold(name, r.part.name) && len(r.bars) > r.part.from) {
		r.headed(name, text[len(name):], line, "")
		return true
	}
	if m := free.FindStringSubmatch(text); m != nil && !(r.first() && !sectionFirst.MatchString(text) && r.noTitle(text)) && !r.like(m[1]) && (m[3] == "" || r.chordal(m[3])) {
		r.headed(m[1], m[2], line, m[3])
		return true
	}
	return false
}

// lettered are names of sections that a letter goes with.
var lettered = regexp.MustCompile(`(?i)\b(?:part|section|line|phrase|strain|theme|teil|partie|parte|zeile) .$`)

// goesLike is the name of a section and a word before its bars.
var goesLike = regexp.MustCompile(`^(?i:the |my )?(` + sectionName + `|[A-Z](?: (?i:part|section|bit)))(?i:'s| is| goes| are| has)(?i: like this| just| like| again)?[:,]? +(\S.*)$`)

var ordinals = regexp.MustCompile(`^\d[.)]\s*`)

// chordal reports whether a text begins with a chord and holds no plain words.
func (r *reader) chordal(text string) bool {
	chords, words := 0, 0
	for _, t := range r.lex(text, 1) {
		switch t.kind {
		case aChord, aBarLine:
			chords++
		case aWord:
			words++
		}
	}
	return chords > words && (text[0] == '|' || r.like(strings.Trim(strings.Fields(text)[0], "(),|:-")))
}

// isMark reports whether what stands at the start of a line is the mark of a section.
func (r *reader) isMark(at func(string) string, text string) bool {
	rest, sign := at("rest"), strings.TrimSpace(at("sign"))
	bar := strings.HasPrefix(rest, "|")
	framedIn := at("open") != "" && at("shut") != ""
	switch {
	case at("word") != "":
		name := at("name")
		switch {
		case rest == "" || strings.HasPrefix(rest, "(") && strings.HasSuffix(rest, ")") && !r.chordal(rest[1:]):
			return sign != "" || framedIn || len(name) > 0 && (at("open") == "" || framedIn || at("open") != "(")
		case sign == ":" || sign == "." && r.chordal(rest) || bar || framedIn:
			return true
		default:
			return r.chordal(rest) && (sign != "" || at("gap")+at("after") != "")
		}
	case at("brief") != "":
		if r.reads(at("brief")) && sign == "" && !bar {
			return len(rest) == 0 && strings.HasPrefix(strings.ToLower(at("brief")), "ch")
		}
		return sign == ":" || rest == "" || bar || (sign != "" || at("gap") != "" && !r.reads(at("brief"))) && r.chordal(rest)
	}
	name := at("letter")
	single := len(name) <= 3
	switch {
	case !single:
		return sign == ":" || rest == "" || r.chordal(rest)
	case at("open") == "(" && at("shut") == ")":
		return !r.reads(name) || name == "A" || r.known("A") >= 0 || r.part.name == "A"
	case framedIn && rest == "", (sign == ":" || at("shut") == "=" && bar) && (rest == "" || at("after") != "" || bar), sign == ")" && at("after") != "":
		return true
	case at("extra") != "" && rest == "" && sign == "":
		return slices.Contains(r.letters, name)
	case sign == "," && r.rowLabels && slices.Contains(r.before, name):
		return true
	case (sign == "," || sign == ";") && (len(name) > 1 || sign == ";" || !r.reads(name)) && slices.Contains(r.before, name) && len(r.before) > 1:
		if r.reads(name) {
			r.doubt("line %d: %s is read as the name of a section, not as a chord", r.number, name)
		}
		return true
	case at("open") != "" || sign != "" && !bar:
		return false
	case rest == "":
		known := slices.Contains(r.letters, name) || r.known(name) >= 0 || r.part.name == name && len(r.bars) > r.part.from
		known = known || name == "A" && r.startsBarred
		if known && !slices.Contains(r.letters, name) && r.reads(name) {
			if r.singles > 1 {
				return false // a chord a line
			}
			r.doubt("line %d: %s is read as the name of a section, not as a chord", r.number, name)
		}
		return known
	case bar, len(r.before) > 1 && len(at("gap")) > 1 && r.chordal(rest), len(r.before) > 1 && strings.Contains(at("gap"), "\t"), at("gap") != "" && strings.Contains(rest, "|") && (len(r.before) > 1 || !r.reads(name)):
		follows := at("extra") == "" && len(r.part.name) == 1 && name[0] == r.part.name[0]+1 && len(r.bars) > r.part.from
		if r.reads(name) && !follows && (!r.labels(rest) || !slices.Contains(r.before, name)) {
			return false
		}
		if r.reads(name) && (len(r.before) < 2 || !bar && len(at("gap")) == 1 && !strings.Contains(at("gap"), "\t")) {
			r.doubt("line %d: %s before the first bar line is read as the name of a section, not as a chord", r.number, name)
		}
		return true
	}
	return false
}

// labels reports whether a letter before these bars is a section's name: where other
// lines begin with a bar line, or with the letters that would follow it.
func (r *reader) labels(bars string) bool {
	return len(r.before) > 1 && bars[0] != '|' || strings.HasSuffix(strings.TrimRight(timesEnd.ReplaceAllString(bars, ""), " ]"), "|") && len(r.before) > 0 && (r.startsBarred || len(r.before) > 1)
}

// headed starts a section, how often and how long it is said to be, and reads what
// follows in its place on the line.
func (r *reader) headed(name, extra, line, rest string) {
	said := name + " " + extra
	times, length := 0, 0
	cut := func(text string) {
		name = strings.TrimRight(strings.TrimSpace(strings.Replace(name, text, "", 1)), " (,-")
		extra = strings.Replace(extra, text, "", 1)
	}
	for _, m := range timesSaid.FindAllString(said, -1) {
		if n := count(m); n > 0 && (times == 0 || figuresIn.MatchString(m)) {
			times = n
		}
		cut(m)
	}
	if m := barsSaid.FindStringSubmatch(said); m != nil && !strings.Contains(said, "each") {
		length, _ = strconv.Atoi(m[1] + m[2])
		cut(m[0])
	}
	like := ""
	if sameChords.MatchString(extra) {
		like, extra = unnumberedName(name), ""
	}
	if extra = strings.Trim(extra, " (),:;-"); hasLetters.MatchString(extra) {
		r.told = append(r.told, told(0, times > 0, "line %d: %s is left out", r.number, clipped(extra)))
	}
	rest = strings.TrimSpace(rest)
	if lengthOnly.MatchString(rest) {
		length, _ = strconv.Atoi(figuresIn.FindString(rest))
	}
	r.section(name, times)
	if r.perBar, r.barsEach = 0, 0; extra != "" {
		r.stated(extra)
	}
	if r.perBar+r.barsEach == 0 {
		r.perBar, r.barsEach = r.allPerBar, r.allBarsEach
	}
	r.part.length, r.part.like = length, like
	if n := count(rest); n > 0 {
		r.part.times, r.part.said = n, true
		return
	}
	if rest == "" || lengthOnly.MatchString(rest) || r.said(rest, true) {
		return // a known section without bars of its own is played again
	}
	if r.chordWords(rest) == 0 && ofBars.MatchString(rest) {
		r.doubt("line %d: %s is left out", r.number, clipped(rest))
		return
	}
	r.rest(line, rest)
}

var (
	// sameChords says behind the mark of a section that another has its bars, ofBars speaks
	// of bars instead of writing them.
	sameChords = regexp.MustCompile(`(?i)^[ (,-]*(?:(?:the )?same(?: chords| changes| thing)?(?: again| as (?:before|above|[A-Z]\d?))?|as (?:before|above|[A-Z]\d?)|like [A-Z]\d?|idem|ditto)[ ).]*$`)
	ofBars     = regexp.MustCompile(`(?i)\b(?:same|before|again|except|bars|ending|first|last)\b`)
)

var timesEnd = regexp.MustCompile(`(?i)[\s(\[,]+(?:(?:repeat|play|loop|all)[: ]+)?(?:x\s?(\d{1,2})|(\d{1,2})\s?x|(\d{1,2}) times|twice|repeat)\s*[\])]?$`)

// count reads a text such as x2 or (2 times); 0 for another.
func count(text string) int {
	text = strings.TrimSpace(text)
	m := countSign.FindStringSubmatch(text)
	if m == nil || len(m[0]) < len(text) {
		return 0
	}
	for _, d := range m[1:] {
		if d != "" {
			n, _ := strconv.Atoi(d)
			return max(n, numbersInWords[strings.ToLower(d)])
		}
	}
	return 2
}
