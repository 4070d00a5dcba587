package fretboard

import (
	"fmt"
	"slices"
	"strings"

	"footfall/harmony"
)

// School says which shapes an arrangement draws on.
type School uint8

// The schools.
const (
	Mixed     School = iota // full standard grips where the tempo allows
	Shells                  // the bass, 3 and 7 or 6
	ThreeNote               // the bass and three notes above it
	Drop2s                  // drop 2 voicings
	Drop3s                  // drop 3 voicings
)

var schoolNames = []string{Mixed: "mixed", Shells: "shells", ThreeNote: "three-note", Drop2s: "drop2", Drop3s: "drop3"}

// String returns the school's name as commands take it.
func (s School) String() string { return schoolNames[s] }

// SchoolNames lists the names of the schools for a message.
func SchoolNames() string { return strings.Join(schoolNames, ", ") }

// ParseSchool reads a school's name. The error says which there are.
func ParseSchool(s string) (School, error) {
	if i := slices.Index(schoolNames, s); i >= 0 {
		return School(i), nil
	}
	return 0, fmt.Errorf("there is no school %q; write one of %s", s, SchoolNames())
}

// has reports whether a shape above its bass belongs to the school.
func (s School) has(n Neck, frets []int) bool {
	var notes []int
	for i, fret := range frets {
		if fret >= 0 {
			notes = append(notes, n.Tuning[i]+fret)
		}
	}
	switch s {
	case Mixed:
		return true
	case ThreeNote:
		return len(notes) == 4
	case Drop2s, Drop3s:
		return len(notes) == 4 && differ(notes) && dropped(notes) == map[School]int{Drop2s: 2, Drop3s: 3}[s]
	}
	return false
}

// differ reports whether no two of four notes sound the same tone.
func differ(notes []int) bool {
	met := uint16(0)
	for _, n := range notes {
		met |= 1 << (n % 12)
	}
	return ones(met) == len(notes)
}

// ofSchool lists the shapes of the finder's school among those of the vocabulary
// above a bass place, and where there are none the shells.
func (f *gripFinder) ofSchool(c harmony.Chord, p Place) []pricedShape {
	if f.school == Shells {
		return f.shells(c, p)
	}
	all := slices.DeleteFunc(f.known(c, p), func(s pricedShape) bool { return !f.school.has(f.neck, s.Frets) })
	if len(all) == 0 && f.school != Mixed {
		return f.shells(c, p)
	}
	return all
}

// shellTones returns the pairs of tones, in semitones above the root, that a shell
// may have above a bass, the usual one first: third and seventh or sixth, of a triad
// root, third and fifth; where the bass is one of them, the root or the fifth comes
// for it. The others serve where the usual one does not lie under the hand. A
// suspended tone stands for the third. There are none where the chord has no two tones.
func shellTones(c harmony.Chord, bass int) (pairs [][2]int) {
	var third, fifth, seventh = -1, -1, -1
	for _, d := range c.Degrees {
		switch {
		case d.Number == 3, third < 0 && (d.Number == 4 || d.Number == 2 || d.Number == 11):
			third = at(d)
		case d.Number == 5:
			fifth = at(d)
		case d.Number == 7, d.Number == 6 && seventh < 0:
			seventh = at(d)
		}
	}
	want := []int{third, seventh, 0, fifth}
	if seventh < 0 {
		want = []int{third, fifth, 0}
	}
	want = slices.DeleteFunc(want, func(t int) bool { return t < 0 || t == bass })
	for last := 1; last < len(want); last++ {
		for first := range last {
			pairs = append(pairs, [2]int{want[first], want[last]})
		}
	}
	return pairs
}

// shells lists the shells of a chord above a bass place: the first two of its tones
// that can be held on two of the strings that the line leaves free.
func (f *gripFinder) shells(c harmony.Chord, p Place) []pricedShape {
	for _, tones := range shellTones(c, f.above(c, p)) {
		if all := f.shellsOf(c, p, tones); len(all) > 0 {
			return all
		}
	}
	return nil
}

func (f *gripFinder) shellsOf(c harmony.Chord, p Place, tones [2]int) []pricedShape {
	var all []pricedShape
	usual, unusual := f.known(c, p), f.w.Second
	if f.above(c, p) == 0 {
		unusual = f.w.Unusual
	}
	n, first := len(f.neck.Tuning), len(f.neck.Tuning)-p.String
	for i := first + 1; i < n; i++ {
		for k := i + 1; k < min(n, i+3); k++ {
			if f.onBass(i) || f.onBass(k) {
				continue
			}
			for _, order := range [][2]int{tones, {tones[1], tones[0]}} {
				for _, low := range f.fretsOf(c, i, order[0]) {
					for _, high := range f.fretsOf(c, k, order[1]) {
						frets := make([]int, n)
						for j := range frets {
							frets[j] = muted
						}
						frets[first], frets[i], frets[k] = p.Fret, low, high
						if s, ok := f.shell(frets, p); ok {
							s.cost += f.w.Second * float64(k-i-1) // it skips a string
							if !slices.ContainsFunc(usual, func(u pricedShape) bool { return !u.foreign && slices.Equal(u.Frets, frets) }) {
								s.cost += unusual
							}
							all = append(all, s)
						}
					}
				}
			}
		}
	}
	return all
}

// onBass reports whether the line takes the string of an index.
func (f *gripFinder) onBass(i int) bool {
	return slices.Contains(f.neck.BassStrings, len(f.neck.Tuning)-i)
}

// fretsOf lists the frets of a string that sound a tone above a chord's root.
func (f *gripFinder) fretsOf(c harmony.Chord, i, tone int) (frets []int) {
	first := ((c.Root.Semitone()+tone-f.neck.Tuning[i])%12 + 12) % 12
	for fret := first; fret <= f.neck.HighestFret; fret += 12 {
		frets = append(frets, fret)
	}
	return frets
}

// shell prices the frets of a shell; false where the hand cannot hold them or a
// voice would lie below the bass.
func (f *gripFinder) shell(frets []int, p Place) (pricedShape, bool) {
	bass := f.neck.MIDI(p)
	for i, fret := range frets {
		if fret >= 0 && f.neck.Tuning[i]+fret < bass {
			return pricedShape{}, false
		}
	}
	fingering, ok := f.neck.Fingering(f.hand, frets)
	if !ok {
		return pricedShape{}, false
	}
	s := Shape{Frets: frets, Fingering: fingering, Rank: fingering.Effort}
	return pricedShape{Shape: s, cost: f.w.hold(f.neck, &s)}, true
}
