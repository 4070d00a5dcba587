package chart

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"footfall/content/exchange/transcribe"
	"footfall/harmony"
	"footfall/harmony/tune"
)

var (
	ending   = regexp.MustCompile(`^\[?((?:\d\s?[,.&-]\s?)*\d)(?:st|nd|rd)?(?:[.):\]]|\s|$)`)
	barLines = regexp.MustCompile(`\[\|+|\|+\]|\|+`)
	aside    = regexp.MustCompile(`^\([^()]*\)$`)
)

// barredLine reads a line with bar lines.
func (r *reader) barredLine(line string) {
	start := len(r.bars)
	line = r.unnumbered(line)
	times := 0
	if m := timesEnd.FindStringIndex(line); m != nil {
		times = count(strings.Trim(line[m[0]:], " ()[],"))
		line = line[:m[0]]
	}
	closedHere := false
	last := 0
	cells := barLines.FindAllStringIndex(line, -1)
	for i := 0; i <= len(cells); i++ {
		from, to := last, len(line)
		if i < len(cells) {
			to, last = cells[i][0], cells[i][1]
		}
		cell, column := line[from:to], utf8.RuneCountInString(line[:from])+1
		alone := strings.TrimSpace(cell) == ":" && i < len(cells) && strings.TrimSpace(line[last:]) == ""
		opens := i > 0 && strings.HasPrefix(cell, ":") && !alone
		if opens {
			cell = " " + cell[1:]
			r.closeRepeat()
			r.from, r.starts = len(r.bars), true
		}
		closes := i < len(cells) && strings.HasSuffix(strings.TrimRight(cell, " "), ":")
		if closes {
			cell = strings.TrimSuffix(strings.TrimRight(cell, " "), ":")
		}
		switch {
		case strings.TrimSpace(cell) != "":
			if i == 0 && r.barred && r.reads(strings.TrimSpace(cell)) && len(cells) > 1 {
				r.doubt("line %d: what stands before its first bar line is read as a bar", r.number)
			}
			r.cell(cell, column)
		case i > 0 && i < len(cells) && cell != "" && !closes && !opens:
			r.empty(column)
		}
		if closes {
			n := 0
			if strings.TrimSpace(line[last:]) == "" || i+1 == len(cells) {
				n, closedHere = times, true
			}
			r.repeatHere(column, n)
		}
	}
	if times > 0 && !closedHere {
		to := len(r.bars)
		for range times - 1 {
			if !r.again(start, to) {
				return
			}
		}
		r.starts = true
	}
}

// cell reads what stands between two bar lines.
func (r *reader) cell(text string, column int) {
	trimmed := strings.TrimLeft(text, " ")
	column += utf8.RuneCountInString(text) - utf8.RuneCountInString(trimmed)
	if m := ending.FindStringSubmatch(trimmed); m != nil && !r.reads(strings.Fields(trimmed)[0]) && !meterIn.MatchString(strings.Fields(trimmed)[0]) {
		numbers := regexp.MustCompile(`\d`).FindAllString(m[1], -1)
		n, _ := strconv.Atoi(numbers[0])
		_, isMeter := harmony.ParseMeter(strings.Fields(trimmed)[0])
		whole, err := strconv.Atoi(strings.Trim(strings.Fields(trimmed)[0], ".):"))
		switch {
		case isMeter:
		case r.repeats && (n > 1 && r.closed || n == 1 && len(r.bars) > r.from && !r.closed):
			r.openEnding(len(numbers), column)
			trimmed = " " + strings.TrimLeft(trimmed[len(m[0]):], " ")
		case err == nil && whole == len(r.bars)+1:
			trimmed = strings.TrimLeft(trimmed[len(m[0]):], " ")
		}
	}
	trimmed = strings.TrimSuffix(strings.TrimRight(trimmed, " "), "]")
	if f := strings.Fields(trimmed); len(f) > 0 {
		if m, ok := harmony.ParseMeter(f[0]); ok {
			r.setMeter(m)
			trimmed = strings.TrimLeft(strings.TrimPrefix(strings.TrimLeft(trimmed, " "), f[0]), " ")
		}
	}
	if strings.TrimSpace(trimmed) == "" {
		return
	}
	if n := count(trimmed); n > 0 && len(r.bars) > r.part.from {
		r.doubt("line %d: the part so far is played %d times", r.number, n)
		to := len(r.bars)
		for range n - 1 {
			r.again(r.part.from, to)
		}
		return
	}
	if r.mark(trimmed) {
		return
	}
	if aside.MatchString(trimmed) && !r.reads(strings.Trim(trimmed, "()")) && !strings.ContainsAny(trimmed, "0123456789") {
		r.leave("line %d: %s is left out", r.number, clipped(trimmed))
		return
	}
	number := strings.Trim(trimmed, " 0123456789") == "" && !r.reads(strings.TrimSpace(trimmed))
	if number || len(r.bars) > 0 && r.saying(trimmed) {
		r.leave("line %d: %s is left out", r.number, clipped(trimmed))
		return
	}
	trimmed, mark := unmarked(trimmed)
	r.bar(r.words(trimmed, column))
	r.mark(mark)
}

// saying reports whether a text is a word or more in small letters, none of which
// could be a chord.
func (r *reader) saying(text string) bool {
	return remarkAlone.MatchString(text) && !slices.ContainsFunc(strings.Fields(text), r.like) || tail.MatchString(text)
}

var tail = regexp.MustCompile(`(?i)^\(?(?:etc\.*|and so on|\.\.\.+|…)\)?$`)

// empty takes a bar in which nothing is written.
func (r *reader) empty(column int) {
	if len(r.bars) == 0 {
		return
	}
	r.bar([]word{{column, 0, "."}})
	r.doubt("nothing is written in the bar: the chord before it sounds on")
}

const wantChord = "a chord symbol such as Dm7, N.C. for none, . or / to hold, or % for the bar before"

// bar reads the words of one bar.
func (r *reader) bar(list []word) {
	if len(r.bars) >= tune.MaxBars {
		if len(r.bars) == tune.MaxBars {
			r.fault(list[0].column, "more bars than fit", fmt.Sprintf("at most %d bars", tune.MaxBars))
			r.bars = append(r.bars, bar{})
		}
		return
	}
	if r.endings && r.closed {
		r.closeRepeat()
	}
	if len(list) == 1 && similes2.MatchString(list[0].text) {
		k := len(r.bars)
		if k < 2 {
			r.fault(list[0].column, fmt.Sprintf("%q before there are two bars", list[0].text), wantChord)
			return
		}
		r.push(bar{Bar: transcribe.Bar{Chords: slices.Clone(r.bars[k-2].Chords)}})
		r.push(bar{Bar: transcribe.Bar{Chords: slices.Clone(r.bars[k-1].Chords)}})
		return
	}
	b := bar{}
	at, open := 0, false
	kept := slices.DeleteFunc(slices.Clone(list), func(w word) bool { return len(list) > 1 && r.remark(w) })
	for i, w := range kept {
		text := w.text
		if strings.HasPrefix(text, "(") && !strings.Contains(text[1:], "(") {
			open = true
			text = text[1:]
		}
		if open && strings.HasSuffix(text, ")") && strings.Count(text, "(") < strings.Count(text, ")") {
			open = false
			text = strings.TrimSuffix(text, ")")
			defer r.doubt("chords in parentheses are played")
		}
		switch {
		case similes.MatchString(text) && len(kept) == 1:
			if len(r.bars) == 0 {
				r.fault(w.column, fmt.Sprintf("%q in the first bar", text), wantChord)
				break
			}
			from := len(r.bars) - 1
			if k := len(r.row); ditto.MatchString(text) && k < len(r.above) {
				from = r.above[k]
				r.doubt("%s is read as the bar above it", text)
			}
			b.Chords = slices.Clone(r.bars[from].Chords)
		case holds(text):
			if i == 0 && len(r.bars) == 0 {
				r.fault(w.column, fmt.Sprintf("%q with no chord before it", text), wantChord)
			}
			at += max(utf8.RuneCountInString(text), 1)
			continue
		default:
			if c, ok := r.chord(w.column, text); ok {
				b.Chords = append(b.Chords, transcribe.Chord{At: float64(at), Chord: c})
			}
		}
		at++
	}
	if at == 0 {
		return
	}
	n, beats := len(b.Chords), r.meter.Beats()
	// Chords that cannot share the beats evenly take whole ones, the first a beat more.
	whole := n == at && n < beats && beats%n != 0
	for i := range b.Chords {
		switch {
		case len(kept) == 1 && similes.MatchString(kept[0].text):
		case whole:
			b.Chords[i].At = float64(i*(beats/n) + min(i, beats%n))
		default:
			b.Chords[i].At *= float64(beats) / float64(at)
		}
	}
	r.push(b)
	switch {
	case whole:
		r.doubt("%d chords share %d beats: the first sounds longer", n, beats)
	case n > 1 && (at < beats && beats%at != 0 || at > beats && at != r.meter.Upper):
		r.doubt("%d words share %d beats evenly", at, beats)
	case n < 2 || slices.ContainsFunc(kept, func(w word) bool { return holds(w.text) }):
	case beats%n != 0:
		r.doubt("%d chords share %d beats evenly", n, beats)
	case n >= 4:
		r.doubt("%d chords stand in one bar", n)
	}
}

// remark reports whether a word in a bar says how to play, not what.
func (r *reader) remark(w word) bool {
	return aside.MatchString(w.text) && !r.reads(strings.Trim(w.text, "()")) && count(w.text) == 0
}

func (r *reader) chord(column int, text string) (harmony.Chord, bool) {
	if nothing.MatchString(text) {
		text = "N.C."
	}
	c, err := harmony.ParseChord(r.roots.fix(text))
	if r.used++; err == nil {
		return c, true
	}
	want := wantChord
	var e harmony.Fault
	switch m := small.FindStringSubmatch(text); {
	case m != nil && capitalReads(text):
		want = fmt.Sprintf("%s, or %sm%s: some roots here are in small letters and some are marked as minor", capital(text), capital(m[1])+m[2], m[3])
	case errors.As(err, &e) && e.Column > 1:
		want = fmt.Sprintf("a chord symbol: in column %d write %s", column+e.Column-1, e.Want)
	}
	r.fault(column, fmt.Sprintf("%q", clipped(text)), want)
	return c, false
}

func capitalReads(text string) bool {
	_, err := harmony.ParseChord(capital(text))
	return err == nil
}

// push adds a bar to those that have been read.
func (r *reader) push(b bar) {
	b.Starts, b.Section = r.starts, r.name
	if r.meter != r.score.Meter {
		b.Meter = r.meter
	}
	r.starts, r.name = false, ""
	r.row = append(r.row, len(r.bars))
	r.bars = append(r.bars, b)
}
