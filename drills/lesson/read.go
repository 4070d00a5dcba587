package lesson

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"footfall/harmony/tune"
)

// Tunes finds the tune that a lesson names; false if there is none.
type Tunes func(name string) (*tune.Tune, bool)

// Read reads a lesson and reports every fault of the text, in its order; the
// lesson is nil where there is one. Name is what it is called for good, and Tunes must
// know every tune that it names.
//
// The first lines are `lesson TITLE` and `goal TEXT`, and where they are wanted `needs`
// and `teaches` with words split by commas. [text] begins the page, with an empty line
// between paragraphs; [practice] begins the tasks, one a line, in clauses split by |:
//
//	drill | name | chords C F G | degrees 1 3 5 | done 18 of 20
//	drill | find | tune lantern-street | done 18 of 20 in 4 s
//	play | tune lantern-street | section A | layer bass | ramp 60:80+4 | done 2 clean at 80
//	has | bars 8 | middle 5 m7:b3
//
// A line of `has` promises what the passage above it has, as Promise says it. [tune] begins the
// lesson's own tune, to the end of the text; lines name it `tune here`. A line that
// starts with # is a comment.
func Read(name, text string, tunes Tunes) (*Lesson, tune.Faults) {
	if f, not := tune.NotText(text); not {
		return nil, tune.Faults{f}
	}
	r := &reader{lesson: Lesson{Name: name}, tunes: tunes}
	if !utf8.ValidString(text) {
		r.fault(1, 1, "bytes that are no UTF-8", "UTF-8 text")
		return nil, r.faults
	}
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	lines = r.own(text, lines)
	part := ""
	for i, line := range lines {
		n := i + 1
		trimmed := strings.TrimSpace(line)
		switch {
		case strings.HasPrefix(trimmed, "#"):
		case strings.HasPrefix(trimmed, "[") && strings.HasSuffix(trimmed, "]"):
			part = r.part(n, line, trimmed)
		case part == "text":
			r.paragraph(trimmed)
		case trimmed == "":
		case part == "practice":
			r.task(n, line)
		case part == "":
			r.header(n, line)
		}
	}
	r.missing(max(1, len(lines)))
	if len(r.faults) > 0 {
		return nil, r.faults.Sort()
	}
	return &r.lesson, nil
}

// OwnText is the text of the tune that a lesson's text brings with it, and how many lines stand
// above it; false where it brings none.
func OwnText(text string) (own string, above int, ok bool) {
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
	i := slices.IndexFunc(lines, func(l string) bool { return strings.TrimSpace(l) == "[tune]" })
	return strings.Join(lines[i+1:], "\n"), i + 1, i >= 0
}

// own reads the lesson's own tune, and returns the lines before it.
func (r *reader) own(text string, lines []string) []string {
	own, above, ok := OwnText(text)
	if !ok {
		return lines
	}
	t, faults := tune.Read(own)
	for _, f := range faults {
		f.Line = min(f.Line+above, len(lines)) // nothing may follow
		r.faults = append(r.faults, f)
	}
	r.lesson.Own = t
	if t == nil {
		r.lesson.Own = &tune.Tune{} // so that its name is known
		r.broken = true
	}
	return lines[:above-1]
}

type reader struct {
	lesson Lesson
	tunes  Tunes
	faults tune.Faults
	parts  []string
	// open says that a paragraph has begun; titled, aimed and tasked that a title,
	// a goal and a task were found, right or wrong.
	open, titled, aimed, tasked bool
	// broken says that the lesson's own tune has faults.
	broken bool
}

func (r *reader) fault(line, column int, found, want string) {
	r.faults = append(r.faults, tune.Fault{Line: line, Column: column, Found: found, Want: want})
}

// column returns the column, in characters from 1, of a byte offset.
func column(line string, offset int) int {
	return utf8.RuneCountInString(line[:min(max(offset, 0), len(line))]) + 1
}

func indent(line string) int { return len(line) - len(strings.TrimLeft(line, " \t")) }

func (r *reader) part(n int, line, trimmed string) string {
	name := strings.TrimSpace(trimmed[1 : len(trimmed)-1])
	if name != "text" && name != "practice" {
		r.fault(n, column(line, indent(line)), strconv.Quote(trimmed), "[text], [practice] or [tune]")
		return "unknown"
	}
	if slices.Contains(r.parts, name) {
		r.fault(n, column(line, indent(line)), "a second "+trimmed, "each part once")
	}
	r.parts = append(r.parts, name)
	r.open = false
	return name
}

func (r *reader) paragraph(trimmed string) {
	switch {
	case trimmed == "":
		r.open = false
	case r.open:
		r.lesson.Text[len(r.lesson.Text)-1] += " " + trimmed
	default:
		r.lesson.Text = append(r.lesson.Text, trimmed)
		r.open = true
	}
}

func (r *reader) header(n int, line string) {
	at := indent(line)
	key, value, _ := strings.Cut(line[at:], " ")
	value = strings.TrimSpace(value)
	var into *string
	switch key {
	case "needs":
		r.lesson.Needs = r.words(n, column(line, at), key, value, r.lesson.Needs)
		return
	case "teaches":
		r.lesson.Teaches = r.words(n, column(line, at), key, value, r.lesson.Teaches)
		return
	case "lesson":
		into, r.titled = &r.lesson.Title, true
	case "goal":
		into, r.aimed = &r.lesson.Goal, true
	default:
		r.fault(n, column(line, at), strconv.Quote(key), "lesson, goal, needs, teaches, [text] or [practice]")
		return
	}
	switch {
	case value == "":
		r.fault(n, column(line, at+len(key)), "nothing", "some words after "+key)
	case *into != "":
		r.fault(n, column(line, at), "a second "+key, "each once")
	default:
		*into = value
	}
}

// words reads words split by commas.
func (r *reader) words(n, column int, key, value string, before []string) (words []string) {
	for w := range strings.SplitSeq(value, ",") {
		if w = strings.TrimSpace(w); w != "" {
			words = append(words, w)
		}
	}
	if before != nil || words == nil {
		r.fault(n, column, strconv.Quote(strings.TrimSpace(key+" "+value)), "one line of "+key+" with words split by commas")
	}
	return words
}

// missing reports what the text never came to.
func (r *reader) missing(last int) {
	if !r.titled {
		r.fault(1, 1, "no title", "a first line like: lesson What a degree is")
	}
	if !r.aimed {
		r.fault(1, 1, "no goal", "a line like: goal Name the third of any chord")
	}
	if len(r.lesson.Text) == 0 {
		r.fault(last, 1, "no text", "a page under [text]")
	}
	if !r.tasked {
		r.fault(last, 1, "nothing to practice", "at least one line under [practice]")
	}
}
