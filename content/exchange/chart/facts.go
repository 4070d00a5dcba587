package chart

import (
	"regexp"
	"slices"
	"strconv"
	"strings"

	"footfall/harmony"
)

var (
	// factEnd is what parts what a title line says.
	factEnd = regexp.MustCompile(`\s+[-/]+\s+|\s*[,;()\[\]]+\s*|\s{2,}|\t+`)
	// keyFact, tempoFact and feelFact are one thing that such a line says, in full.
	keyFact    = regexp.MustCompile(`(?i)^(?:(?:in|key(?: of)?:?)\s+)?([A-Ga-g](?:[#b]|[ -]flat|[ -]sharp)?)[ -]?(m|min|minor|maj|major|moll|dur|mineur|majeur|menor|mayor)?$`)
	tempoFact  = regexp.MustCompile(`(?i)^(?:(?:tempo|bpm|ca\.?|circa|around|about|at|roughly)?[:= ~@]*|[♩q]\s*=\s*(?:ca\.? ?)?)(\d{2,3})\s*(?:ish|bpm)?$`)
	feelFact   = regexp.MustCompile(`(?i)^(?:(?:(?:med(?:ium)?|slow(?:ly|ish)?|fast(?:ish)?|up(?:[ -]?tempo)?|bright|easy|relaxed|lazy|moderate(?:ly)?|very|quite|light|hard|straight|even|swing|swung|shuffle|bossa|nova|samba|latin|ballad|waltz|jazz|blues|funk|modal|bop|langsam|schnell|lento|lent|vivo|rapide|moderato|allegro|andante|calypso|bolero|rumba|tango|march|eighths|8ths|feel|groove|in|two|three|four|two-beat|[2-4]|swing)[.]?)[ -]*)+(\d{2,3})?$`)
	numberWord = regexp.MustCompile(`(?i)^(?:two|three|four|[2-4]|in|march)$`)
	bareTail   = regexp.MustCompile(`^(.*\p{Ll}\S*)\s+([A-G][#b]?m?)\s+(\d{2,3})$`)
	greeting   = regexp.MustCompile(`(?i)^\W*(?:hi|hiya|hey|hello|yo|dear|hallo|hola|salut|bonjour|ciao|moin|servus|liebe[rs]?|good (?:morning|evening|afternoon))(?:[\s,!.]|$)`)
	rowOfNames = regexp.MustCompile(`(?i)^\W*(?:sections?|parts?|bars?)\s*[;,\t|]`)
	ofCourse   = regexp.MustCompile(`(?i)\b(?:i've|i'm|u|can you|could you|for you|(?:tune|song) is called|here's|here (?:is|are)|this is|thanks|please|correct me|as promised|from memory)\b`)
)

// factsBehind takes a first line that names the tune and, behind commas, dashes, brackets
// or wide gaps, a key, a meter, a tempo or a feel, and leaves those out of the title.
func (r *reader) factsBehind(text string) bool {
	if !r.first() || strings.Contains(text, "|") || headers.MatchString(text) && !behind.MatchString(text) {
		return false
	}
	pieces := factEnd.Split(strings.TrimSpace(text), -1)
	if m := bareTail.FindStringSubmatch(text); m != nil && len(pieces) == 1 {
		pieces = m[1:]
	}
	name := pieces[0]
	if len(pieces) < 2 || !hasName(strings.ToLower(name)) || r.noTitle(text) || sectionFirst.MatchString(name) || r.chordWords(name)*2 >= len(strings.Fields(name)) || strings.ContainsAny(name, ":\"") {
		return false
	}
	taken := 0
	var left []string
	for _, p := range pieces[1:] {
		if p = strings.TrimSpace(p); p == "" {
			continue
		}
		if r.fact(p, false) {
			taken++
		} else {
			left = append(left, p)
		}
	}
	if figures.MatchString(text[strings.LastIndex(text, ",")+1:]) && taken == 1 && len(pieces) == 2 {
		r.doubt("line %d: %s stays in the title: write Tempo: %s if it is the tempo", r.number, pieces[1], pieces[1])
		return false
	}
	if taken == 0 || r.chordWords(strings.Join(left, " ")) > 0 || len(left) > taken {
		return false
	}
	key := r.score.Key
	r.feel(text)
	r.score.Key = key
	r.feel(name)
	for _, p := range pieces[1:] {
		r.fact(strings.TrimSpace(p), true)
	}
	r.title(strings.Join(append([]string{name}, left...), ", "))
	return true
}

// factsAlone takes a line before the first bar that holds nothing but two or more of a key,
// a meter, a tempo and a feel.
func (r *reader) factsAlone(text string) bool {
	if m := headers.FindStringIndex(text); len(r.bars) > 0 || m != nil && m[0] == 0 || !r.allFacts(text) {
		return false
	}
	r.feel(text)
	for _, p := range factEnd.Split(text, -1) {
		r.fact(strings.TrimSpace(p), true)
	}
	return true
}

// allFacts reports whether a text holds such things only, two at least and no more than one
// that a chord could be.
func (r *reader) allFacts(text string) bool {
	facts, keys := 0, 0
	for _, p := range factEnd.Split(strings.TrimSpace(text), -1) {
		if p = strings.TrimSpace(p); p == "" {
			continue
		}
		if !r.fact(p, false) {
			return false
		}
		if facts++; r.reads(p) {
			keys++
		}
	}
	return facts > 1 && keys < 2
}

// fact reports whether a text is one thing that is said of how to play, and takes it.
func (r *reader) fact(text string, take bool) bool {
	tempo := func(figures string) bool {
		n, err := strconv.ParseFloat(figures, 64)
		if err != nil || n < 40 || n > 320 {
			return false
		}
		if take {
			r.tempo(n, text)
		}
		return true
	}
	if m := behind.FindStringIndex("- " + text); m != nil {
		if take {
			r.header(text)
		}
		return true
	}
	if m := keyFact.FindStringSubmatch(inLetters(text)); m != nil && (m[2] != "" || text[0] < 'a' || len(text) > 2) {
		if take {
			r.setKey(m[1], m[2])
		}
		return true
	}
	if m := tempoFact.FindStringSubmatch(text); m != nil {
		return tempo(m[1])
	}
	if m := feelFact.FindStringSubmatch(text); m != nil && !numberWord.MatchString(text) {
		if take {
			r.feel(strings.TrimSuffix(text, m[1]))
		}
		return m[1] == "" || tempo(m[1])
	}
	if m, ok := harmony.ParseMeter(text); ok {
		if take {
			r.setMeter(m)
		}
		return true
	}
	if note := pace.FindString(text); note != "" && figures.MatchString(strings.Replace(text, note, "", 1)) {
		return tempo(strings.Trim(strings.Replace(text, note, "", 1), " ish"))
	}
	if m := speed.FindString(text); m != "" && len(m) == len(text) || lettersIn.FindString(text) == text {
		if take {
			r.feel(text)
		}
		return true
	}
	return false
}

// noTitle reports whether a first line greets, or says something, and is no title; behind
// a greeting a title has its words in capitals.
func (r *reader) noTitle(text string) bool {
	words := strings.Fields(text)
	inCapitals := !slices.ContainsFunc(words, func(w string) bool {
		return len(w) > 3 && w == strings.ToLower(w) || strings.HasSuffix(w, ":")
	})
	switch {
	case rowOfNames.MatchString(text):
		return true
	case greeting.MatchString(text):
		return len(words) < 3 || !inCapitals || strings.ContainsAny(text[len(text)-1:], ",!.")
	case len(words) > 3 && !inCapitals && (strings.HasSuffix(text, ":") || ofCourse.MatchString(text)):
		return true
	case !r.greeted:
		return false
	}
	return !inCapitals || len(words) > 7
}
