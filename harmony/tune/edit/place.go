package edit

import "footfall/harmony/tune"

// GoTo goes to a place, or to the nearest there is.
func (d *Document) GoTo(p Place) {
	p.Section = within(p.Section, len(d.tune.Sections))
	p.Bar = within(p.Bar, len(d.tune.Sections[p.Section].Bars))
	p.Beat = within(p.Beat, d.beats(p))
	p.Row = tune.Row(within(int(p.Row), tune.Rows))
	d.at = p
}

func within(n, count int) int { return max(0, min(n, count-1)) }

// MoveBeats goes some beats on, or back, over bar lines and sections; in the
// words row it goes by bars.
func (d *Document) MoveBeats(n int) {
	if d.at.Row == tune.WordsRow {
		d.MoveBars(n)
		return
	}
	index, beat := d.Index(d.at), d.at.Beat+n
	for ; beat < 0 && index > 0; beat += d.beats(d.Place(index)) {
		index--
	}
	for beats := d.beats(d.Place(index)); beat >= beats && index+1 < d.Bars(); beats = d.beats(d.Place(index)) {
		beat -= beats
		index++
	}
	p := d.Place(index)
	p.Row, p.Beat = d.at.Row, beat
	d.GoTo(p)
}

// beats returns the beats of a place's bar.
func (d *Document) beats(p Place) int { return d.tune.MeterOf(&d.tune.Sections[p.Section]).Beats() }

// MoveBars goes some bars on, or back, to their first beats. Back from within a
// bar goes to its first beat first.
func (d *Document) MoveBars(n int) {
	if n < 0 && d.at.Beat > 0 && d.at.Row != tune.WordsRow {
		n++
	}
	p := d.Place(d.Index(d.at) + n)
	p.Row = d.at.Row
	d.GoTo(p)
}

// MoveRows goes some rows down, or up, within the bar.
func (d *Document) MoveRows(n int) {
	p := d.at
	p.Row = tune.Row(within(int(p.Row)+n, tune.Rows))
	d.GoTo(p)
}

// Bars returns how many bars are written.
func (d *Document) Bars() int {
	n := 0
	for _, s := range d.tune.Sections {
		n += len(s.Bars)
	}
	return n
}

// Index returns which of the written bars a place is in, from 0.
func (d *Document) Index(p Place) int {
	n := p.Bar
	for _, s := range d.tune.Sections[:p.Section] {
		n += len(s.Bars)
	}
	return n
}

// Place returns the first beat of a written bar, counted from 0, or of the
// nearest there is.
func (d *Document) Place(index int) Place {
	index = within(index, d.Bars())
	section := 0
	for ; index >= len(d.tune.Sections[section].Bars); section++ {
		index -= len(d.tune.Sections[section].Bars)
	}
	return Place{Section: section, Bar: index}
}

// Bar returns the bar of a place as it stands. It must not be changed.
func (d *Document) Bar(p Place) *tune.Bar { return &d.tune.Sections[p.Section].Bars[p.Bar] }
