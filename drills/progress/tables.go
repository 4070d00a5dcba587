package progress

import (
	"fmt"
	"slices"
	"strconv"
)

// Table is a table in words, for screens and plain text alike.
type Table struct {
	// Name is one word for scripts, Title a line for people.
	Name, Title string
	Columns     []string
	Rows        [][]string
}

// Tables puts the review into tables, in the order a player reads them. Tables
// with nothing in them are left out.
func (v Review) Tables() []Table {
	all := []Table{
		v.progressTable(),
		v.keptNeckTable(),
		v.keptTable(),
		v.partTable(),
		v.barTable(),
		v.forecastTable(),
		spanTable("days", "Days", "day", v.Days),
		spanTable("weeks", "Weeks, by their Monday", "week", v.Weeks),
		spanTable("months", "Months", "month", v.Months),
		v.timeTable(),
		v.degreeTable(),
		v.placeTable("misses", "The neck: missed of asked", func(r PlaceRow) string { return of(r.Missed, r.Asked) }),
		v.placeTable("speed", "The neck: median answer time, seconds", func(r PlaceRow) string {
			if r.MedianMS == nil {
				return "-"
			}
			return seconds(*r.MedianMS)
		}),
		v.tempoTable(),
		v.offsetTable(),
		v.dueTable(),
		v.itemsTable(),
	}
	return slices.DeleteFunc(all, func(t Table) bool { return len(t.Rows) == 0 })
}

// Latest is a table of days, weeks or months with the latest rows only, and says so
// in its title; any other table is as it was.
func (t Table) Latest(rows int) Table {
	if over := len(t.Rows) - rows; t.OfTime() && over > 0 {
		t.Rows = t.Rows[over:]
		t.Title += fmt.Sprintf(", the latest %d", rows)
	}
	return t
}

// OfTime reports whether a row is a day, a week or a month.
func (t Table) OfTime() bool { return t.Name == "days" || t.Name == "weeks" || t.Name == "months" }

// OnTheNeck reports whether a row is a string and each further column a fret.
func (t Table) OnTheNeck() bool {
	return t.Name == "misses" || t.Name == "speed" || t.Name == "keptneck"
}

func spanTable(name, title, first string, spans []SpanRow) Table {
	t := Table{Name: name, Title: title, Columns: []string{first, "minutes", "asked", "right", "right %", "slow", "median s", "passes"}}
	for _, s := range spans {
		t.Rows = append(t.Rows, []string{s.Span, strconv.FormatFloat(s.Minutes, 'f', 1, 64), strconv.Itoa(s.Asked),
			strconv.Itoa(s.Right), percent(s.Share), strconv.Itoa(s.Slow), secondsOf(s.MedianMS), strconv.Itoa(s.Passes)})
	}
	return t
}

func (v Review) timeTable() Table {
	t := Table{Name: "times", Title: "Answer times by week, seconds", Columns: []string{"week", "way", "right", "low quarter", "median", "high quarter"}}
	for _, r := range v.Times {
		t.Rows = append(t.Rows, []string{r.Week, r.Way, strconv.Itoa(r.Right), seconds(r.LowMS), seconds(r.MedianMS), seconds(r.HighMS)})
	}
	return t
}

// degreeTable sets degrees against chord qualities: how often each was right, of how
// often it was asked.
func (v Review) degreeTable() Table {
	var qualities, degrees []string
	cells := map[[2]string]DegreeRow{}
	for _, r := range v.Degrees {
		if !slices.Contains(qualities, r.Quality) {
			qualities = append(qualities, r.Quality)
		}
		if !slices.Contains(degrees, r.Degree) {
			degrees = append(degrees, r.Degree)
		}
		cells[[2]string{r.Quality, r.Degree}] = r
	}
	slices.SortFunc(degrees, compareDegrees)
	t := Table{Name: "degrees", Title: "Degree against chord quality: right of asked", Columns: append([]string{"chord"}, degrees...)}
	for _, q := range qualities {
		name := q
		if name == "" {
			name = "major"
		}
		row := []string{name}
		for _, d := range degrees {
			cell := "."
			if r, ok := cells[[2]string{q, d}]; ok {
				cell = of(r.Right, r.Asked)
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// neckCell is what stands at a place of the neck.
type neckCell struct {
	str, fret int
	text      string
}

// placeTable writes what cell says at each place that was asked.
func (v Review) placeTable(name, title string, cell func(PlaceRow) string) Table {
	var cells []neckCell
	for _, r := range v.Neck {
		cells = append(cells, neckCell{r.String, r.Fret, cell(r)})
	}
	return neckTable(name, title, cells)
}

// neckTable lays places out as the neck lies: string 1 on top, the open strings
// on the left; a dot stands where nothing is.
func neckTable(name, title string, places []neckCell) Table {
	t := Table{Name: name, Title: title, Columns: []string{"string"}}
	lastString, lastFret := 0, -1
	cells := map[[2]int]string{}
	for _, c := range places {
		lastString, lastFret = max(lastString, c.str), max(lastFret, c.fret)
		cells[[2]int{c.str, c.fret}] = c.text
	}
	for f := range lastFret + 1 {
		t.Columns = append(t.Columns, strconv.Itoa(f))
	}
	for s := 1; s <= lastString; s++ {
		row := []string{strconv.Itoa(s)}
		some := false
		for f := range lastFret + 1 {
			text, ok := cells[[2]int{s, f}]
			if !ok {
				text = "."
			}
			some = some || ok
			row = append(row, text)
		}
		if some {
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

func (v Review) tempoTable() Table {
	t := Table{Name: "tempos", Title: "Tempo reached, BPM", Columns: []string{"tune", "section", "layer", "week", "passes", "not judged", "clean", "played"}}
	for _, r := range v.Tempos {
		clean := "-"
		if r.Clean > 0 {
			clean = strconv.FormatFloat(r.Clean, 'f', -1, 64)
		}
		t.Rows = append(t.Rows, []string{v.Title(r.Tune), r.Section, r.Layer, r.Week, strconv.Itoa(r.Passes), strconv.Itoa(r.Unjudged), clean, strconv.FormatFloat(r.Played, 'f', -1, 64)})
	}
	return t
}

func (v Review) offsetTable() Table {
	t := Table{Name: "offsets", Title: "Offset from the beat by week, milliseconds (+ is late)", Columns: []string{"week", "notes", "mean", "spread"}}
	for _, r := range v.Offsets {
		t.Rows = append(t.Rows, []string{r.Week, strconv.Itoa(r.Notes), fmt.Sprintf("%+.1f", r.MeanMS), fmt.Sprintf("%.1f", r.SpreadMS)})
	}
	return t
}

func (v Review) dueTable() Table {
	t := Table{Name: "due", Title: "Questions that come back, by day", Columns: []string{"day", "items"}}
	some := false
	for i, r := range v.Due {
		name := r.Day
		if i == 0 {
			name += " and before"
		}
		some = some || r.Items > 0
		t.Rows = append(t.Rows, []string{name, strconv.Itoa(r.Items)})
	}
	if !some {
		t.Rows = nil
	}
	return t
}

func (v Review) itemsTable() Table {
	t := Table{Name: "items", Title: "Things met, by kind", Columns: []string{"kind", "met", "learning", "firm"}}
	for _, r := range v.Items {
		t.Rows = append(t.Rows, []string{r.Kind, count(r.Items), count(r.Items - r.Firm), count(r.Firm)})
	}
	return t
}

func percent(share *float64) string {
	if share == nil {
		return "-"
	}
	return fmt.Sprintf("%.0f", 100**share)
}

// of writes "3 of 5".
func of(some, all int) string { return fmt.Sprintf("%d of %d", some, all) }

// ofAny is of, a dash of none.
func ofAny(some, all int) string {
	if all == 0 {
		return "-"
	}
	return of(some, all)
}

func count(n int) string { return strconv.Itoa(n) }

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

func secondsOf(ms *int64) string {
	if ms == nil {
		return "-"
	}
	return seconds(*ms)
}

func seconds(ms int64) string { return fmt.Sprintf("%.1f", float64(ms)/1000) }
