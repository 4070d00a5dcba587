package transcribe

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"footfall/harmony"
	"footfall/harmony/tune"
)

// ReadChordLines reads plain chord lines. A line with bar lines has the chords
// of each bar between them, sharing it evenly, where . or / holds; a line
// without any has a chord a bar. % repeats the bar before; |: and :| play what
// lies between them twice. An empty line or [NAME] starts a section, and # a
// comment at a line's start or after two spaces. The meter is 4/4 until the
// caller sets another. All faults are reported in one go; the score is nil if
// there is any.
func ReadChordLines(text string) (*Score, tune.Faults) {
	if f, not := tune.NotText(text); not {
		return nil, tune.Faults{f}
	}
	r := linesReader{score: &Score{Meter: tune.Meter{Upper: 4, Lower: 4}}, starts: true}
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(strings.TrimPrefix(text, "\ufeff"))
	for i, line := range strings.Split(text, "\n") {
		r.line(i+1, line)
	}
	if len(r.faults) == 0 && len(r.score.Bars) == 0 {
		r.fault(1, 1, "no chords", "chord symbols, such as | Dm7 | G7 | Cmaj7 | % |")
	}
	if len(r.faults) > 0 {
		return nil, r.faults
	}
	return r.score, nil
}

type linesReader struct {
	score  *Score
	faults tune.Faults
	// starts is set where the next bar starts a section, name then being its name.
	starts bool
	name   string
	// from is the first bar that :| repeats.
	from int
}

func (r *linesReader) fault(line, column int, found, want string) {
	r.faults = append(r.faults, tune.Fault{Line: line, Column: column, Found: found, Want: want})
}

func (r *linesReader) line(number int, line string) {
	if !utf8.ValidString(line) {
		column := 1
		for _, c := range line {
			if c == utf8.RuneError {
				break
			}
			column++
		}
		r.fault(number, column, "a byte that is no UTF-8", "a text in UTF-8")
		return
	}
	if i := strings.Index(line, "  #"); i >= 0 {
		line = line[:i]
	}
	trimmed := strings.TrimSpace(line)
	switch {
	case strings.HasPrefix(trimmed, "#"):
	case trimmed == "":
		if len(r.score.Bars) > 0 {
			r.starts = true
		}
	case strings.HasPrefix(trimmed, "["):
		r.starts, r.name = true, strings.Trim(trimmed, "[] ")
	case !strings.Contains(line, "|"):
		for _, w := range wordsOf(line, 1) {
			r.bar(number, []word{w})
		}
	default:
		r.barred(number, line)
	}
}

type word struct {
	column int
	text   string
}

// wordsOf splits text at white space; column is that of its first character.
func wordsOf(text string, column int) []word {
	var out []word
	open := false
	for _, c := range text {
		switch {
		case unicode.IsSpace(c):
			open = false
		case open:
			out[len(out)-1].text += string(c)
		default:
			out, open = append(out, word{column, string(c)}), true
		}
		column++
	}
	return out
}

// barred reads a line with bar lines.
func (r *linesReader) barred(number int, line string) {
	column := 1
	for i, cell := range strings.Split(line, "|") {
		width := utf8.RuneCountInString(cell)
		closes := strings.HasSuffix(strings.TrimRight(cell, " \t"), ":")
		opens := strings.HasPrefix(cell, ":") && i > 0
		if opens {
			r.from = len(r.score.Bars)
			cell = " " + cell[1:]
		}
		if closes {
			cell = strings.TrimSuffix(strings.TrimRight(cell, " \t"), ":")
		}
		if w := wordsOf(cell, column); len(w) > 0 {
			r.bar(number, w)
		}
		if closes {
			r.repeat(number, column)
		}
		column += width + 1
	}
}

func (r *linesReader) repeat(number, column int) {
	again := slices.Clone(r.score.Bars[min(r.from, len(r.score.Bars)):])
	if len(again) == 0 || len(r.score.Bars)+len(again) > tune.MaxBars {
		r.fault(number, column, "a repeat of nothing, or of too much", fmt.Sprintf("|: and then bars, at most %d in all", tune.MaxBars))
		return
	}
	again[0].Starts = true
	r.score.Bars[min(r.from, len(r.score.Bars)-1)].Starts = true
	r.score.Bars = append(r.score.Bars, again...)
	r.from = len(r.score.Bars)
	r.starts = true
}

const wantChord = "a chord symbol such as Dm7, N.C. for none, . or / to hold, or % for the bar before"

// bar reads the words of one bar.
func (r *linesReader) bar(number int, words []word) {
	bars := r.score.Bars
	if len(bars) >= tune.MaxBars {
		if len(bars) == tune.MaxBars {
			r.fault(number, words[0].column, "more bars than fit", fmt.Sprintf("at most %d bars", tune.MaxBars))
		}
		return
	}
	b := Bar{Starts: r.starts, Section: r.name}
	r.starts, r.name = false, ""
	beats := float64(r.score.Meter.Beats())
	for i, w := range words {
		switch {
		case w.text == "%" && len(words) == 1:
			if len(bars) == 0 {
				r.fault(number, w.column, `"%" in the first bar`, wantChord)
				break
			}
			b.Chords = slices.Clone(bars[len(bars)-1].Chords)
		case w.text == "." || w.text == "/" || w.text == "-":
			if i == 0 && len(bars) == 0 {
				r.fault(number, w.column, fmt.Sprintf("%q with no chord before it", w.text), wantChord)
			}
		default:
			c, err := harmony.ParseChord(w.text)
			if err != nil {
				want := wantChord
				if e := (harmony.Fault{}); errors.As(err, &e) && e.Column > 1 {
					want = fmt.Sprintf("a chord symbol: in column %d write %s", w.column+e.Column-1, e.Want)
				}
				r.fault(number, w.column, fmt.Sprintf("%q", w.text), want)
				continue
			}
			b.Chords = append(b.Chords, Chord{At: float64(i) / float64(len(words)) * beats, Chord: c})
		}
	}
	r.score.Bars = append(bars, b)
}

// SetMeter gives the score another meter; chords keep their share of the bar.
func (s *Score) SetMeter(m tune.Meter) {
	by := float64(m.Beats()) / float64(s.Meter.Beats())
	for i := range s.Bars {
		// Bars that were repeated share their chords.
		s.Bars[i].Chords = slices.Clone(s.Bars[i].Chords)
		for k := range s.Bars[i].Chords {
			s.Bars[i].Chords[k].At *= by
		}
	}
	s.Meter = m
}
