package plain

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"footfall/harmony"
)

// What is written as musicians write it and is spoken otherwise, alone between spaces and
// punctuation: a degree with an alteration, one with its direction, a note with an
// alteration, a chord symbol that is no word, a quality, and a shape's frets, low string
// first.
var (
	altered = regexp.MustCompile(`^(bb|b|#|##)[0-9]{1,2}$`)
	degree  = regexp.MustCompile(`^(bb|b|#|##)?[0-9]{1,2}$`)
	moved   = regexp.MustCompile(`^([/\\])((?:bb|b|#|##)?[0-9]{1,2})$`)
	noted   = regexp.MustCompile(`^[A-G](bb|b|#|##)$`)
	symbol  = regexp.MustCompile(`^[A-G][b#]?(m|maj|dim|aug|sus|add|alt|°|ø|[0-9(]|/[A-G])\S*$`)
	quality = regexp.MustCompile(`^(m|maj|dim|sus|mMaj|add|aug)[0-9(b#]\S*$|^(dim|m7b5|[0-9]{1,2}(sus|[(b#])\S+)$`)
	fretted = regexp.MustCompile(`^(x|[0-9]{1,2})(-(x|[0-9]{1,2})){3,}$`)
	around  = regexp.MustCompile(`^(["(]*)(.*?)([.,:;?!")]*)$`)
)

// spoken writes a text as a musician says it and a screen reader says it well: "flat
// three" for b3, "B flat major seven" for Bbmaj7, "the shape from string 4: muted, 3, 2,
// 3" for x-3-2-3; degrees in a row have commas between them.
func spoken(text string) string {
	words := strings.Split(text, " ")
	said := slices.Clone(words)
	for i, w := range words {
		m := around.FindStringSubmatch(w)
		if strings.HasSuffix(m[3], ")") && strings.Count(m[2], "(") > strings.Count(m[2], ")") {
			m[2], m[3] = m[2]+")", strings.TrimSuffix(m[3], ")")
		}
		last := i+1 == len(words)
		switch {
		case fretted.MatchString(m[2]):
			if m[3] == "" && !last {
				m[3] = ","
			}
			said[i] = m[1] + shapeSaid(m[2], i == 0, i > 0 && strings.HasSuffix(words[i-1], "shape")) + m[3]
			continue
		case quality.MatchString(m[2]) && i > 0 && (words[i-1] == "a" || words[i-1] == "an"):
			said[i-1] = "a"
			if word := spokenWord(m[2]); strings.HasPrefix(word, "a") {
				said[i-1] = "an"
			}
		case m[3] == "" && !last && inRow(words, i):
			m[3] = ","
		}
		said[i] = m[1] + spokenWord(m[2]) + m[3]
	}
	return strings.Join(said, " ")
}

// inRow reports whether a word is a degree in a row, and the next one too: of three or
// more, or of two with an alteration or a direction.
func inRow(words []string, at int) bool {
	isDegree := func(w string) bool { return degree.MatchString(w) || moved.MatchString(w) }
	first, end := at, at
	for first > 0 && isDegree(words[first-1]) {
		first--
	}
	for end < len(words) && isDegree(words[end]) {
		end++
	}
	if end == at { // another sign stands behind it
		return false
	}
	if end < len(words) && isDegree(strings.TrimRight(words[end], ".,:;?")) {
		end++
	}
	row := words[first:end]
	told := slices.ContainsFunc(row, func(w string) bool { return !strings.ContainsAny(w[:1], "0123456789") })
	return end > at+1 && (len(row) > 2 || told)
}

// shapeSaid says a shape's frets from its lowest string on.
func shapeSaid(frets string, begins, named bool) string {
	strs := strings.Split(frets, "-")
	says := fmt.Sprintf("from string %d: %s", len(strs), strings.ReplaceAll(strings.Join(strs, ", "), "x", "muted"))
	switch {
	case begins:
		return capital(says)
	case named:
		return says
	}
	return "the shape " + says
}

func spokenWord(w string) string {
	switch {
	case w == "+": // of a layer
		return "with"
	case altered.MatchString(w):
		if d, err := harmony.ParseDegree(w); err == nil {
			return d.Spoken()
		}
	case moved.MatchString(w):
		m := moved.FindStringSubmatch(w)
		return map[string]string{"/": "up ", `\`: "down "}[m[1]] + spokenWord(m[2])
	case noted.MatchString(w):
		if n, err := harmony.ParseNote(w); err == nil {
			return n.Spoken()
		}
	case symbol.MatchString(w):
		if c, err := harmony.ParseChord(w); err == nil {
			return c.Spoken()
		}
	case quality.MatchString(w):
		if q, err := harmony.ParseQuality(w); err == nil {
			return q.Spoken()
		}
	}
	return w
}

// written is an answer as the rooms read it: what a choice says is that choice, and what
// is spoken is written.
func written(choices []string, text string) string {
	plain := func(s string) string { return strings.ToLower(strings.TrimRight(s, ". ")) }
	for _, c := range choices {
		if plain(spoken(c)) == plain(text) {
			return c
		}
	}
	_, frets, ok := strings.Cut(text, ": ")
	if ok && strings.Contains(strings.ToLower(text), "from string") {
		text = frets
	}
	return harmony.Unspoken(text)
}

// Speaker writes whole lines on as they are spoken.
type Speaker struct {
	To   io.Writer
	line []byte
}

// Write writes the lines that are whole.
func (s *Speaker) Write(b []byte) (int, error) {
	s.line = append(s.line, b...)
	for {
		line, rest, whole := bytes.Cut(s.line, []byte("\n"))
		if !whole {
			return len(b), nil
		}
		s.line = rest
		if _, err := io.WriteString(s.To, spoken(string(line))+"\n"); err != nil {
			return 0, err
		}
	}
}
