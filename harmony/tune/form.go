package tune

import (
	"regexp"

	"footfall/harmony"
)

// FormOrder returns the names of the sections in playing order: Form, or where
// it is nil each section once.
func (t *Tune) FormOrder() []string {
	if t.Form != nil {
		return t.Form
	}
	names := make([]string, len(t.Sections))
	for i, s := range t.Sections {
		names[i] = s.Name
	}
	return names
}

// Section returns the section of a name, nil if there is none.
func (t *Tune) Section(name string) *Section {
	for i := range t.Sections {
		if t.Sections[i].Name == name {
			return &t.Sections[i]
		}
	}
	return nil
}

var secondTime = regexp.MustCompile(`^(.*\pL)-(\d+)$`)

// SectionTitle is the name of a section as it stands beside a bar's number: "A (2)" for A-2,
// the second time of an A that is another then, which would be read as a chord.
func SectionTitle(name string) string { return secondTime.ReplaceAllString(name, "$1 ($2)") }

// Grid returns the half beats of one pass of the form.
func (t *Tune) Grid() harmony.Grid {
	var meters []Meter
	for _, fb := range t.Unroll() {
		meters = append(meters, fb.Meter)
	}
	return harmony.NewGrid(meters)
}

// Placed places a bar of the pass, counted from 1, at time 0, at the tune's swing
// and a tempo in quarter notes a minute, the tune's own if 0. The error is that of
// harmony.Bar's Check.
func (t *Tune) Placed(bar int, tempo float64) (harmony.PlacedBar, error) {
	b := harmony.Bar{Meter: t.Meter, Tempo: tempo, Swing: t.Swing}
	if tempo == 0 {
		b.Tempo = t.Tempo
	}
	if bars := t.Unroll(); bar <= len(bars) {
		b.Meter = bars[bar-1].Meter
	}
	if err := b.Check(); err != nil {
		return harmony.PlacedBar{}, err
	}
	return harmony.Place(b, 0), nil
}

// MeterOf returns the meter of a section's bars: its own, or the tune's.
func (t *Tune) MeterOf(s *Section) Meter {
	if s.Meter != (Meter{}) {
		return s.Meter
	}
	return t.Meter
}

// Meters says the tune's meter, and those of sections that have another: "4/4",
// "4/4, B 3/4".
func (t *Tune) Meters() string {
	text := t.Meter.String()
	for i := range t.Sections {
		if s := &t.Sections[i]; t.MeterOf(s) != t.Meter {
			text += ", " + s.Name + " " + s.Meter.String()
		}
	}
	return text
}

// CompingOf returns the rhythm that fills a section without a hits row.
func (t *Tune) CompingOf(s *Section) Comping {
	if s.Comping != NoComping {
		return s.Comping
	}
	return t.Comping
}

// Unroll returns the bars of one pass of the form, in playing order. The bars
// are those of the tune, not copies; names that are no section are left out.
func (t *Tune) Unroll() []FormBar {
	var bars []FormBar
	for _, name := range t.FormOrder() {
		s := t.Section(name)
		if s == nil {
			continue
		}
		for i := range s.Bars {
			bars = append(bars, FormBar{
				Section:    name,
				SectionBar: i + 1,
				Number:     len(bars) + 1,
				Meter:      t.MeterOf(s),
				Comping:    t.CompingOf(s),
				Bar:        &s.Bars[i],
			})
		}
	}
	return bars
}

// ChordAt returns the chord that sounds on a beat of the bar, counted from 1, or
// in the beat's second half. The halves count alike: a chord that starts in the
// middle of a beat starts with its swung second half. It reports false where no
// change stands at or before the place.
func (b *Bar) ChordAt(m Meter, beat int, off bool) (harmony.Chord, bool) {
	c := b.changeAt(harmony.HalfOf(beat, off), m.Halves())
	if c == nil {
		return harmony.Chord{}, false
	}
	return c.Chord, true
}

// changeAt returns the last change at or before a place, given in parts of the
// bar; nil if there is none.
func (b *Bar) changeAt(part, parts int) *Change {
	var last *Change
	for i := range b.Chords {
		c := &b.Chords[i]
		if c.Slot*parts > part*c.Slots {
			break
		}
		last = c
	}
	return last
}

// ChangesAt reports whether a chord starts exactly on a beat of the bar, counted
// from 1, or in the middle of it where off is set.
func (b *Bar) ChangesAt(m Meter, beat int, off bool) bool {
	part, parts := harmony.HalfOf(beat, off), m.Halves()
	for _, c := range b.Chords {
		if c.Slot*parts == part*c.Slots {
			return true
		}
	}
	return false
}
