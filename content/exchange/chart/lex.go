package chart

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"footfall/harmony"
)

// kind is what a token is.
type kind uint8

const (
	aWord    kind = iota // none of the others
	aChord               // a chord symbol, or no chord
	aSimile              // the bar before again, or the n bars before
	aHold                // n beats on which the chord before is held, or signs between chords
	aParting             // a comma or an arrow
	aBarLine
	aCount  // what stands before is played n times
	aNumber // of a bar or of an ending
	aLength // n bars
	aMeter
	aJump   // D.C., Fine and the like
	aRemark // what brackets or quotation marks say
	aBlank  // a place left open: ____ or ?
	anOpening
	aClosing
)

// token is the least part of a line that means something.
type token struct {
	kind kind
	// column is that of its first character, counted from 1, gap how many spaces stand
	// before it; a tab counts as many.
	column, gap int
	text        string
	n           int
	chord       harmony.Chord
	// opens and closes are set for the bar lines of a repeat, or for a chord in parentheses.
	opens, closes bool
	// unsure is set for a chord with a question mark.
	unsure bool
}

// tabGap is how many spaces a tab counts as.
const tabGap = 40

const lengthWords = `(\d{1,2}|one|two|three|four) (bars?|measures?|beats?|takte?|mesures?|compases)`

var (
	barSign   = regexp.MustCompile(`^(:\s*)?\[?\|+\]?(:\|+)?(:*)`)
	countSign = regexp.MustCompile(`(?i)^[(\[]?\s*(?:(?:repeat(?:ed)?|play(?:ed)?|loop|all|rpt\.?)[: ]+)?(?:x\s?(\d{1,2})|(\d{1,2})\s?x|(\d{1,2}|two|three|four) (?:times|veces|fois|mal)|zweimal|twice|repeat|rpt\.?|bis|wdh\.?)(?: (?:through|thru|over|around))?\s*[)\]]?:?(?:$|[\s,;|.)])`)
	jumpSign  = regexp.MustCompile(`(?i)^\(?(?:(d\.\s?[cs]\.?|d[cs]|da capo|dal segno)(?:\s+al\s+(fine|coda))?|(fine)|(to coda|to ⊕|⊕|to 𝄌|𝄌|coda)|(segno|𝄋))\)?[.,:]?(?:$|[\s|)])`)
	lengthIs  = regexp.MustCompile(`(?i)^(?:[~=:-] ?)?(?:\((?:for )?(?:` + lengthWords + `)\)|(?:for )?(?:` + lengthWords + `)(?: of)?(?:$|[\s,;|.)]))`)
	eachIs    = regexp.MustCompile(`(?i)^(?:[~=:-] ?)?` + lengthWords + ` (?:each|per chord|a chord|per line|a line)\b`)
	fadeIs    = regexp.MustCompile(`(?i)^\(?repeat (?:and|&|to|till|until|ad lib|as)\b[^|)]*\)?`)
	numberIs  = regexp.MustCompile(`^(\(|\[)?(\d{1,3}(?:\s?(?:[-,&]|à|to|bis)\s?\d{1,3})*|\d(?:\.\s?[-,&]?\s?\d)+)(?:st|nd|rd)?((?: :)?[.):\]]*)`)
	endingIs  = regexp.MustCompile(`(?i)^(?:(\d)(?:st|nd|rd) (?:time|ending)|(first|second|third) (?:time|ending))\s*:?`)
	meterIs   = regexp.MustCompile(`^\(?(\d{1,2}/\d{1,2})\)?:?(?:$|[\s,;|])`)
	noneIs    = regexp.MustCompile(`(?i)^\(?(?:n\.?\s?/?c\.?|tacet|no chords?)\)?(?:$|[\s,;|])`)
	similes   = regexp.MustCompile(`(?i)^(?:[%⁒℅]|\./\.|\.?/\.|//\.|"|""|''|sim\.?|simile)$`)
	similes2  = regexp.MustCompile(`(?i)^(%%|\.//\.|𝄏)$`)
	blankIs   = regexp.MustCompile(`^(?:\?{1,4}|_{2,}|…|\(\?+\)|\[\?+\])$`)
	arrow     = regexp.MustCompile(`^(?:-+>|=+>|>+|~|\+|&|=|•|\\|_+)$`)
	alteredBy = regexp.MustCompile(`^[b#+-](5|9|11|13)`)
	// tensionOnly is a number in parentheses that is no number of bars.
	tensionOnly = regexp.MustCompile(`^\((?:9|11|13)\)`)
	inTension   = regexp.MustCompile(`^(?:[b#+-]|add|no|omit|sus|maj|alt|[679]|1[13])`)
	gluedOn     = regexp.MustCompile(`^(.+?)[x*](\d{1,2})$`)
	gluedBeat   = regexp.MustCompile(`([^/]+)(/+)`)
	dashed      = regexp.MustCompile(`-+>?|>|\.{2,}|…`)
)

// numbersInWords are those that counts are written in.
var numbersInWords = map[string]int{"one": 1, "two": 2, "three": 3, "four": 4, "first": 1, "second": 2, "third": 3}

// suffixes are words behind a root that are part of the symbol.
var suffixes = map[string]string{"minor": "m", "major": "maj", "minor7": "m7", "major7": "maj7", "dom7": "7", "diminished": "dim",
	"augmented": "aug", "flat": "b", "sharp": "#", "seven": "7", "seventh": "7", "moll": "m", "dur": "maj", "mineur": "m", "majeur": "maj"}

// lex takes a line, or the part of one that begins in a column, apart into tokens.
func (r *reader) lex(line string, column int) []token {
	var out []token
	gap, last := 0, 0
	for i := 0; i < len(line); {
		c, size := utf8.DecodeRuneInString(line[i:])
		if c == ' ' || c == '\t' {
			gap += 1 + strings.Count(line[i:i+size], "\t")*(tabGap-1)
			i += size
			continue
		}
		column += utf8.RuneCountInString(line[last:i])
		last = i
		list, n := r.next(line[i:], column, gap, out)
		if len(list) > 0 && gap > 0 {
			list[0].gap = gap
		}
		out = append(out, list...)
		i += n
		gap = 0
	}
	return r.joined(out)
}

// next returns the tokens that a text begins with, and how many bytes they are.
func (r *reader) next(text string, column, gap int, before []token) ([]token, int) {
	one := func(k kind, n int, bytes int) ([]token, int) {
		found := strings.TrimRight(text[:bytes], " ,;|")
		return []token{{kind: k, column: column, text: found, n: n}}, len(found)
	}
	if m := barSign.FindStringSubmatch(text); m != nil {
		return []token{{kind: aBarLine, column: column, text: m[0], closes: m[1]+m[2] != "", opens: m[3] != ""}}, len(m[0])
	}
	raw := rawWord(text)
	if _, ok := r.read(raw); ok && r.roots.degrees != nil {
		return r.apart(raw, column), len(raw)
	}
	if m := endingIs.FindStringSubmatch(text); m != nil && r.repeats {
		n, _ := strconv.Atoi(m[1])
		return one(aNumber, max(n, numbersInWords[strings.ToLower(m[2])]), len(m[0]))
	}
	for _, said := range []*regexp.Regexp{eachIs, fadeIs} {
		if m := said.FindString(text); m != "" {
			return one(aRemark, 0, len(m))
		}
	}
	if m := lengthIs.FindStringSubmatch(text); m != nil {
		n, _ := strconv.Atoi(m[1] + m[3])
		n = max(n, numbersInWords[strings.ToLower(m[1]+m[3])])
		if strings.HasPrefix(strings.ToLower(m[2]+m[4]), "beat") {
			out := make([]token, max(n-1, 0))
			for i := range out {
				out[i] = token{kind: aHold, column: column, gap: 1, text: "/", n: 1}
			}
			return out, len(strings.TrimRight(m[0], " ,;|"))
		}
		return one(aLength, n, len(m[0]))
	}
	if m := countSign.FindStringSubmatch(text); m != nil && (text[0] != '(' || strings.Contains(m[0], ")")) {
		n := 2
		for _, d := range m[1:] {
			if d != "" {
				n, _ = strconv.Atoi(d)
				n = max(n, numbersInWords[strings.ToLower(d)])
			}
		}
		return one(aCount, n, len(m[0]))
	}
	if m := jumpSign.FindString(text); m != "" {
		return one(aJump, 0, len(m))
	}
	if m := meterIs.FindStringSubmatch(text); m != nil {
		if _, ok := harmony.ParseMeter(m[1]); ok {
			return one(aMeter, 0, len(m[0]))
		}
	}
	if m := noneIs.FindString(text); m != "" {
		list, n := one(aChord, 0, len(m))
		list[0].chord = harmony.Chord{Symbol: "N.C.", None: true}
		return list, n
	}
	if k := len(before) - 1; k >= 0 && before[k].kind == aChord && gap <= 1 && tensionOnly.MatchString(text) {
		return one(aWord, 0, strings.IndexByte(text, ')')+1)
	}
	if m := numberIs.FindStringSubmatch(text); m != nil && (m[1] != "(" || strings.Contains(m[3], ")")) && (m[1]+m[3] != "" || len(m[0]) == len(raw) && len(m[0]) > 0) {
		rest := text[len(m[0]):]
		if m[3] != "" || m[1] == "[" || rest == "" || strings.ContainsAny(rest[:1], " ,;|\t") {
			n, _ := strconv.Atoi(firstFigure.FindString(m[2]))
			list, _ := one(aNumber, n, len(m[0]))
			return list, len(m[0])
		}
	}
	if list, n := r.bracket(text, column, gap, before); n > 0 {
		return list, n
	}
	if strings.ContainsRune(",;", rune(text[0])) {
		return []token{{kind: aParting, column: column, text: text[:1]}}, 1
	}
	if strings.ContainsRune("])}", rune(text[0])) {
		return []token{{kind: aClosing, column: column, text: text[:1]}}, 1
	}
	if raw == "" {
		_, size := utf8.DecodeRuneInString(text)
		raw = text[:size]
	}
	return r.apart(raw, column), len(raw)
}

var firstFigure = regexp.MustCompile(`\d+`)

// bracket reads what stands in brackets or quotation marks: chords, or a remark.
func (r *reader) bracket(text string, column, gap int, before []token) ([]token, int) {
	k := strings.IndexByte("([{\"", text[0])
	if k < 0 || strings.HasPrefix(text, `""`) {
		return nil, 0
	}
	end, depth := -1, 0
	for i := 1; i < len(text) && end < 0; i++ {
		switch {
		case text[i] == ")]}\""[k] && depth == 0:
			end = i
		case text[i] == text[0]:
			depth++
		case text[i] == ")]}\""[k]:
			depth--
		}
	}
	if end < 0 {
		if text[0] == '"' {
			return nil, 0
		}
		return []token{{kind: anOpening, column: column, text: text[:1]}}, 1
	}
	inside := text[1:end]
	if k == 3 && (strings.Contains(inside, "|") || strings.TrimSpace(inside) == "") {
		return nil, 0
	}
	if n := len(before) - 1; n >= 0 && gap <= 1 && k == 0 && inTension.MatchString(inside) {
		_, ok := r.read(before[n].text + "(" + inside + ")")
		if ok && before[n].kind == aChord || before[n].kind == aNumber && n > 0 && before[n-1].kind == aChord {
			return []token{{kind: aWord, column: column, text: text[:end+1]}}, end + 1
		}
	}
	list := r.lex(inside, column+1)
	if len(list) > 2 && list[0].kind == aCount && list[1].kind == aParting {
		return []token{list[0], {kind: aRemark, column: list[2].column, text: strings.TrimLeft(inside[len(list[0].text):], ",; ")}}, end + 1
	}
	chords := 0
	for _, t := range list {
		switch t.kind {
		case aChord:
			chords++
		case aSimile, aHold, aParting, aBarLine, anOpening, aClosing, aCount:
		default:
			return []token{{kind: aRemark, column: column, text: text[:end+1]}}, end + 1
		}
	}
	if chords == 0 {
		return []token{{kind: aRemark, column: column, text: text[:end+1]}}, end + 1
	}
	open, shut := token{kind: anOpening, column: column, text: text[:1]}, token{kind: aClosing, column: column + end, text: text[end : end+1]}
	return append(append([]token{open}, list...), shut), end + 1
}

// rawWord is what a text begins with up to a space or a sign that parts words; in
// parentheses that belong to it both may stand.
func rawWord(text string) string {
	depth := 0
	for i, c := range text {
		switch {
		case c == '(' && i > 0 && strings.ContainsRune(text[i:], ')'):
			depth++
		case c == ')' && depth > 0:
			depth--
		case c == '|', depth == 0 && strings.ContainsRune(" \t,;[]{})", c),
			c == ':' && (strings.HasPrefix(strings.TrimLeft(text[i+1:], " "), "|")):
			if i > 0 && (depth == 0 || c != '|') {
				return text[:i]
			}
			if i > 0 {
				return text[:strings.IndexByte(text, '(')]
			}
		}
	}
	return text
}

// apart makes tokens of a word: a chord, several that signs join, a sign, or a word.
func (r *reader) apart(w string, column int) []token {
	at := func(k kind, text string, offset, n int) token {
		return token{kind: k, column: column + utf8.RuneCountInString(w[:offset]), gap: min(offset, 2), text: text, n: n}
	}
	switch {
	case w == "":
		return nil
	case blankIs.MatchString(w):
		return []token{at(aBlank, w, 0, 0)}
	case similes2.MatchString(w):
		return []token{at(aSimile, w, 0, 2)}
	case similes.MatchString(w):
		return []token{at(aSimile, w, 0, 1)}
	case strings.Trim(w, "./-") == "":
		return []token{at(aHold, w, 0, len(w))}
	case arrow.MatchString(w):
		return []token{at(aParting, w, 0, 0)}
	}
	if c, ok := r.read(w); ok {
		t := at(aChord, w, 0, 0)
		t.chord = c
		return []token{t}
	}
	if m := gluedOn.FindStringSubmatchIndex(w); m != nil {
		if list := r.apart(w[:m[3]], column); list[len(list)-1].kind == aChord {
			n, _ := strconv.Atoi(w[m[4]:m[5]])
			return append(list, at(aCount, w[m[3]:], m[3], n))
		}
	}
	if bare := strings.TrimRight(strings.TrimLeft(w, "*_`~<'"), "*†‡!?_~`^>.…:'"); bare != w && bare != "" {
		if c, ok := r.read(bare); ok {
			t := at(aChord, bare, 0, 0)
			t.chord, t.unsure = c, strings.Contains(w, "?")
			return []token{t}
		}
	}
	if parts := gluedBeat.FindAllStringSubmatchIndex(w, -1); len(parts) > 0 && strings.HasSuffix(w, "/") {
		var out []token
		for _, m := range parts {
			c, ok := r.read(w[m[2]:m[3]])
			if !ok {
				return []token{at(aWord, w, 0, 0)}
			}
			out = append(out, at(aChord, w[m[2]:m[3]], m[2], 0))
			out[len(out)-1].chord = c
			for i := m[4]; i < m[5]; i++ {
				out = append(out, at(aHold, "/", i, 1))
			}
		}
		return out
	}
	return r.undashed(w, at)
}

// undashed takes chords apart that dashes or arrows join.
func (r *reader) undashed(w string, at func(k kind, text string, offset, n int) token) []token {
	var out []token
	from, run := 0, ""
	for _, d := range append(dashed.FindAllStringIndex(w, -1), []int{len(w), len(w)}) {
		if d[0] == 0 {
			out, from = append(out, at(aHold, w[:d[1]], 0, d[1])), d[1]
			continue
		}
		c, ok := r.read(w[from:d[0]])
		_, next := r.read(w[d[1]:])
		starts := d[1] < len(w) && strings.ContainsRune("ABCDEFGH", rune(w[d[1]]))
		if !ok || d[1] < len(w) && !starts && !next {
			continue
		}
		if sign := w[d[0]:d[1]]; run == "" || sign == "" || run == sign {
			run = sign
		} else {
			return []token{at(aWord, w, 0, 0)} // dashes of several lengths are beats, and fill no bars
		}
		out = append(out, at(aChord, w[from:d[0]], from, 0))
		out[len(out)-1].chord = c
		if d[1] > d[0] {
			out = append(out, at(aHold, "-", d[0], 1))
		}
		from = d[1]
	}
	if from < len(w) || !slices.ContainsFunc(out, func(t token) bool { return t.kind == aChord }) {
		return []token{at(aWord, w, 0, 0)}
	}
	return out
}

// joined puts words together that are one chord: C maj7, F min 7 b5, E flat.
func (r *reader) joined(list []token) []token {
	var out []token
	counted, numbers := true, 0
	for _, t := range list {
		counted = counted && (numbers > 0 || t.kind != aChord) // the first stands before a chord
		if t.kind == aNumber {
			counted, numbers = counted && (numbers == 0 || t.n == numbers+1), t.n
		}
	}
	for _, t := range list {
		k := len(out) - 1
		goesOn := t.kind == aWord || t.kind == aChord && alteredBy.MatchString(t.text) || t.kind == aNumber && !(counted && numbers != t.n) && len(strings.Trim(t.text, "0123456789")) == 0
		if k >= 0 && goesOn && t.gap <= 1 && out[k].kind == aChord && !out[k].chord.None {
			first, second := out[k].text, strings.TrimRight(t.text, ".!")
			if s, ok := suffixes[strings.ToLower(second)]; ok {
				second = s
			} else if second == "is" || second == "as" || second == "es" {
				second = " " // a word, not the end of a German root
			}
			ways := []string{first + second}
			if alteredBy.MatchString(second) && len(strings.TrimLeft(first[1:], "#b")) == 0 {
				ways = []string{first + "(" + second + ")"}
			}
			if c, ok := r.read(ways[0]); ok && second != " " {
				out[k].text, out[k].chord = ways[0], c
				continue
			}
		}
		out = append(out, t)
	}
	return out
}

// read reads a word as a chord, in the way that the chart writes roots.
func (r *reader) read(word string) (harmony.Chord, bool) {
	if word == "" {
		return harmony.Chord{}, false
	}
	c, err := harmony.ParseChord(r.roots.fix(strings.ReplaceAll(word, " ", "")))
	return c, err == nil
}

func (r *reader) reads(word string) bool {
	_, ok := r.read(word)
	return ok
}
