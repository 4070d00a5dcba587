package lesson

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"footfall/drills"
	"footfall/harmony"
	"footfall/harmony/tune"
)

// mostListed is of how many chords a fault says what each has.
const mostListed = 6

// Unasked tells why the drill of a task cannot be asked as it is written, or not of all that it
// names: a degree that none of its chords has, a chord that has none of its degrees, nothing to
// ask. It is none for a passage. The error says what the material lacks.
func (t Task) Unasked(m drills.Material) (faults tune.Faults, err error) {
	if t.Drill == nil {
		return nil, nil
	}
	d := *t.Drill
	d.Degrees = nil
	all, err := d.Questions(m)
	if err != nil {
		return nil, err
	}
	fault := func(found, want string) {
		faults = append(faults, tune.Fault{Line: t.Line, Column: t.Column, Found: found, Want: want})
	}
	var chords []string
	has := map[string][]string{}
	var there []string
	for _, q := range all {
		a := q.Ask()
		if a.Degree == "" {
			continue
		}
		if has[a.Chord] == nil && slices.ContainsFunc(m.Chords, func(c harmony.Chord) bool { return c.Symbol == a.Chord }) {
			chords = append(chords, a.Chord)
		}
		if !slices.Contains(has[a.Chord], a.Degree) {
			has[a.Chord] = append(has[a.Chord], a.Degree)
		}
		if !slices.Contains(there, a.Degree) {
			there = append(there, a.Degree)
		}
	}
	degrees := t.Drill.Degrees
	switch {
	case len(all) == 0:
		fault(string(d.Kind)+" with nothing to ask", "other chords, another tune, or another drill")
		return faults, nil
	case degrees != nil && there == nil:
		fault(strconv.Quote("degrees "+strings.Join(degrees, " ")), "no degrees: the drill "+string(d.Kind)+" does not ask for one")
		return faults, nil
	}
	for _, degree := range degrees {
		if slices.Contains(there, degree) {
			continue
		}
		want := "degrees that it asks for: " + strings.Join(there, " ")
		if chords != nil && len(chords) <= mostListed {
			want = "degrees that these chords are asked with: " + strings.Join(said(chords, has), "; ")
		}
		fault(strconv.Quote(degree), want)
	}
	if d.Tune != "" || degrees == nil || faults != nil {
		return faults, nil
	}
	for _, c := range m.Chords {
		if asked := has[c.Symbol]; asked != nil && !slices.ContainsFunc(asked, func(degree string) bool { return slices.Contains(degrees, degree) }) {
			fault(strconv.Quote("degrees "+strings.Join(degrees, " ")), fmt.Sprintf("one that %s has too: %s", c.Symbol, strings.Join(asked, " ")))
		}
	}
	return faults, nil
}

// said tells of each chord with which degrees it is asked.
func said(chords []string, has map[string][]string) (lines []string) {
	for _, c := range chords {
		lines = append(lines, c+" "+strings.Join(has[c], " "))
	}
	return lines
}
