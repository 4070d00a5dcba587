package review

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/NimbleMarkets/ntcharts/barchart"
	"github.com/NimbleMarkets/ntcharts/canvas/runes"
	"github.com/NimbleMarkets/ntcharts/linechart/timeserieslinechart"
	"github.com/charmbracelet/lipgloss"

	"footfall/drills"
	"footfall/drills/memory"
	"footfall/drills/progress"
	"footfall/fretboard"
	"footfall/trainer/screen/neck"
	"footfall/trainer/screen/page"
)

// topicsOf makes the subjects of a review, each with its table and plots.
func (p *Page) topicsOf(v progress.Review) []topic {
	names := map[string]string{
		"days": "days", "weeks": "weeks", "months": "months", "times": "times", "degrees": "degrees",
		"misses": "neck", "speed": "speed", "tempos": "tempo", "offsets": "offset", "due": "to come", "items": "items",
		"progress": "kept", "kept": "keys", "keptneck": "kept", "parts": "weakest", "bars": "bars", "forecast": "at tempo",
	}
	days, weeks, months := v.Axes()
	plots := map[string][]plot{
		"days":    p.spanPlots(days, "day", dayLabel),
		"weeks":   p.spanPlots(weeks, "week, from its Monday", shortDay),
		"months":  p.spanPlots(months, "month", monthOf),
		"times":   p.timePlots(v),
		"misses":  {{"Missed, % of asked", p.neckPlot(v, missed, "Places that were never asked have no number; "+p.theme.Words("×")+" marks a quarter and more.")}},
		"speed":   {{"Seconds to answer", p.neckPlot(v, speed, "Places that were never asked have no number; "+p.theme.Words("×")+" marks one that was never right yet.")}},
		"tempos":  p.tempoPlots(v),
		"offsets": p.offsetPlots(v),
		"due":     p.duePlots(v),
		// How well things are kept is a picture of the neck, and one of the keys.
		"keptneck": {{v.Progress.Says(), p.keptNeck(v)}},
		"kept":     p.keptKeys(v),
	}
	var topics []topic
	tables := v.Tables()
	if len(tables) > 1 && tables[1].Name == "keptneck" {
		tables = tables[1:] // the picture has the counts in its title
	}
	for _, t := range tables {
		if n := len(t.Rows); n < fewest[t.Name] {
			continue // one alone compares with nothing
		}
		switch {
		case t.OfTime() || t.Name == "due":
			t.Rows = slices.Clone(t.Rows)
			for i, r := range t.Rows {
				t.Rows[i] = append([]string{longDay(r[0])}, r[1:]...)
			}
		case t.Name == "items":
			t.Rows = slices.Clone(t.Rows)
			for i, r := range t.Rows {
				t.Rows[i] = append([]string{drills.TitleOf(r[0])}, r[1:]...)
			}
		}
		tp := topic{name: names[t.Name], table: t}
		if p.theme.Glyphs.Full != "#" || t.Name == "misses" || t.Name == "speed" || t.Name == "keptneck" || t.Name == "kept" {
			tp.plots = plots[t.Name]
		}
		topics = append(topics, tp)
	}
	return topics
}

// bars draws a bar for each value, as many of the latest as have room, with the
// value above it in words.
func (p *Page) bars(labels []string, values []float64, write string, most float64, width, height int) string {
	column := 3
	for i, l := range labels {
		column = max(column, len(l), len(fmt.Sprintf(write, values[i])))
	}
	room := max(1, (width+1)/(column+1))
	if over := len(values) - room; over > 0 {
		labels, values = labels[over:], values[over:]
	}
	used := len(values)*(column+1) - 1
	c := barchart.New(used, max(3, height-1), barchart.WithNoAutoMaxValue(), barchart.WithMaxValue(most))
	c.SetBarWidth(column)
	c.SetBarGap(1)
	above := ""
	for i, v := range values {
		label := fmt.Sprintf("%*s", column, labels[i])
		c.Push(barchart.BarData{Label: label, Values: []barchart.BarValue{{Name: label, Value: max(0, v), Style: p.theme.Text}}})
		text := ""
		if v >= 0 {
			text = fmt.Sprintf(write, v)
		}
		above += fmt.Sprintf("%*s ", column, text)
	}
	c.Draw()
	return strings.TrimRight(above, " ") + "\n" + c.View()
}

// fewest is how many rows the table of a subject needs before it has something to say.
var fewest = map[string]int{"days": 2, "weeks": 2, "months": 2, "times": 2, "tempos": 2, "offsets": 2}

// dayLabel is the day of its month, and on the first its month; shortDay and longDay are
// the day with its month, and its year; monthOf is a month.
func dayLabel(day string) string {
	if strings.HasSuffix(day, "-01") {
		return memory.Dated(day, "Jan")
	}
	return memory.Dated(day, "2")
}

func shortDay(day string) string { return memory.Dated(day, "Jan 2") }

func longDay(span string) string {
	if len(span) == len("2006-01") {
		return monthOf(span)
	}
	return memory.Dated(span, "Jan 2, 2006")
}

func monthOf(month string) string { return memory.Dated(month+"-01", "Jan 2006") }

// spanPlots draws minutes and share right, with a label for each span.
func (p *Page) spanPlots(rows []progress.SpanRow, what string, label func(span string) string) []plot {
	if len(rows) == 0 {
		return nil
	}
	var labels []string
	var minutes, shares []float64
	most := 1.0
	for _, r := range rows {
		labels = append(labels, label(r.Span))
		minutes = append(minutes, r.Minutes)
		most = max(most, r.Minutes)
		share := -1.0 // none, on a day without practice
		if r.Share != nil {
			share = 100 * *r.Share
		}
		shares = append(shares, share)
	}
	return []plot{
		{"Minutes, by " + what, func(w, h int) string { return p.bars(labels, minutes, "%.0f", most, w, h) }},
		{"Right, % of asked, by " + what, func(w, h int) string { return p.bars(labels, shares, "%.0f", 100, w, h) }},
	}
}

func (p *Page) duePlots(v progress.Review) []plot {
	var labels []string
	var values []float64
	most := 1.0
	for _, r := range v.Due {
		labels = append(labels, shortDay(r.Day))
		values = append(values, float64(r.Items))
		most = max(most, float64(r.Items))
	}
	return []plot{{"Questions that come back; today's with those before", func(w, h int) string {
		n := min(len(labels), (w+1)/(len("Nov 23")+1))
		return p.bars(labels[:n], values[:n], "%.0f", most, w, h)
	}}}
}

// curve is a line over weeks.
type curve struct {
	weeks  []string
	values []float64
}

func (c *curve) add(week string, v float64) {
	c.weeks, c.values = append(c.weeks, week), append(c.values, v)
}

// curves draws lines over one time axis, in the order of their looks. A line of
// one week is a point. Numbers are written to a step, such as 0.1.
func curves(lines []curve, write func(float64) string, step float64, looks []lipgloss.Style, width, height int) string {
	first, last := time.Time{}, time.Time{}
	low, high := lines[0].values[0], lines[0].values[0]
	for _, c := range lines {
		for i, w := range c.weeks {
			at := dateOf(w)
			if first.IsZero() || at.Before(first) {
				first = at
			}
			if at.After(last) {
				last = at
			}
			low, high = min(low, c.values[i]), max(high, c.values[i])
		}
	}
	if !last.After(first) {
		last = first.AddDate(0, 0, 7)
	}
	// So little a range would put the same number beside several heights.
	if short := 5*step - (high - low); short > 0 {
		low, high = low-short/2, high+short/2
	}
	margin := (high - low) / 10
	m := timeserieslinechart.New(width, max(4, height),
		timeserieslinechart.WithTimeRange(first, last),
		timeserieslinechart.WithYRange(low-margin, high+margin),
		timeserieslinechart.WithXLabelFormatter(func(_ int, x float64) string { return time.Unix(int64(x), 0).UTC().Format("Jan 2") }),
		timeserieslinechart.WithYLabelFormatter(func(_ int, y float64) string { return write(y) }),
		timeserieslinechart.WithLineStyle(runes.ThinLineStyle),
	)
	var names []string
	for i, c := range lines {
		name := fmt.Sprint(i)
		names = append(names, name)
		for j, w := range c.weeks {
			m.PushDataSet(name, timeserieslinechart.TimePoint{Time: dateOf(w), Value: c.values[j]})
		}
		m.SetDataSetStyle(name, looks[i])
	}
	m.DrawBrailleDataSets(names)
	return m.View()
}

// spread are the looks of a line between two others.
func (p *Page) spread() []lipgloss.Style {
	return []lipgloss.Style{p.theme.Dim, p.theme.Strong, p.theme.Dim}
}

// number writes numbers of an axis by a format; none is a negative zero.
func number(format string) func(float64) string {
	return func(v float64) string {
		text := fmt.Sprintf(format, v)
		if strings.Trim(text, "+-0.") == "" {
			return strings.TrimLeft(text, "+-")
		}
		return text
	}
}

// dateOf reads a day that progress wrote.
func dateOf(day string) time.Time {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return time.Time{}
	}
	return at
}

// timePlots draws a plot for each way of answering.
func (p *Page) timePlots(v progress.Review) []plot {
	ways := map[string][]curve{}
	var order []string
	for _, r := range v.Times {
		if ways[r.Way] == nil {
			ways[r.Way] = make([]curve, 3)
			order = append(order, r.Way)
		}
		for i, ms := range []int64{r.LowMS, r.MedianMS, r.HighMS} {
			ways[r.Way][i].add(r.Week, float64(ms)/1000)
		}
	}
	var plots []plot
	for _, way := range order {
		plots = append(plots, plot{"Seconds to answer by week, " + way + "; the outer lines hold half",
			func(w, h int) string { return curves(ways[way], number("%.1f"), 0.1, p.spread(), w, h) }})
	}
	return plots
}

// tempoPlots draws a plot for each passage that has been played clean.
func (p *Page) tempoPlots(v progress.Review) []plot {
	lines := map[string]*curve{}
	var order []string
	for _, r := range v.Tempos {
		if r.Clean == 0 {
			continue
		}
		name := strings.TrimSpace(v.Title(r.Tune) + " " + r.Section + " " + r.Layer)
		if lines[name] == nil {
			lines[name] = &curve{}
			order = append(order, name)
		}
		lines[name].add(r.Week, r.Clean)
	}
	var plots []plot
	for _, name := range order {
		plots = append(plots, plot{"Fastest clean pass by week: " + name,
			func(w, h int) string {
				return curves([]curve{*lines[name]}, number("%.0f"), 1, []lipgloss.Style{p.theme.Text}, w, h)
			}})
	}
	return plots
}

func (p *Page) offsetPlots(v progress.Review) []plot {
	if len(v.Offsets) == 0 {
		return nil
	}
	lines := make([]curve, 3)
	for _, r := range v.Offsets {
		for i, y := range []float64{r.MeanMS - r.SpreadMS, r.MeanMS, r.MeanMS + r.SpreadMS} {
			lines[i].add(r.Week, y)
		}
	}
	return []plot{{"Early (-) and late (+) by week, ms; the outer lines hold two thirds",
		func(w, h int) string { return curves(lines, number("%+.0f"), 1, p.spread(), w, h) }}}
}

func missed(r progress.PlaceRow) (string, fretboard.Role) {
	share := float64(r.Missed) / float64(r.Asked)
	role := fretboard.Plain
	if share >= 0.25 {
		role = fretboard.Wrong
	}
	return fmt.Sprintf("%.0f", 100*share), role
}

func speed(r progress.PlaceRow) (string, fretboard.Role) {
	if r.MedianMS == nil {
		return "-", fretboard.Wrong
	}
	if *r.MedianMS >= 9950 { // a fret has three columns
		return fmt.Sprintf("%.0f", float64(*r.MedianMS)/1000), fretboard.Plain
	}
	return fmt.Sprintf("%.1f", float64(*r.MedianMS)/1000), fretboard.Plain
}

// neckPlot writes a number at each place of the neck that was asked.
func (p *Page) neckPlot(v progress.Review, write func(progress.PlaceRow) (string, fretboard.Role), legend string) func(w, h int) string {
	return func(w, h int) string {
		var marks []fretboard.Mark
		for _, r := range v.Neck {
			if r.String > len(p.neck.Tuning) || r.Fret > p.neck.HighestFret {
				continue
			}
			text, role := write(r)
			marks = append(marks, fretboard.Mark{Place: fretboard.Place{String: r.String, Fret: r.Fret}, Text: text, Role: role})
		}
		return "\n" + neck.Draw(p.theme, neck.Drawing{Neck: p.neck, Marks: marks, Width: w, Height: h}) +
			"\n\n" + page.Wrapped(legend, w)
	}
}

// keptNeck shades the places of the neck.
func (p *Page) keptNeck(v progress.Review) func(w, h int) string {
	return func(w, h int) string {
		return "\n" + neck.Kept(p.theme, p.neck, v.KeptPlaces, w, h) + "\n\n" + neck.ShadesMean(p.theme)
	}
}

// keptKeys shades degrees of chord qualities against the twelve keys, as many to a
// picture as have room.
func (p *Page) keptKeys(v progress.Review) []plot {
	rows, columns := v.KeptKeys()
	if len(rows) == 0 {
		return nil
	}
	return []plot{{"Degrees of chords, by the root of the chord", func(w, h int) string {
		name := 0
		for _, r := range rows {
			name = max(name, lipgloss.Width(p.theme.Words(r.Name)))
		}
		line := strings.Repeat(" ", name)
		for _, c := range columns {
			line += fmt.Sprintf(" %3s", p.theme.Words(c))
		}
		lines := []string{"", p.theme.Dim.Render(line)}
		shown := rows[:min(len(rows), max(1, h-5))]
		for _, r := range shown {
			line := p.theme.Words(r.Name) + strings.Repeat(" ", name-lipgloss.Width(p.theme.Words(r.Name)))
			for _, k := range r.Keys {
				line += fmt.Sprintf(" %3s", strings.Repeat(neck.Shade(p.theme, k), 2))
			}
			lines = append(lines, line)
		}
		if rest := len(rows) - len(shown); rest > 0 {
			lines = append(lines, p.theme.Dim.Render(fmt.Sprintf("%d more: they stand in the table.", rest)))
		}
		return strings.Join(append(lines, "", neck.ShadesMean(p.theme)), "\n")
	}}}
}
