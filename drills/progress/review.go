package progress

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"footfall/drills/memory"
	"footfall/fretboard"
	"footfall/harmony"
)

// Record is what is known of a span of practice, for Look to make tables of.
type Record struct {
	Counts Counts
	// Spent is the time of the day's sittings.
	Spent  map[memory.Day]time.Duration
	Takes  []Take
	States map[memory.Item]memory.State
	// Bars are the bars of tunes in the passes that were heard last.
	Bars []BarRow
	// Pool is what the tunes in work ask of a player, Tempos and Titles are of tunes by
	// their names, and Neck is the player's.
	Pool   []memory.Item
	Tempos map[string]float64
	Titles map[string]string
	Neck   fretboard.Neck
	// Since is the first day looked at, 0 for the first there is; Today the last.
	Since, Today memory.Day
}

// Take is what the tables use of a take.
type Take struct {
	// Item is the passage.
	Item  memory.Item
	Day   memory.Day
	Tempo float64
	// Length is how long it lasted.
	Length time.Duration
	// Judged says that there is a verdict, Clean what it is.
	Judged, Clean bool
	// Matched counts the notes that Mean and Spread, late positive, are over.
	Matched      int
	Mean, Spread time.Duration
}

// Review is practice looked back on. Shares run from 0 to 1; a share or time of
// what was never asked or never right is nil.
type Review struct {
	Since string `json:"since"`
	Until string `json:"until"`
	Asked int    `json:"asked"`
	Right int    `json:"right"`
	// Passes counts the finished passes, judged or not; PassMinutes is their time.
	Passes      int         `json:"passes"`
	PassMinutes float64     `json:"pass_minutes"`
	Days        []SpanRow   `json:"days"`
	Weeks       []SpanRow   `json:"weeks"`
	Months      []SpanRow   `json:"months"`
	Times       []TimeRow   `json:"times"`
	Degrees     []DegreeRow `json:"degrees"`
	Neck        []PlaceRow  `json:"neck"`
	Tempos      []TempoRow  `json:"tempos"`
	Offsets     []OffsetRow `json:"offsets"`
	Due         []DueRow    `json:"due"`
	Items       []ItemsRow  `json:"items"`
	// Progress counts how well all things are kept, Kept by degree, quality and root, and
	// KeptPlaces by the places of the neck.
	Progress   Kept        `json:"progress"`
	Kept       []KeptRow   `json:"kept"`
	KeptPlaces []KeptPlace `json:"kept_neck"`
	// Parts are what many questions share, the one that went least well first.
	Parts []PartRow `json:"parts"`
	// Bars are those in which something was missed, the worst of each tune first.
	Bars      []BarRow      `json:"bars"`
	Forecasts []ForecastRow `json:"forecasts"`
	titles    map[string]string
}

// Title is what players call a tune, its name where that is not known.
func (v Review) Title(tune string) string { return cmp.Or(v.titles[tune], tune) }

// Untitled is the review with tunes by the names that scripts know them by.
func (v Review) Untitled() Review {
	v.titles = nil
	return v
}

// SpanRow is a day, a week (named by its Monday) or a month.
type SpanRow struct {
	Span     string   `json:"span"`
	Minutes  float64  `json:"minutes"`
	Asked    int      `json:"asked"`
	Right    int      `json:"right"`
	Slow     int      `json:"slow"`
	Share    *float64 `json:"share"`
	MedianMS *int64   `json:"median_ms"`
	// Passes counts finished passes, judged or not; PassMinutes is their time, which
	// is in Minutes too.
	Passes      int     `json:"passes"`
	PassMinutes float64 `json:"pass_minutes"`
}

// TimeRow is a week's answer times for one way of answering: the median and the
// quarters beside it.
type TimeRow struct {
	Week     string `json:"week"`
	Way      string `json:"way"`
	Right    int    `json:"right"`
	LowMS    int64  `json:"low_ms"`
	MedianMS int64  `json:"median_ms"`
	HighMS   int64  `json:"high_ms"`
}

// DegreeRow is a degree asked of a chord quality, in all kinds of questions that
// name both.
type DegreeRow struct {
	Quality  string   `json:"quality"`
	Degree   string   `json:"degree"`
	Asked    int      `json:"asked"`
	Right    int      `json:"right"`
	Slow     int      `json:"slow"`
	Share    *float64 `json:"share"`
	MedianMS *int64   `json:"median_ms"`
}

// PlaceRow is a place on the neck.
type PlaceRow struct {
	String   int      `json:"string"`
	Fret     int      `json:"fret"`
	Asked    int      `json:"asked"`
	Missed   int      `json:"missed"`
	Share    *float64 `json:"share"`
	MedianMS *int64   `json:"median_ms"`
}

// TempoRow is the fastest clean pass of a passage in a week, 0 if none was
// clean, and the fastest played.
type TempoRow struct {
	Tune    string `json:"tune"`
	Section string `json:"section"`
	Layer   string `json:"layer"`
	Week    string `json:"week"`
	Passes  int    `json:"passes"`
	// Unjudged counts those of the passes that nobody has called clean or not.
	Unjudged int     `json:"unjudged"`
	Clean    float64 `json:"clean_tempo"`
	Played   float64 `json:"played_tempo"`
}

// OffsetRow is a week's offsets from the beat, late positive: the mean and the
// spread apart, since a small steady lead is no fault.
type OffsetRow struct {
	Week     string  `json:"week"`
	Notes    int     `json:"notes"`
	MeanMS   float64 `json:"mean_ms"`
	SpreadMS float64 `json:"sd_ms"`
}

// DueRow counts the items that come due on a day; the first row holds what is
// due today or was before.
type DueRow struct {
	Day   string `json:"day"`
	Items int    `json:"items"`
}

// ItemsRow counts the items of a kind: those that were asked, those whose chance of
// recall is now 90 % or more, and those that are firm.
type ItemsRow struct {
	Kind  string `json:"kind"`
	Items int    `json:"items"`
	Known int    `json:"known"`
	Firm  int    `json:"firm"`
}

// dueDays is how many days ahead Review.Due looks.
const dueDays = 14

// Look makes the tables.
func Look(r Record) Review {
	v := Review{Since: r.Since.String(), Until: r.Today.String(), titles: r.Titles}
	if r.Since == 0 {
		v.Since = ""
	}
	var played time.Duration
	days := map[memory.Day]Tally{}
	weeks := map[timeKey]Tally{}
	for k, t := range r.Counts.Days {
		days[k.Day] = days[k.Day].Plus(t)
		key := timeKey{Monday(k.Day), k.Way}
		weeks[key] = weeks[key].Plus(t)
		v.Asked += t.Asked
		v.Right += t.Right()
	}
	for _, t := range r.Takes {
		if t.Day >= r.Since {
			v.Passes++
			played += t.Length
		}
	}
	v.PassMinutes = minutes(played)
	v.Days = spans(r, days, memory.Day.String)
	v.Weeks = spans(r, days, weekOf)
	v.Months = spans(r, days, monthOf)
	v.Times = times(weeks)
	v.Degrees = degrees(r.Counts.Degrees)
	v.Neck = places(r.Counts.Places)
	v.Tempos = tempos(r)
	v.Offsets = offsets(r)
	v.Due = due(r)
	v.Items = items(r)
	v.Progress, v.Kept, v.KeptPlaces = keptRows(r)
	v.Parts = partRows(r, v.Kept, v.KeptPlaces)
	v.Bars = bars(r)
	v.Forecasts = forecasts(r)
	return v
}

// monday returns the Monday on or before a day.
func union[K comparable, A, B any](a map[K]A, b map[K]B) map[K]bool {
	keys := make(map[K]bool, len(a)+len(b))
	for k := range a {
		keys[k] = true
	}
	for k := range b {
		keys[k] = true
	}
	return keys
}

func shareOf(t Tally) *float64 {
	share, ok := t.Share()
	if !ok {
		return nil
	}
	share = round(share, 1000)
	return &share
}

func medianOf(t Tally) *int64 {
	if t.Right() == 0 {
		return nil
	}
	ms := t.Quantile(0.5).Milliseconds()
	return &ms
}

// minutes are counted to a tenth.
func minutes(d time.Duration) float64 { return round(d.Minutes(), 10) }

func round(x, per float64) float64 { return math.Round(x*per)/per + 0 } // no −0

type timeKey struct {
	week memory.Day
	way  memory.Way
}

func times(weeks map[timeKey]Tally) []TimeRow {
	rows := []TimeRow{}
	for k, t := range weeks {
		if t.Right() == 0 {
			continue
		}
		rows = append(rows, TimeRow{Week: k.week.String(), Way: k.way.String(), Right: t.Right(),
			LowMS: t.Quantile(0.25).Milliseconds(), MedianMS: t.Quantile(0.5).Milliseconds(), HighMS: t.Quantile(0.75).Milliseconds()})
	}
	slices.SortFunc(rows, func(a, b TimeRow) int { return cmp.Or(cmp.Compare(a.Way, b.Way), cmp.Compare(a.Week, b.Week)) })
	return rows
}

func degrees(counts Counted[DegreeCell]) []DegreeRow {
	type cell struct{ quality, degree string }
	cells := map[cell]Tally{}
	for k, t := range counts {
		if !k.Kind.OfChords() {
			continue // spelling asks of a root alone
		}
		c := cell{k.Quality, k.Degree}
		cells[c] = cells[c].Plus(t)
	}
	rows := []DegreeRow{}
	for c, t := range cells {
		row := DegreeRow{Quality: c.quality, Degree: c.degree, Asked: t.Asked, Right: t.Right(), Slow: t.Slow}
		row.Share, row.MedianMS = shareOf(t), medianOf(t)
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b DegreeRow) int {
		return cmp.Or(cmp.Compare(a.Quality, b.Quality), compareDegrees(a.Degree, b.Degree))
	})
	return rows
}

// compareDegrees orders degrees low to high.
func compareDegrees(a, b string) int {
	return cmp.Or(cmp.Compare(degreeRank(a), degreeRank(b)), cmp.Compare(a, b))
}

func degreeRank(s string) int {
	d, err := harmony.ParseDegree(s)
	if err != nil {
		return 1 << 20
	}
	return 100*d.Semitones() + int(d.Number)
}

func places(counts Counted[fretboard.Place]) []PlaceRow {
	rows := []PlaceRow{}
	for p, t := range counts {
		row := PlaceRow{String: p.String, Fret: p.Fret, Asked: t.Asked, Missed: t.Missed}
		row.Share, row.MedianMS = shareOf(t), medianOf(t)
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b PlaceRow) int { return cmp.Or(cmp.Compare(a.String, b.String), cmp.Compare(a.Fret, b.Fret)) })
	return rows
}

func tempos(r Record) []TempoRow {
	type key struct {
		item memory.Item
		week memory.Day
	}
	found := map[key]*TempoRow{}
	for _, t := range r.Takes {
		k := key{t.Item, Monday(t.Day)}
		if t.Day < r.Since || !t.Item.Known() {
			continue
		}
		row := found[k]
		if row == nil {
			row = &TempoRow{Tune: t.Item.Tune, Section: t.Item.Section, Layer: t.Item.Layer, Week: k.week.String()}
			found[k] = row
		}
		row.Passes++
		if !t.Judged {
			row.Unjudged++
		}
		row.Played = max(row.Played, t.Tempo)
		if t.Clean {
			row.Clean = max(row.Clean, t.Tempo)
		}
	}
	rows := []TempoRow{}
	for _, row := range found {
		rows = append(rows, *row)
	}
	slices.SortFunc(rows, func(a, b TempoRow) int {
		return cmp.Or(cmp.Compare(a.Tune, b.Tune), cmp.Compare(a.Section, b.Section), cmp.Compare(a.Layer, b.Layer), cmp.Compare(a.Week, b.Week))
	})
	return rows
}

// offsets pools the takes of a week: the mean over all notes, and the spread of
// all notes about it.
func offsets(r Record) []OffsetRow {
	type sums struct {
		n          int
		sum, sumSq float64
	}
	weeks := map[memory.Day]sums{}
	for _, t := range r.Takes {
		if t.Day < r.Since || t.Matched == 0 {
			continue
		}
		s := weeks[Monday(t.Day)]
		n, mean, sd := float64(t.Matched), t.Mean.Seconds()*1000, t.Spread.Seconds()*1000
		s.n += t.Matched
		s.sum += n * mean
		s.sumSq += n * (sd*sd + mean*mean)
		weeks[Monday(t.Day)] = s
	}
	rows := []OffsetRow{}
	for w, s := range weeks {
		mean := s.sum / float64(s.n)
		rows = append(rows, OffsetRow{Week: w.String(), Notes: s.n, MeanMS: round(mean, 10),
			SpreadMS: round(math.Sqrt(max(0, s.sumSq/float64(s.n)-mean*mean)), 10)})
	}
	slices.SortFunc(rows, func(a, b OffsetRow) int { return cmp.Compare(a.Week, b.Week) })
	return rows
}

func due(r Record) []DueRow {
	counts := make([]int, dueDays)
	for it, s := range r.States {
		if d := max(0, int(s.Due()-r.Today)); it.Known() && !s.New() && d < dueDays {
			counts[d]++
		}
	}
	rows := make([]DueRow, dueDays)
	for i, n := range counts {
		rows[i] = DueRow{(r.Today + memory.Day(i)).String(), n}
	}
	return rows
}

func items(r Record) []ItemsRow {
	found := map[string]*ItemsRow{}
	for it, s := range r.States {
		row := found[string(it.Kind)]
		if row == nil {
			row = &ItemsRow{Kind: string(it.Kind)}
			found[string(it.Kind)] = row
		}
		row.Items++
		if s.Known(r.Today, 0, memory.Retention) {
			row.Known++
		}
		if s.Kept() == memory.Firm {
			row.Firm++
		}
	}
	rows := []ItemsRow{}
	for _, row := range found {
		rows = append(rows, *row)
	}
	slices.SortFunc(rows, func(a, b ItemsRow) int { return cmp.Compare(a.Kind, b.Kind) })
	return rows
}

// Week tells in a line how it went since the day looked back to.
func (v Review) Week() string {
	days, spent := 0, 0.0
	for _, d := range v.Days {
		if d.Minutes > 0 || d.Asked > 0 || d.Passes > 0 {
			days, spent = days+1, spent+d.Minutes
		}
	}
	if days == 0 {
		return "Nothing practiced this week yet."
	}
	says := fmt.Sprintf("This week: %s, %.0f minutes", some(days, "day", "days"), math.Ceil(spent))
	if v.Asked > 0 {
		says += fmt.Sprintf(", %d right of %d", v.Right, v.Asked)
	}
	if v.Passes > 0 {
		says += ", " + some(v.Passes, "pass", "passes") + " played"
	}
	return says + "."
}

func some(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
