package sheet

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"footfall/drills/progress"
	"footfall/trainer/quote"
)

//go:embed report.tmpl
var reportTemplates string

var reports = template.Must(template.New("").Parse(reportTemplates))

// A report fits one page of A4 or Letter with at most so many lines of each kind.
const (
	mostFirm    = 14
	mostTempos  = 6
	mostBars    = 5
	mostLessons = 4
	mostWeak    = 6
)

// report is what the template of a week draws.
type report struct {
	Week        progress.Week
	Title, Says string
	Days        []reportDay
	Firm        []string
	Kept        string
	Tempos      []reportTempo
	Bars        []progress.WeekBar
	// Lessons are those that were worked at, or finished, in a line each, and Weak what went
	// worst.
	Lessons, Weak []string
}

// reportDay is a day with its bar, of 100 for the longest.
type reportDay struct {
	progress.WeekDay
	Bar int
}

type reportTempo struct {
	Passage       string
	Passes        int
	Before, Clean string
}

func reportOf(w progress.Week) report {
	r := report{Week: w, Title: "Practice", Kept: fmt.Sprintf("In all: %d firm, %d learning", w.Kept.Firm, w.Kept.Learning)}
	if w.Name != "" {
		r.Title = "Practice: " + oneLine(w.Name)
	}
	r.Says = fmt.Sprintf("%.0f minutes on %d of %d days, %d right of %d asked, %d of %d passes clean.",
		w.Minutes, w.Practiced, len(w.Days), w.Right, w.Asked, w.Clean, w.Passes)
	longest := 1.0
	for _, d := range w.Days {
		longest = max(longest, d.Minutes)
	}
	for _, d := range w.Days {
		r.Days = append(r.Days, reportDay{d, int(math.Round(100 * d.Minutes / longest))})
	}
	r.Firm = firstOf(w.FirmNames(), mostFirm)
	for _, l := range w.Course {
		r.Lessons = append(r.Lessons, quote.Short(oneLine(l.Says()), 100))
	}
	if w.Course == nil { // of a program that told no more than that
		for _, title := range w.Lessons {
			r.Lessons = append(r.Lessons, quote.Short(oneLine(title), 60)+": finished")
		}
	}
	r.Lessons = firstOf(r.Lessons, mostLessons)
	for _, p := range w.Weak[:min(len(w.Weak), mostWeak)] {
		r.Weak = append(r.Weak, quote.Short(oneLine(p.Says()), 60))
	}
	for i := range r.Firm {
		r.Firm[i] = oneLine(r.Firm[i])
	}
	for _, t := range w.Tempos[:min(len(w.Tempos), mostTempos)] {
		r.Tempos = append(r.Tempos, reportTempo{quote.Short(oneLine(t.Says()), 60), t.Passes, bpm(t.Before), bpm(t.Clean)})
	}
	for _, b := range w.Bars[:min(len(w.Bars), mostBars)] {
		b.Title = quote.Short(oneLine(b.Title), 60)
		r.Bars = append(r.Bars, b)
	}
	return r
}

// oneLine is a text from outside in one line, with nothing in it that a page or a
// terminal acts on.
func oneLine(text string) string {
	return quote.Harmless(strings.Join(strings.Fields(printable(text)), " "))
}

// firstOf is the first of some texts, and how many more there are.
func firstOf(texts []string, most int) []string {
	if len(texts) <= most {
		return append([]string(nil), texts...)
	}
	return append(append([]string(nil), texts[:most-1]...), fmt.Sprintf("and %d more", len(texts)-most+1))
}

// bpm is a tempo, "-" for none.
func bpm(tempo float64) string {
	if tempo == 0 {
		return "-"
	}
	return fmt.Sprintf("%g", tempo)
}

// WeekHTML writes a report as one page that prints on A4 or Letter in black and white,
// and holds itself for ReadWeek. Errors are those of w.
func WeekHTML(w io.Writer, week progress.Week) error {
	return reports.ExecuteTemplate(w, "week", reportOf(week))
}

// inText leads the line of a report in text that programs read.
const inText = "footfall-report "

// WeekText is WeekHTML in lines of text.
func WeekText(w io.Writer, week progress.Week) error {
	r := reportOf(week)
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n%s to %s: %s\n\nDays\n", r.Title, week.Since, week.Until, r.Says)
	for _, d := range r.Days {
		fmt.Fprintf(&b, "  %s  %3.0f minutes, %d right of %d, %d of %d passes clean\n", d.Day, d.Minutes, d.Right, d.Asked, d.Clean, d.Passes)
	}
	list := func(title, none string, lines []string) {
		fmt.Fprintf(&b, "\n%s\n", title)
		if lines == nil {
			lines = []string{none}
		}
		for _, l := range lines {
			fmt.Fprintf(&b, "  %s\n", l)
		}
	}
	list("Became firm", "Nothing in these days.", r.Firm)
	fmt.Fprintf(&b, "  %s.\n", r.Kept)
	var lines []string
	for _, t := range r.Tempos {
		lines = append(lines, fmt.Sprintf("%s: clean at %s BPM, before at %s; %d passes", t.Passage, t.Clean, t.Before, t.Passes))
	}
	list("Tempos", "Nothing was played along.", lines)
	lines = nil
	for _, bar := range r.Bars {
		lines = append(lines, fmt.Sprintf("%s bar %d: %d missed of %d", bar.Title, bar.Bar, bar.Missed, bar.Asked))
	}
	list("Bars that went worst", "None that was heard.", lines)
	list("What went worst, right of asked", "Nothing that was asked often.", r.Weak)
	list("Lessons", "None in these days.", r.Lessons)
	data, err := json.Marshal(week)
	if err != nil {
		return err
	}
	fmt.Fprintf(&b, "\n%s%s\n", inText, data)
	_, err = io.WriteString(w, b.String())
	return err
}

// What is no report, or one that was damaged.
var errNoReport = errors.New("it is no report of this program")

// ReadWeek reads what WeekHTML or WeekText wrote.
func ReadWeek(data []byte) (progress.Week, error) {
	var w progress.Week
	_, rest, ok := bytes.Cut(data, []byte(`<script type="application/json" id="footfall-report">`))
	if ok {
		rest, _, ok = bytes.Cut(rest, []byte("</script>"))
	} else if i := bytes.LastIndex(data, []byte("\n"+inText)); i >= 0 {
		rest, ok = data[i+1+len(inText):], true
	}
	if !ok {
		return w, errNoReport
	}
	if err := json.Unmarshal(rest, &w); err != nil {
		return w, errors.New("it is a report that was damaged")
	}
	return w, w.Check()
}

// Pupils are the weeks of some players, in a table.
type Pupils struct {
	Says    string
	Columns []string
	Rows    [][]string
}

// PupilsOf puts weeks into a table, a row each in their order; told are lines about what
// stands beside it.
func PupilsOf(weeks []progress.Week, told ...string) Pupils {
	p := Pupils{Columns: []string{"pupil", "until", "days", "minutes", "right", "clean", "newly firm", "firm", "tempo", "worst bar", "lesson"}}
	minutes, practiced := 0.0, 0
	for _, w := range weeks {
		tempo, bar, lesson := "-", "-", "-"
		if t, ok := w.Best(); ok {
			tempo = fmt.Sprintf("%s %s", cmp.Or(t.Title, t.Tune), bpm(t.Clean))
			if t.Before > 0 {
				tempo += fmt.Sprintf(" (%s)", bpm(t.Before))
			}
		}
		if len(w.Bars) > 0 {
			bar = fmt.Sprintf("%s %d", cmp.Or(w.Bars[0].Title, w.Bars[0].Tune), w.Bars[0].Bar)
		}
		if n := len(w.Lessons); n > 0 {
			lesson = w.Lessons[n-1]
		}
		row := []string{w.Name, w.Until, fmt.Sprint(w.Practiced), fmt.Sprintf("%.0f", w.Minutes), w.Share(), fmt.Sprintf("%d of %d", w.Clean, w.Passes),
			fmt.Sprint(len(w.Firm)), fmt.Sprint(w.Kept.Firm), tempo, bar, lesson}
		for i := range row {
			row[i] = quote.Short(oneLine(row[i]), 24)
		}
		p.Rows = append(p.Rows, row)
		minutes += w.Minutes
		if w.Practiced > 0 {
			practiced++
		}
	}
	p.Says = fmt.Sprintf("%d pupils, %d of them practiced, %.0f minutes in all. Clean is of the passes; a tempo in brackets is the one before; the lesson is the last that was finished.", len(weeks), practiced, minutes)
	for _, t := range told {
		p.Says += " " + oneLine(t)
	}
	return p
}

// PupilsHTML writes the table as a page to print. Errors are those of w.
func PupilsHTML(w io.Writer, p Pupils) error { return reports.ExecuteTemplate(w, "pupils", p) }
