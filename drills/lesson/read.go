package lesson

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"footfall/drills"
	"footfall/drills/ramp"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Tunes finds the tune that a lesson names; false if there is none.
type Tunes func(name string) (*tune.Tune, bool)

// Read reads a lesson and reports every fault of the text, in its order; the
// lesson is nil where there is one. Tunes must know every tune that the lesson
// names.
//
// The first lines are `lesson TITLE` and `goal TEXT`. [text] begins the page,
// with an empty line between paragraphs; [practice] begins the tasks, one a line,
// in clauses split by |:
//
//	drill | name | chords C F G | degrees 1 3 5 | done 18 of 20
//	drill | find | tune lantern-street | done 18 of 20 in 4 s
//	play | tune lantern-street | section A | layer bass | ramp 60:80+4 | done 2 clean at 80
//
// A line that starts with # is a comment.
func Read(text string, tunes Tunes) (*Lesson, tune.Faults) {
	if f, not := tune.NotText(text); not {
		return nil, tune.Faults{f}
	}
	r := &reader{tunes: tunes}
	if !utf8.ValidString(text) {
		r.fault(1, 1, "bytes that are no UTF-8", "UTF-8 text")
		return nil, r.faults
	}
	lines := strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n")
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

type reader struct {
	lesson Lesson
	tunes  Tunes
	faults tune.Faults
	parts  []string
	// open says that a paragraph has begun; titled, aimed and tasked that a title,
	// a goal and a task were found, right or wrong.
	open, titled, aimed, tasked bool
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
		r.fault(n, column(line, indent(line)), strconv.Quote(trimmed), "[text] or [practice]")
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
	case "lesson":
		into, r.titled = &r.lesson.Title, true
	case "goal":
		into, r.aimed = &r.lesson.Goal, true
	default:
		r.fault(n, column(line, at), strconv.Quote(key), "lesson, goal, [text] or [practice]")
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
		r.fault(last, 1, "nothing to practise", "at least one line under [practice]")
	}
}

// clause is one part of a task's line with its place.
type clause struct {
	text   string
	column int
}

func clauses(line string) []clause {
	var all []clause
	offset := 0
	for _, part := range strings.Split(line, "|") {
		all = append(all, clause{strings.TrimSpace(part), column(line, offset+indent(part))})
		offset += len(part) + 1
	}
	return all
}

func (r *reader) task(n int, line string) {
	r.tasked = true
	all := clauses(line)
	before := len(r.faults)
	var t Task
	switch all[0].text {
	case "drill":
		d := r.drill(n, all)
		t.Drill = &d
	case "play":
		p := r.play(n, all)
		t.Passage = &p
	default:
		r.fault(n, all[0].column, strconv.Quote(all[0].text), "drill or play, then clauses split by |")
	}
	if len(r.faults) == before {
		r.lesson.Tasks = append(r.lesson.Tasks, t)
	}
}

// each calls take with every clause's word and rest, and reports clauses that
// come twice.
func (r *reader) each(n int, all []clause, take func(c clause, word, rest string) bool, want string) map[string]bool {
	seen := map[string]bool{}
	for _, c := range all {
		word, rest, _ := strings.Cut(c.text, " ")
		rest = strings.TrimSpace(rest)
		switch {
		case seen[word]:
			r.fault(n, c.column, "a second "+strconv.Quote(word), "each clause once")
		case !take(c, word, rest):
			r.fault(n, c.column, strconv.Quote(c.text), want)
		}
		seen[word] = true
	}
	return seen
}

func (r *reader) drill(n int, all []clause) Drill {
	var d Drill
	c := all[min(1, len(all)-1)]
	i := slices.IndexFunc(drills.Kinds, func(k drills.Kind) bool { return len(all) > 1 && string(k.Name) == c.text })
	if i < 0 {
		r.fault(n, c.column, strconv.Quote(c.text), "the kind of drill second: "+drills.KindNames())
		return d
	}
	d.Kind = drills.Kinds[i].Name
	seen := r.each(n, all[2:], func(c clause, word, rest string) bool {
		switch word {
		case "tune":
			d.Tune = rest
			r.tune(n, c, rest)
		case "chords":
			d.Chords = rest
			r.chords(n, c, rest)
		case "degrees":
			d.Degrees = strings.Fields(rest)
			r.degrees(n, c, d.Degrees)
		case "done":
			d.Right, d.Of, d.Within = r.doneDrill(n, c, rest)
		default:
			return false
		}
		return true
	}, "tune, chords, degrees or done")
	switch {
	case seen["tune"] == seen["chords"]:
		r.fault(n, all[0].column, strconv.Quote("drill"), "either a tune or chords to ask about")
	case drills.Kinds[i].Ordered && !seen["tune"]:
		r.fault(n, c.column, strconv.Quote(c.text), "a tune whose line is walked")
	}
	if !seen["done"] {
		r.fault(n, all[0].column, "no done", "what counts as done, like: done 18 of 20")
	}
	return d
}

func (r *reader) tune(n int, c clause, name string) *tune.Tune {
	t, ok := r.tunes(name)
	if !ok {
		r.fault(n, c.column, strconv.Quote(name), "a tune that `footfall tune list` names")
	}
	return t
}

func (r *reader) chords(n int, c clause, text string) {
	symbols := strings.Fields(text)
	if len(symbols) == 0 {
		r.fault(n, c.column, "no chords", "chord symbols with spaces between")
	}
	for _, s := range symbols {
		if _, err := harmony.ParseChord(s); err != nil {
			r.fault(n, c.column, strconv.Quote(s), "chord symbols with spaces between; "+err.Error())
		}
	}
}

func (r *reader) degrees(n int, c clause, degrees []string) {
	if len(degrees) == 0 {
		r.fault(n, c.column, "no degrees", "degrees with spaces between, like 1 b3 5")
	}
	for i, text := range degrees {
		d, err := harmony.ParseDegree(text)
		if err != nil {
			r.fault(n, c.column, strconv.Quote(text), "degrees with spaces between, like 1 b3 5")
		}
		degrees[i] = d.String()
	}
}

// doneDrill reads `18 of 20` and `18 of 20 in 4 s`.
func (r *reader) doneDrill(n int, c clause, rest string) (right, of int, within time.Duration) {
	f := strings.Fields(rest)
	ok := len(f) == 3 || len(f) == 6 && f[3] == "in" && f[5] == "s"
	if ok {
		var err1, err2, err3 error
		right, err1 = strconv.Atoi(f[0])
		of, err2 = strconv.Atoi(f[2])
		if len(f) == 6 {
			var seconds float64
			seconds, err3 = strconv.ParseFloat(f[4], 64)
			within = time.Duration(seconds * float64(time.Second))
			ok = seconds > 0 && seconds <= 60
		}
		ok = ok && f[1] == "of" && err1 == nil && err2 == nil && err3 == nil && right > 0 && right <= of && of <= 200
	}
	if !ok {
		r.fault(n, c.column, strconv.Quote(c.text), "like: done 18 of 20, or: done 18 of 20 in 4 s")
	}
	return right, of, within
}

func (r *reader) play(n int, all []clause) Passage {
	p := Passage{Layer: fretboard.Bass.String()}
	var t *tune.Tune
	var section clause
	seen := r.each(n, all[1:], func(c clause, word, rest string) bool {
		switch word {
		case "tune":
			p.Tune = rest
			t = r.tune(n, c, rest)
		case "section":
			p.Section, section = rest, c
		case "layer":
			p.Layer = rest
			if _, err := tune.ParseLayer(rest); err != nil {
				r.fault(n, c.column, strconv.Quote(rest), "a layer: bass, bass+changes or bass+halves")
			}
		case "ramp":
			var err error
			if p.Ramp, err = ramp.Parse(rest); err != nil {
				r.fault(n, c.column, strconv.Quote(rest), err.Error())
			}
		case "done":
			p.Clean, p.At = r.donePlay(n, c, rest)
		default:
			return false
		}
		return true
	}, "tune, section, layer, ramp or done")
	for _, word := range []string{"tune", "ramp", "done"} {
		if !seen[word] {
			r.fault(n, all[0].column, "no "+word, "a clause like: "+map[string]string{
				"tune": "tune lantern-street", "ramp": "ramp 60:80+4", "done": "done 2 clean at 80"}[word])
		}
	}
	if t != nil && seen["section"] && t.Section(p.Section) == nil {
		var names []string
		for _, s := range t.Sections {
			names = append(names, s.Name)
		}
		r.fault(n, section.column, strconv.Quote(p.Section), "a section of the tune: "+strings.Join(names, ", "))
	}
	if p.At > 0 && p.Ramp.Target > 0 && p.At > p.Ramp.Target {
		r.fault(n, all[0].column, fmt.Sprintf("done at %g", p.At), fmt.Sprintf("a tempo that the ramp reaches, up to %g", p.Ramp.Target))
	}
	return p
}

// donePlay reads `2 clean at 80`.
func (r *reader) donePlay(n int, c clause, rest string) (clean int, at float64) {
	f := strings.Fields(rest)
	if len(f) == 4 && f[1] == "clean" && f[2] == "at" {
		var err1, err2 error
		clean, err1 = strconv.Atoi(f[0])
		at, err2 = strconv.ParseFloat(f[3], 64)
		if err1 == nil && err2 == nil && clean > 0 && clean <= 20 && at >= tune.LowestTempo && at <= tune.HighestTempo {
			return clean, at
		}
	}
	r.fault(n, c.column, strconv.Quote(c.text), "like: done 2 clean at 80")
	return 0, 0
}
