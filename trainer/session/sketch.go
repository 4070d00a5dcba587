package session

import (
	"fmt"
	"slices"
	"strings"

	"footfall/drills/lesson"
	"footfall/fretboard"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// Placed is something that lies on the neck: what it is, and where.
type Placed struct {
	Says  string
	Marks []fretboard.Mark
}

// mostPlaced is how many chords of a drill are sketched.
const mostPlaced = 3

// Sketch is what can be shown of a lesson's task, counted from 0, before it is begun: its
// tune, or that of the passage that it leads to, nil where there is none, and where on the
// neck the first of it lies: the degrees that a drill asks in its first chords, or the line
// of a passage's first bars.
func (d *Desk) Sketch(l *lesson.Lesson, n int) (t *tune.Tune, placed []Placed) {
	task, name := l.Tasks[n], ""
	if task.Drill != nil {
		name = task.Drill.Tune
	}
	for _, coming := range l.Tasks[n:] {
		if name == "" && coming.Passage != nil {
			name = coming.Passage.Tune
		}
	}
	if of, err := d.Tune(name); err == nil && name != "" {
		t = of.Tune
	}
	switch {
	case task.Drill != nil:
		for symbol := range strings.FieldsSeq(task.Drill.Chords) {
			if c, err := harmony.ParseChord(symbol); err == nil && len(placed) < mostPlaced {
				placed = append(placed, Placed{symbol, d.tones(c, task.Drill.Degrees)})
			}
		}
	case t != nil:
		placed = append(placed, d.opening(t, task.Passage)...)
	}
	return t, placed
}

// tones are the places of a chord's degrees on the bass strings, its root among them; of
// all of its degrees where none are named.
func (d *Desk) tones(c harmony.Chord, degrees []string) (marks []fretboard.Mark) {
	wanted := fretboard.BassDegrees(c)
	if degrees != nil {
		wanted = []harmony.Degree{{Number: 1}}
		for _, text := range degrees {
			if degree, err := harmony.ParseDegree(text); err == nil {
				wanted = append(wanted, degree)
			}
		}
	}
	for _, s := range d.Neck.BassStrings {
		for fret := range d.Neck.HighestFret + 1 {
			at := fretboard.Place{String: s, Fret: fret}
			if degree := d.Neck.DegreeAt(at, c); slices.Contains(wanted, degree) {
				marks = append(marks, fretboard.Mark{Place: at, Text: degree.String(), Role: fretboard.Plain})
			}
		}
	}
	return marks
}

// opening is the line of the first bars that a passage plays, a bar each.
func (d *Desk) opening(t *tune.Tune, p *lesson.Passage) (placed []Placed) {
	layer, err := tune.ParseLayer(p.Layer)
	if err != nil {
		return nil // the player makes the line up
	}
	school := d.School
	if named, err := fretboard.ParseSchool(p.School); err == nil && p.School != "" {
		school = named
	}
	a, err := fretboard.Arrange(t, d.Neck, d.Hand, layer, fretboard.InSchool(school))
	if err != nil {
		return nil
	}
	for _, bar := range t.Unroll() {
		if p.Section != "" && bar.Section != p.Section || len(placed) == mostPlaced {
			continue
		}
		says := fmt.Sprintf("The line of %s %d, over", bar.Section, bar.SectionBar)
		for _, c := range bar.Bar.Chords {
			says += " " + c.Chord.String()
		}
		var marks []fretboard.Mark
		for _, e := range a.Events {
			if e.Kind == fretboard.BassEvent && e.At.Bar == bar.Number {
				marks = append(marks, fretboard.Mark{Place: e.Place, Text: e.Degree.String(), Role: fretboard.Plain})
			}
		}
		placed = append(placed, Placed{says, marks})
	}
	return placed
}
