package progress

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"footfall/drills/memory"
)

// BarRow is a bar of a tune and how often its notes were missed, or others played for
// them, in the passes that were heard last, and in how many of the last passes that the player
// judged it was named as what held them back.
type BarRow struct {
	Tune   string `json:"tune"`
	Bar    int    `json:"bar"`
	Asked  int    `json:"asked"`
	Missed int    `json:"missed"`
	Named  int    `json:"named"`
	Passes int    `json:"passes"`
}

// share is the share of notes that were missed, or of passes that it held back, whichever is
// more.
func (b BarRow) share() float64 {
	return max(float64(b.Missed)/float64(max(1, b.Asked)), float64(b.Named)/float64(max(1, b.Passes)))
}

// ForecastRow is when a tune will be at its tempo in a layer, by how the player's own
// ramps have risen. The days are nil where that cannot be told: too few days of clean
// passes, or none of them faster than the ones before.
type ForecastRow struct {
	Tune  string `json:"tune"`
	Layer string `json:"layer"`
	// Tempo is the tune's, Reached the fastest that all of its passages in work have
	// been clean at.
	Tempo   float64 `json:"tempo"`
	Reached float64 `json:"reached"`
	// Days counts those with a clean pass.
	Days int `json:"days"`
	// Likely is the day at the rate so far, Earliest and Latest those at one standard
	// error of that rate more or less; Latest is nil where that is no rise at all.
	Likely   *string `json:"likely"`
	Earliest *string `json:"earliest"`
	Latest   *string `json:"latest"`
}

const (
	// enoughDays of clean passes tell a rate.
	enoughDays = 3
	// farthest is how many days ahead a forecast reaches.
	farthest = 2 * 365
)

// forecasts are made for each tune and layer that has been played clean.
func forecasts(r Record) []ForecastRow {
	type key struct{ tune, layer string }
	passages := map[key]map[string][]Take{}
	for _, t := range r.Takes {
		k := key{t.Item.Tune, t.Item.Layer}
		if r.Tempos[k.tune] == 0 || !t.Judged || !t.Clean || t.Item.Layer == memory.FreeLayer {
			continue
		}
		if passages[k] == nil {
			passages[k] = map[string][]Take{}
		}
		passages[k][t.Item.Section] = append(passages[k][t.Item.Section], t)
	}
	rows := []ForecastRow{}
	for k, sections := range passages {
		row := ForecastRow{Tune: k.tune, Layer: k.layer, Tempo: r.Tempos[k.tune], Reached: math.Inf(1)}
		likely, earliest, latest := 0.0, 0.0, 0.0
		for _, takes := range sections { // the slowest section is the tune's
			c := climbOf(takes)
			row.Reached, row.Days = min(row.Reached, c.reached), max(row.Days, c.days)
			l, e, s := c.daysTo(row.Tempo)
			likely, earliest, latest = max(likely, l), max(earliest, e), max(latest, s)
		}
		if row.Reached < row.Tempo {
			row.Likely, row.Earliest, row.Latest = r.in(likely), r.in(earliest), r.in(latest)
			if row.Likely == nil {
				row.Earliest, row.Latest = nil, nil
			}
		}
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b ForecastRow) int { return cmp.Or(cmp.Compare(a.Tune, b.Tune), cmp.Compare(a.Layer, b.Layer)) })
	return rows
}

// in names the day in so many days, nil where that is too far to be told.
func (r Record) in(days float64) *string {
	if !(days <= farthest) {
		return nil
	}
	text := (r.Today + memory.Day(math.Ceil(days))).String()
	return &text
}

// climb is how a passage has risen: the fastest clean tempo so far against the day, as a
// line of least squares, with the standard error of its rise.
type climb struct {
	reached    float64
	days       int
	rise, band float64 // BPM a day
}

func climbOf(clean []Take) climb {
	best := map[memory.Day]float64{}
	for _, t := range clean {
		best[t.Day] = max(best[t.Day], t.Tempo)
	}
	c := climb{days: len(best)}
	var xs, ys []float64
	for _, d := range slices.Sorted(maps.Keys(best)) {
		c.reached = max(c.reached, best[d])
		xs, ys = append(xs, float64(d)), append(ys, c.reached)
	}
	n := float64(len(xs))
	if len(xs) < enoughDays {
		return c
	}
	var mx, my float64
	for i := range xs {
		mx, my = mx+xs[i]/n, my+ys[i]/n
	}
	var sxx, sxy float64
	for i := range xs {
		sxx, sxy = sxx+(xs[i]-mx)*(xs[i]-mx), sxy+(xs[i]-mx)*(ys[i]-my)
	}
	c.rise = sxy / sxx
	rest := 0.0
	for i := range xs {
		e := ys[i] - my - c.rise*(xs[i]-mx)
		rest += e * e
	}
	c.band = math.Sqrt(rest / (n - 2) / sxx)
	return c
}

// daysTo is in how many days a tempo is reached, at the rate so far, at one standard
// error more and at one less; infinite where it never is.
func (c climb) daysTo(tempo float64) (likely, earliest, latest float64) {
	left := tempo - c.reached
	if left <= 0 {
		return 0, 0, 0
	}
	at := func(rate float64) float64 {
		if rate <= 0 {
			return math.Inf(1)
		}
		return left / rate
	}
	return at(c.rise), at(c.rise + c.band), at(c.rise - c.band)
}

// Says tells a forecast of a tune in some words, led by the layer.
func (f ForecastRow) Says() string {
	switch {
	case f.Reached >= f.Tempo:
		return fmt.Sprintf("%s at its tempo, %g BPM", f.Layer, f.Tempo)
	case f.Likely == nil:
		return fmt.Sprintf("%s clean at %g of %g BPM, too few faster days yet to say when it will be there", f.Layer, f.Reached, f.Tempo)
	}
	return fmt.Sprintf("%s clean at %g of %g BPM, at your rate so far there %s", f.Layer, f.Reached, f.Tempo, f.when())
}

// when is the day with its spread.
func (f ForecastRow) when() string {
	switch {
	case f.Likely == nil:
		return ""
	case f.Latest == nil:
		return fmt.Sprintf("by %s or later", short(f.Likely))
	case *f.Earliest == *f.Latest:
		return "by " + short(f.Likely)
	}
	return fmt.Sprintf("by %s, between %s and %s", short(f.Likely), short(f.Earliest), short(f.Latest))
}

// bars are those in which something was missed or that were named, the worst of each tune first.
func bars(r Record) []BarRow {
	rows := slices.DeleteFunc(slices.Clone(r.Bars), func(b BarRow) bool { return b.share() == 0 })
	slices.SortFunc(rows, func(a, b BarRow) int {
		return cmp.Or(cmp.Compare(a.Tune, b.Tune), cmp.Compare(b.share(), a.share()), cmp.Compare(a.Bar, b.Bar))
	})
	return append([]BarRow{}, rows...)
}

// mostBars is how many bars of a tune a table lists.
const mostBars = 8

// barTable lists the bars that hold each tune back, the worst first.
func (v Review) barTable() Table {
	t := Table{Name: "bars", Title: "Bars that hold a tune back, in the last passes", Columns: []string{"tune", "bar", "notes missed", "named in passes"}}
	shown := map[string]int{}
	for _, r := range v.Bars {
		if shown[r.Tune]++; shown[r.Tune] <= mostBars {
			t.Rows = append(t.Rows, []string{v.Title(r.Tune), count(r.Bar), ofAny(r.Missed, r.Asked), ofAny(r.Named, r.Passes)})
		}
	}
	return t
}

func (v Review) forecastTable() Table {
	t := Table{Name: "forecast", Title: "When a tune will be at its tempo, at your rate so far", Columns: []string{"tune", "layer", "clean at", "goal", "likely", "soonest", "latest"}}
	for _, f := range v.Forecasts {
		row := []string{v.Title(f.Tune), f.Layer, number(f.Reached), number(f.Tempo), "too early to tell", "-", "-"}
		switch {
		case f.Reached >= f.Tempo:
			row[4] = "now"
		case f.Likely != nil:
			row[4], row[5], row[6] = short(f.Likely), short(f.Earliest), short(f.Latest)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// short writes a day as a table has it, "5 Jan 27", a dash for none.
func short(day *string) string {
	if day == nil {
		return "-"
	}
	d, err := memory.ParseDay(*day)
	if err != nil {
		return *day
	}
	return d.Date().Format("2 Jan 06")
}
