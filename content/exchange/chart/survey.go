package chart

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

var (
	numbered   = regexp.MustCompile(`(?i)^\s*(?:(?:bars?|mm?\.|measures?)\s*|\()?(\d{1,3})(?:\s*-\s*(\d{1,3}))?\s*(?:[.:)]?(?:\s+|$)|[,;])`)
	letterMark = regexp.MustCompile(`^` + letterName + `$`)
	letterBars = regexp.MustCompile(`^\s*([A-Z])(?:(?: *\(| +[,-]? *)\d{1,2}(?: ?bars?)?\)?)?(?: *\(?` + timesWords + `\)?)?:?\s*$`)
	firstCell  = regexp.MustCompile(`^\|\s*(` + letterName + `)\s*\|`)
	before     = regexp.MustCompile(`^ *(` + letterName + `)(?:\s*[:.)]?\s*\||[\t;,]| +[A-G][^|]*\|| {2,}[A-G]\S*(?: [^|\s]+)*$)`)
)

// survey looks through all of a chart for what decides how its lines are read.
func (r *reader) survey(lines []string) {
	var cells []string
	for i, line := range lines {
		text := strings.TrimSpace(line)
		if m := firstCell.FindStringSubmatch(text); m != nil {
			cells = append(cells, m[1])
		}
		r.tabled = r.tabled || i > 0 && tableRule.MatchString(text) && strings.Contains(text, "|") && !chordsOnly(lines[i-1])
		r.startsBarred = r.startsBarred || strings.HasPrefix(text, "|") && !tableRule.MatchString(text)
		r.hasBars = r.hasBars || strings.Contains(text, "|")
		r.repeats = r.repeats || strings.Contains(line, ":|")
		r.dashes = r.dashes || dashBeats.MatchString(line)
		if !sectionFirst.MatchString(text) {
			r.stated(line)
		}
	}
	r.tabled = r.tabled && inOrder(cells) != nil
	r.allPerBar, r.allBarsEach = r.perBar, r.barsEach
	r.letters, r.before = lettersOf(lines), lettersBefore(lines)
	r.rowLabels = labelledRows(lines, r.before)
	r.counted, r.guessed = countedLines(lines)
	r.lineBars = r.lineBars || barsOnLines(lines)
}

var rowLabel = regexp.MustCompile(`^\s*(` + letterName + `|),\S*,\S`)

// labelledRows reports whether each row of commas and chords begins with one of these
// letters, or with nothing, as the rows of a table do.
func labelledRows(lines, letters []string) bool {
	rows := 0
	for _, line := range lines {
		if strings.Count(line, ",") < 2 || !chordsOnly(strings.ReplaceAll(line, ",", " ")) {
			continue
		}
		if m := rowLabel.FindStringSubmatch(line); m == nil || m[1] != "" && !slices.Contains(letters, m[1]) {
			return false
		}
		rows++
	}
	return rows > 1 && len(letters) > 1
}

var (
	chordsPerBar = regexp.MustCompile(`(?i)\b(one|two|three|four|[1-4]|un|deux|dos|ein|zwei)(?: (?:chords?|accords?|acordes?|akkorde?))? (?:per|a|to a|to the|in each|each|par|por|pro) (?:bar|measure|mesure|compás|takt)\b`)
	barsPerChord = regexp.MustCompile(`(?i)\b(?:(one|two|four|[124]) (?:bars?|measures?) (?:each(?: chord)?(?:[^\w ]|$)|(?:of|on|for) each|each chord|per chord|a chord)|(?:each|every) chord (?:is|gets|has|lasts|=|for)? ?(?:for )?(one|two|four|[124]|an?|a whole|a full) (?:bars?|measures?))\b`)
	beatsEach    = regexp.MustCompile(`(?i)\b(\d|two|three|four|six) beats (?:each|(?:per|on|for|to|of) (?:each |every )?chord|a chord)\b|\beach chord (?:=|is|gets|has) (\d|two|three|four|six) beats\b`)
	barPerLine   = regexp.MustCompile(`(?i)\b(?:one|1|a) (?:bar|measure) (?:per|a) line\b|\b(?:each|every) line (?:is|=) (?:one|1|a) (?:bar|measure)\b`)
)

// stated takes what a chart says of how its chords are spread over bars.
func (r *reader) stated(line string) {
	numbers := map[string]int{"un": 1, "ein": 1, "deux": 2, "dos": 2, "zwei": 2}
	value := func(w string) int {
		w = strings.ToLower(w)
		n, _ := strconv.Atoi(w)
		return max(n, numbers[w], numbersInWords[w])
	}
	if m := chordsPerBar.FindStringSubmatch(line); m != nil && r.perBar == 0 {
		r.perBar = value(m[1])
	}
	if m := barsPerChord.FindStringSubmatch(line); m != nil && r.barsEach == 0 {
		if r.barsEach = value(m[1] + m[2]); r.barsEach < 2 {
			r.perBar, r.barsEach = 1, 0
		}
	}
	if m := beatsEach.FindStringSubmatch(line); m != nil && r.perBar == 0 {
		r.perBar = max(r.meter.Beats()/max(value(m[1]+m[2]), 1), 1)
	}
	r.lineBars = r.lineBars || barPerLine.MatchString(line)
}

// barsOnLines reports whether most lines with chords hold one, and others two: each is
// then a bar.
func barsOnLines(lines []string) bool {
	ones, twos := 0, 0
	for _, line := range lines {
		if !chordsOnly(line) {
			continue
		}
		switch fields := strings.Fields(line); {
		case strings.ContainsAny(line, "|,/-.") || len(fields) > 2:
			return false
		case len(fields) == 2:
			twos++
		default:
			ones++
		}
	}
	return twos > 0 && ones > 3 && ones > 2*twos
}

// countedLines reports whether the lines with chords are numbered from 1 on, one
// after another, perhaps from 1 again in another section, and hold a chord or two:
// each is then a bar, which is a guess where all hold two.
func countedLines(lines []string) (counted, guessed bool) {
	n, all, pairs := 0, 0, 0
	for _, line := range lines {
		m := numbered.FindStringSubmatch(line)
		if m == nil {
			if chordsOnly(line) {
				return false, false
			}
			continue
		}
		chords := strings.Fields(strings.NewReplacer("/", " ", ".", " ", "-", " ", ",", " ", ";", " ").Replace(line[len(m[0]):]))
		if n++; m[1] == "1" {
			n = 1
		}
		if all++; m[1] != strconv.Itoa(n) || m[2] != "" || len(chords) > 2 || strings.Contains(line, "|") {
			return false, false
		}
		if len(chords) == 2 {
			pairs++
		}
	}
	return all > 2 && pairs > 0, all == pairs
}

// lettersBefore returns the capitals that stand before the first bar lines of lines,
// where they are marks of sections: the first is A, each new one the next.
func lettersBefore(lines []string) []string {
	var found []string
	for _, line := range lines {
		if m := before.FindStringSubmatch(line); m != nil {
			found = append(found, m[1])
		}
	}
	return inOrder(found)
}

// lettersOf returns the capitals that stand alone on lines as marks of sections: the
// first of them is A, each new one the next, and other lines hold more than a chord.
func lettersOf(lines []string) []string {
	var found []string
	full := false
	for _, line := range lines {
		text := letterBars.ReplaceAllString(strings.TrimSpace(line), "$1")
		full = full || len(strings.Fields(text)) > 1
		if letterMark.MatchString(text) {
			found = append(found, text)
		}
	}
	if out := inOrder(found); full && len(out) > 1 {
		return out
	}
	return nil
}

// inOrder returns names of sections, each once, nil if they do not follow one another
// from A on.
func inOrder(names []string) (out []string) {
	for _, name := range names {
		last := byte('A' - 1)
		for _, n := range out {
			last = max(last, n[0])
		}
		switch {
		case slices.Contains(out, name):
		case name[0] != last+1 && !(len(name) > 1 && name[0] <= last):
			return nil
		default:
			out = append(out, name)
		}
	}
	return out
}

// compare notes whether a line without bar lines has as many chords as the one before it.
func (r *reader) compare(n int) {
	first := len(r.bars) == r.part.from && r.lyrics == 0
	if n > 0 && r.perLine > 0 && !first && n != r.perLine && (r.lyrics > 0 || n%4 != r.perLine%4) {
		r.unequal = true
	}
	r.odd = r.odd || n > 1 && n%2 == 1
	if r.singles++; n != 1 {
		r.singles = 0
	}
	if n > 0 {
		r.perLine = n
	}
}

// unusual tells where lines without bar lines hold unequal numbers of chords, for some
// may then share a bar; of a section whose number of bars is odd; and of a chart without
// marks of sections whose number is none of fours. Common practice, no source.
func (r *reader) unusual() {
	if len(r.bars) < 3 {
		return
	}
	if (r.unequal || r.odd && r.lyrics > 0) && !r.startsBarred {
		r.told = append(r.told, told(0, true, "some lines have no bar lines and unequal numbers of chords: a chord a bar"))
	}
	var said []string
	from := 0
	for i := 1; i <= len(r.bars); i++ {
		if i < len(r.bars) && (r.bars[i].Section == "" || r.bars[i].Section == r.bars[i-1].Section) {
			continue // the same section, or one of its single bars again
		}
		name, n := r.bars[from].Section, i-from
		bars := "bars"
		if n == 1 {
			bars = "bar"
		}
		whole := name == "" && n == len(r.bars)
		if name == "" {
			name = "the part"
		}
		if whole && n%4 != 0 {
			r.told = append(r.told, told(0, n%2 != 0, "it has %d bars", n))
		} else if what := fmt.Sprintf("%s has %d %s", clipped(name), n, bars); n%2 != 0 && !slices.Contains(said, what) {
			said = append(said, what)
			r.told = append(r.told, told(from+1, true, "%s", what))
		}
		from = i
	}
}
