package chart

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// phrase is a text that says in words what is played again, read from left to right.
type phrase struct {
	text  string
	words []string // in small letters, without signs
	at    []int    // the byte at which each begins
	to    []int    // and ends
	stops []bool   // a sign of parting stands behind it
	i     int
	// head is set behind the mark of a section, where a name alone says which.
	head bool
	// led is set behind a clause that plays something.
	led bool
}

var (
	wordIn = regexp.MustCompile(`[^\s,;.:!?()\[\]"]+`)
	// likeWords are words for a section that has the bars of another.
	likeWords = []string{"same chords as", "same changes as", "same thing as", "same as", "the same as", "chords as", "chords of", "chords from", "like", "as", "over", "on", "uses", "use", "=", "wie", "comme", "como", "in"}
	// backWords lead to what is played again.
	backWords = []string{"d c", "dc", "da capo", "go back to", "back to", "back into", "return to", "jump to", "take it from", "go to", "repeat from", "play from", "again from", "from", "to", "into"}
	playWords = []string{"repeat", "repeats", "rpt", "play", "plays", "do", "again", "another", "one more", "reprise", "use", "take", "loop"}
	joiners   = []string{"the", "and", "then", "now"}
	fillers   = []string{"the", "and", "then", "now", "so", "just", "we", "you", "it's", "its", "ok", "go", "please", "with", "for", "is", "are", "finally", "n", "&", "+", "also", "of", "this time"}
	closing   = []string{"as before", "as above", "as written", "please", "to finish", "to end", "to close", "at the end", "and out", "n out", "& out", "out", "straight", "in full", "through", "thru",
		"over", "around", "round", "in all", "altogether", "in total", "total", "complete", "and fine", "before", "above"}
	numbersSaid = map[string]int{"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "first": 1, "second": 2, "third": 3, "fourth": 4, "1st": 1, "2nd": 2, "3rd": 3, "4th": 4, "opening": 1}
	rangeSaid   = regexp.MustCompile(`^(\d{1,3})(?:-(\d{1,3}))?$`)
	timesWord   = regexp.MustCompile(`^(?:x(\d{1,2})|(\d{1,2})x)$`)
)

func phraseOf(text string) *phrase {
	p := &phrase{text: text}
	end := 0
	for _, m := range wordIn.FindAllStringIndex(text, 200) {
		if k := len(p.stops) - 1; k >= 0 {
			p.stops[k] = strings.ContainsAny(text[end:m[0]], ",;.:(-")
		}
		if strings.Trim(text[m[0]:m[1]], "-") == "" {
			continue
		}
		p.words, p.stops = append(p.words, strings.ToLower(text[m[0]:m[1]])), append(p.stops, true)
		p.at, p.to = append(p.at, m[0]), append(p.to, m[1])
		end = m[1]
	}
	return p
}

func (p *phrase) done() bool { return p.i >= len(p.words) }

func (p *phrase) word() string {
	if p.done() {
		return ""
	}
	return p.words[p.i]
}

// eat takes the longest of some wordings that comes next.
func (p *phrase) eat(wordings ...string) bool {
	longest := 0
	for _, w := range wordings {
		fields := strings.Fields(w)
		if len(fields) > longest && p.i+len(fields) <= len(p.words) && slices.Equal(fields, p.words[p.i:p.i+len(fields)]) {
			longest = len(fields)
		}
	}
	p.i += longest
	return longest > 0
}

func (p *phrase) fill() {
	for p.eat(fillers...) {
	}
}

// number takes a number in figures or words, 0 for none.
func (p *phrase) number() int {
	n, err := strconv.Atoi(p.word())
	if err != nil {
		n = numbersSaid[p.word()]
	}
	if n > 0 {
		p.i++
	}
	return n
}

// passage is what a phrase plays: bars, or all that has just been written.
type passage struct {
	from, to int
	// here is set for what has just been written, top for the whole chart.
	here, top bool
	name      string
	// at is the place of a section among the parts, -1 for the one that is being read;
	// later is set where the bars come later in the chart.
	at    int
	later bool
}

// saying is a phrase that has been understood.
type saying struct {
	passage
	found, led, like, again bool
	// times is how often it is played in all, more how often once more.
	times, more int
	ending      int
	// last is how many bars are others than before, change the text that has them.
	last   int
	change string
	// endOn is a chord on which all ends.
	endOn string
}

// passage takes the words for some of the bars.
func (r *reader) passage(p *phrase) (w passage, ok bool) {
	p.fill()
	start := p.i
	fail := func() (passage, bool) { p.i = start; return passage{}, false }
	switch {
	case p.eat("top", "beginning", "start", "very top", "very beginning"):
		return passage{top: true, to: len(r.bars)}, true
	case p.eat("whole thing", "whole tune", "whole song", "whole form", "whole lot", "everything", "all", "it all", "that all", "all of it", "all of that", "all of this", "tune", "song", "lot"):
		return passage{top: true, to: len(r.bars)}, true
	case p.eat("same again", "both lines", "both", "these lines", "these two lines", "all lines", "same thing", "same chords", "same changes", "same bit", "same", "ditto", "idem", "dito", "igual", "that", "this", "it", "above", "that bit", "that part", "that line", "this bit", "this part", "these"):
		for p.eat("bit", "part", "section", "chords", "changes", "thing", "lot", "one", "line", "lines", "as above", "as before") {
		}
		return passage{here: true}, true
	}
	nth, last := 0, p.eat("last", "final", "previous")
	if !last {
		nth = p.number()
		if nth > 0 && p.eat("time", "times", "ending", "more") {
			return fail()
		}
	}
	n := p.number()
	if n == 0 {
		n = 1
	} else if nth == 0 && !last {
		return fail()
	}
	whole := passage{to: len(r.bars)}
	if len(r.bars) == 0 && r.later != nil {
		whole = passage{to: len(r.later.bars), later: true}
		if k := len(r.later.parts) - 1; k > 0 && endPart.MatchString(r.later.parts[k].name) {
			whole.to = r.later.parts[k].from
		}
	}
	unit := ""
	for _, u := range []string{"bar", "line", "section", "half"} {
		if p.eat(map[string][]string{
			"bar": {"bars", "bar", "measures", "measure", "m", "mm"}, "line": {"lines", "line", "row", "rows"},
			"section": {"bit", "part", "section", "block", "chunk", "phrase", "strain", "bits", "parts", "sections"}, "half": {"half"},
		}[u]...) {
			unit = u
			break
		}
	}
	if unit != "" && (nth > 0 || last) {
		if p.eat("of", "from", "in") {
			if whole, ok = r.passage(p); !ok || whole.here {
				return fail()
			}
		}
		starts := append(r.startsOf(unit, whole), whole.to)
		k := len(starts) - 1
		switch {
		case k == 0:
			r.wanted = true
			return fail()
		case last && n <= k:
			whole.from = starts[k-n]
		case nth > 0 && nth-1+n <= k:
			whole.from, whole.to = starts[nth-1], starts[nth-1+n]
		default:
			return fail()
		}
		whole.name, whole.top = "", false
		return whole, true
	}
	if m := rangeSaid.FindStringSubmatch(p.word()); m != nil && (unit == "bar" || unit == "line" || unit == "" && m[2] != "") && nth == 0 && !last {
		p.i++
		a, _ := strconv.Atoi(m[1])
		b, _ := strconv.Atoi(m[2])
		if m[2] == "" {
			if b = a; p.eat("to", "through", "thru", "and", "-", "&") {
				b = p.number()
			}
		}
		if unit == "" {
			unit = "bar"
		}
		starts := append(r.startsOf(unit, whole), whole.to)
		if a < 1 || b < a || b >= len(starts) {
			return fail()
		}
		return passage{from: starts[a-1], to: starts[b]}, true
	}
	p.i = start
	return r.namedPassage(p)
}

// startsOf are the first bars of all bars, lines, parts or halves of a passage.
func (r *reader) startsOf(unit string, of passage) (out []int) {
	switch unit {
	case "bar":
		for i := of.from; i < of.to; i++ {
			out = append(out, i)
		}
		return out
	case "line":
		out = r.rows
	case "half":
		return []int{of.from, (of.from + of.to) / 2}
	default:
		for _, s := range r.parts {
			out = append(out, s.from)
		}
		if out = append(out, r.part.from); len(r.parts) < 2 {
			out = r.blocks
		}
	}
	out = slices.DeleteFunc(slices.Clone(out), func(i int) bool { return i < of.from || i >= of.to })
	return slices.Compact(out)
}

// namedPassage takes the name of a section that has been read, or that comes.
func (r *reader) namedPassage(p *phrase) (passage, bool) {
	start := p.i
	p.eat("last", "final", "first")
	p.eat("section", "part")
	for n := min(3, len(p.words)-p.i); n > 0; n-- {
		name := p.text[p.at[p.i]:p.to[p.i+n-1]]
		for k, name := range []string{name, strings.TrimSuffix(name, "s"), unnumberedName(name)} {
			if name == "" || k == 2 && !p.head && start == 0 {
				continue
			}
			i := r.known(name)
			if i < 0 && len(name) > 2 {
				i = r.inForm(name)
			} else if i < 0 {
				i = slices.IndexFunc(r.parts, func(s span) bool { return strings.HasPrefix(s.name, name+" ") })
			}
			here := strings.EqualFold(r.part.name, name) && len(r.bars) > r.part.from
			if i < 0 && !here && name == "A" && len(r.parts) > 0 && r.parts[0].name == "" {
				i = 0
			}
			var of passage
			switch {
			case i >= 0:
				of = passage{from: r.parts[i].from, to: r.parts[i].first, name: r.parts[i].name, at: i}
			case here:
				of = passage{from: r.part.from, to: len(r.bars), name: r.part.name, at: -1}
			case r.later != nil && r.later.known(name) >= 0:
				o := r.later.parts[r.later.known(name)]
				of = passage{from: o.from, to: o.once, name: o.name, at: -1, later: true}
			default:
				continue
			}
			p.i += n
			for p.eat("section", "part", "bit", "chords", "changes", "form", "progression") {
			}
			return of, true
		}
	}
	if (p.head || start > 0) && !p.done() && r.later == nil && sectionAlone.MatchString(p.text[p.at[p.i]:p.to[p.i]]) {
		r.wanted = true
	}
	p.i = start
	return passage{}, false
}

// say reads one clause of a phrase.
func (r *reader) say(p *phrase, head bool) (s saying, ok bool) {
	p.fill()
	s.led = p.led
	if p.eat("end on", "ends on", "ending on", "finish on", "finishes on", "out on", "stop on", "end with", "final chord", "last chord") && p.i == len(p.words)-1 {
		word := strings.Trim(p.text[p.at[p.i]:], " .!)")
		p.i++
		return saying{endOn: word, found: true}, r.reads(word) && !head
	}
	start := p.i
	for p.i == start || !p.done() {
		like := p.eat(likeWords...)
		if like || p.eat(backWords...) || p.eat(playWords...) {
			s.led, s.like = true, s.like || like
			p.fill()
			continue
		}
		break
	}
	first := p.i
	if s.passage, s.found = r.passage(p); !s.found {
		p.i = first
		if w := strings.Join(p.words[start:p.i], " "); !p.done() && (w == "d c" || w == "dc" || w == "da capo") {
			s.passage, s.found = passage{top: true, to: len(r.bars)}, true
		}
		if !s.led && p.i > start {
			return s, false
		}
	}
	if s.top && p.eat("to bar", "till bar", "until bar", "up to bar", "out on bar", "out at bar", "out after bar", "end at bar", "end on bar", "stop at bar", "stop on bar", "fine at bar") {
		if n := p.number(); n > 0 && n <= s.to {
			s.top, s.to = false, n
		}
	}
	if s.here && slices.Contains(p.words[start:p.i], "again") {
		s.again = true
	}
	if !s.found && slices.ContainsFunc(p.words[start:p.i], func(w string) bool { return strings.HasPrefix(w, "repeat") || w == "again" || w == "rpt" }) {
		s.again, s.here = true, true
	}
	for !p.done() {
		switch m := timesWord.FindStringSubmatch(p.word()); {
		case m != nil:
			s.times, _ = strconv.Atoi(m[1] + m[2])
			p.i++
		case p.eat("again", "once more", "one more time", "another time", "a second time"):
			s.again = true
		case p.eat("twice more"):
			s.more = 2
		case p.eat("twice", "two times", "both times"):
			s.times = 2
		case p.eat("once", "one time"):
			s.times = 1
		case r.endingSaid(p, &s), r.changeSaid(p, &s), r.countSaid(p, &s), p.eat(closing...), p.eat(joiners...) && p.i < len(p.words) && !p.stops[p.i-1]:
		default:
			if p.i > start && (p.stops[p.i-1] || slices.Contains([]string{"then", "and"}, p.words[p.i-1])) && (s.found || s.times > 0) {
				return s, true
			}
			return s, false
		}
	}
	return s, s.found || r.sense(s)
}

// sense reports whether a clause says by itself that something is played again.
func (r *reader) sense(s saying) bool {
	return s.endOn != "" || s.again || s.times > 0 || s.more > 0 || s.ending != 0 || s.last > 0 || s.found && s.led
}

func (r *reader) countSaid(p *phrase, s *saying) bool {
	start := p.i
	n := p.number()
	switch {
	case n > 0 && p.eat("more times", "more time", "more"):
		s.more = n
	case n > 0 && p.eat("times", "time", "x"):
		s.times = n
	default:
		p.i = start
		return false
	}
	return true
}

// endingSaid takes which of a section's endings is played.
func (r *reader) endingSaid(p *phrase, s *saying) bool {
	start := p.i
	p.eat("with", "take", "use", "but", "to")
	p.eat("with", "the")
	p.eat("the")
	n := p.number()
	if n == 0 && p.eat("last", "final") {
		n = -1
	}
	if n == 0 || !p.eat("ending", "ending only") {
		p.i = start
		return false
	}
	s.ending = n
	return true
}

// changeSaid takes the last bars of a section, where they are others than before.
func (r *reader) changeSaid(p *phrase, s *saying) bool {
	start := p.i
	for p.eat("but", "except", "only", "for", "with", "the", "instead") {
	}
	if p.eat("last", "final") {
		n := max(p.number(), 1)
		if p.eat("bars are", "bar is", "bars become", "bar becomes", "bars go", "bar goes", "bars", "bar", "measures", "measure") && !p.done() {
			p.eat("=", "-", "to")
			if rest := p.text[p.at[p.i]:]; r.chordal(rest) {
				s.last, s.change = n, rest
				p.i = len(p.words)
				return true
			}
		}
	}
	p.i = start
	return false
}
