package progress

import (
	"cmp"
	"slices"
	"time"

	"footfall/drills/memory"
)

// Monday is the first day of the week that a day lies in.
func Monday(d memory.Day) memory.Day { return d - (d+3)%7 } // day 0 was a Thursday

func spans(r Record, days map[memory.Day]Tally, name func(memory.Day) string) []SpanRow {
	tallies := map[string]Tally{}
	spent := map[string]time.Duration{}
	for d, t := range days {
		tallies[name(d)] = tallies[name(d)].Plus(t)
	}
	for d, s := range r.Spent {
		if d >= r.Since {
			spent[name(d)] += s
		}
	}
	passes, played := map[string]int{}, map[string]time.Duration{}
	for _, t := range r.Takes {
		if t.Day >= r.Since {
			passes[name(t.Day)]++
			played[name(t.Day)] += t.Length
			spent[name(t.Day)] += 0 // the span is there
		}
	}
	rows := []SpanRow{}
	for span := range union(tallies, spent) {
		t := tallies[span]
		row := SpanRow{Span: span, Minutes: minutes(spent[span]), Asked: t.Asked, Right: t.Right(), Slow: t.Slow,
			Passes: passes[span], PassMinutes: minutes(played[span])}
		row.Share, row.MedianMS = shareOf(t), medianOf(t)
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b SpanRow) int { return cmp.Compare(a.Span, b.Span) })
	return rows
}

// Axes are the days, weeks and months with those between in which nothing was
// practised, up to the last day looked at: an axis of time has them all.
func (v Review) Axes() (days, weeks, months []SpanRow) {
	return whole(v.Days, v.Until, memory.Day.String), whole(v.Weeks, v.Until, weekOf), whole(v.Months, v.Until, monthOf)
}

func whole(rows []SpanRow, until string, name func(memory.Day) string) []SpanRow {
	last, err := memory.ParseDay(until)
	if len(rows) == 0 || err != nil {
		return rows
	}
	first, err := memory.ParseDay((rows[0].Span + "-01")[:len(time.DateOnly)])
	if err != nil {
		return rows
	}
	var all []SpanRow
	for d := first; d <= last || len(rows) > 0; d++ {
		span := name(d)
		if n := len(all); n > 0 && all[n-1].Span == span {
			continue
		}
		row := SpanRow{Span: span}
		if len(rows) > 0 && rows[0].Span == span {
			row, rows = rows[0], rows[1:]
		}
		all = append(all, row)
	}
	return all
}

func weekOf(d memory.Day) string  { return Monday(d).String() }
func monthOf(d memory.Day) string { return d.String()[:len("2006-01")] }
