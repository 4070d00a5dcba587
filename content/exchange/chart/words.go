package chart

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// word is a word of a line; column is that of its first character, counted from 1,
// gap how many spaces stand before it.
type word struct {
	column, gap int
	text        string
}

// split splits text at white space, commas outside of parentheses and
// semicolons; column is that of its first character.
func split(text string, column int) []word {
	var out []word
	open, depth, gap := false, 0, 0
	for _, c := range text {
		switch {
		case unicode.IsSpace(c), depth == 0 && (c == ',' || c == ';'):
			open = false
			gap++
		case open:
			out[len(out)-1].text += string(c)
		default:
			out, open = append(out, word{column, gap, string(c)}), true
			gap = 0
		}
		switch {
		case c == '(':
			depth++
		case c == ')' && depth > 0:
			depth--
		case unicode.IsSpace(c):
			depth = 0
		}
		column++
	}
	return out
}

var (
	// gluedBeats are chords with slashes for the beats that follow, glued together.
	gluedBeats = regexp.MustCompile(`([^/]+)(/+)`)
	glued      = regexp.MustCompile(`^(.*[^/])(/+)$`)
	// alteration is a word that alters a chord before it, though b9 might be a chord too.
	alteration = regexp.MustCompile(`^[b#](5|9|11|13)`)
	// dashBeats finds dashes that part no chords: two in a row, or one that ends a bar.
	dashBeats = regexp.MustCompile(`[A-G]\S* +- +-(?:[ |]|$)|[A-G][^-| ]* +- *\|`)
	dashed    = regexp.MustCompile(`-+>?`)
	arrow     = regexp.MustCompile(`^(-+>|=+>|>|~|\+)$`)
	nothing   = regexp.MustCompile(`(?i)^(n\.?\s?/?c\.?|tacet)$`)
	similes   = regexp.MustCompile(`(?i)^(%|\./\.|\.?/\.|"|""|''|sim\.?|simile)$`)
	ditto     = regexp.MustCompile(`^(?:"|""|'')$`)
	similes2  = regexp.MustCompile(`(?i)^(%%|\.//\.|𝄏)$`)
	suffixes  = map[string]string{"minor": "m", "major": "maj", "minor7": "m7", "major7": "maj7", "dom7": "7", "diminished": "dim", "augmented": "aug"}
)

// words returns the words of a bar or a line, those that together are one chord
// joined, those that are several taken apart.
func (r *reader) words(text string, column int) []word {
	var out []word
	for _, w := range split(text, column) {
		if k := w.column - 2; k >= 0 && k < len(r.typed) && w.gap > 0 && r.typed[k] == '\t' {
			w.gap += 3 // a tab
		}
		for _, p := range r.apart(w) {
			if k := len(out) - 1; k >= 0 && p.gap <= 1 {
				if joined, ok := r.join(out[k].text, p.text); ok {
					out[k].text = joined
					continue
				}
			}
			out = append(out, p)
		}
	}
	if r.dashes && len(out) == r.meter.Beats() {
		return out
	}
	return unseparated(out)
}

// join returns two words as one chord, where the second is none and goes on with the
// first.
func (r *reader) join(first, second string) (string, bool) {
	if s, ok := suffixes[strings.ToLower(second)]; ok {
		second = s
	}
	if holds(second) || similes.MatchString(second) || strings.HasPrefix(second, "(") && !alteration.MatchString(strings.Trim(second, "()")) && r.reads(strings.Trim(second, "()")) {
		return "", false
	}
	altered := alteration.MatchString(strings.Trim(second, "()"))
	if first == "" || !r.reads(first) || r.reads(second) && !altered || nothing.MatchString(first) || count(second) > 0 {
		return "", false
	}
	joined := first + second
	if (second[0] == 'b' || second[0] == '#') && len(second) > 1 && len(strings.TrimLeft(first[1:], "#b")) == 0 {
		joined = first + "(" + second + ")"
	}
	return joined, r.reads(joined)
}

// apart takes a word apart into chords that dashes join, and beats glued to a chord.
func (r *reader) apart(w word) []word {
	if arrow.MatchString(w.text) {
		return []word{{w.column, w.gap, "-"}}
	}
	if r.reads(w.text) || nothing.MatchString(w.text) || similes.MatchString(w.text) || similes2.MatchString(w.text) {
		return []word{w}
	}
	if whole := strings.TrimRight(w.text, "*†!"); whole != w.text && r.reads(whole) {
		return []word{{w.column, w.gap, whole}}
	}
	if whole := strings.TrimSuffix(strings.TrimSuffix(strings.TrimSuffix(w.text, "…"), ".."), "."); whole != w.text && r.reads(whole) {
		return []word{{w.column, w.gap, whole}}
	}
	if parts := gluedBeats.FindAllStringSubmatch(w.text, -1); len(parts) > 1 && strings.HasSuffix(w.text, "/") {
		var out []word
		at := w.column
		for _, p := range parts {
			if !r.reads(p[1]) {
				return []word{w}
			}
			out = append(out, word{at, 2, p[1]})
			at += utf8.RuneCountInString(p[1])
			for range len(p[2]) {
				out = append(out, word{at, 2, "/"})
				at++
			}
		}
		out[0].gap = w.gap
		if len(out)%r.meter.Beats() == 0 {
			return out
		}
		return []word{w}
	}
	if m := glued.FindStringSubmatch(w.text); m != nil && r.reads(m[1]) {
		out := []word{{w.column, w.gap, m[1]}}
		for i := range len(m[2]) {
			out = append(out, word{w.column + len([]rune(m[1])) + i, 2, "/"})
		}
		return out
	}
	var out []word
	from, run := 0, ""
	add := func(to int) bool {
		part := w.text[from:to]
		if !r.reads(part) {
			return false
		}
		out = append(out, word{w.column + len([]rune(w.text[:from])), 2, part})
		return true
	}
	for _, d := range dashed.FindAllStringIndex(w.text, -1) {
		if d[0] > from && d[1] < len(w.text) && strings.ContainsRune("ABCDEFG", rune(w.text[d[1]])) && r.reads(w.text[from:d[0]]) {
			if run != "" && run != w.text[d[0]:d[1]] {
				return []word{w} // dashes of several lengths are beats, and fill no bars
			}
			run = w.text[d[0]:d[1]]
			add(d[0])
			from = d[1]
		}
	}
	if len(out) == 0 || !add(len(w.text)) {
		return []word{w}
	}
	out[0].gap = w.gap
	return out
}

// holds reports whether a word holds the chord before it.
func holds(text string) bool {
	return strings.Trim(text, "./-") == "" && !similes.MatchString(text) && !similes2.MatchString(text)
}

// unseparated drops dashes that stand between chords, one between each two.
func unseparated(words []word) []word {
	if len(words) < 3 || len(words)%2 == 0 {
		return words
	}
	var out []word
	for i, w := range words {
		switch dash := strings.Trim(w.text, "-") == ""; {
		case dash != (i%2 == 1):
			return words
		case !dash && holds(w.text):
			return words
		case !dash:
			out = append(out, w)
		}
	}
	return out
}
