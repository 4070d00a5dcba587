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

// shellTones returns the pairs of tones, in semitones above the root, that a shell may
// have above a bass, the usual one first: third and seventh or sixth, of a triad third
// and fifth; where the bass is one of them, the other and the root, or the fifth. A
// suspended tone stands for the third; a sixth from outside the chord has its triad
// above it. heard are the pairs that sound all that the shell is to say, half those with
// one of two such tones, parts the others. There are none where the chord has no two
// tones.
func shellTones(c harmony.Chord, bass int) (heard, half, parts [][2]int) {
	var third, fifth, seventh = -1, -1, -1
	inside := false
	for _, d := range c.Degrees {
		inside = inside || at(d) == bass
		switch {
		case d.Number == 3, third < 0 && (d.Number == 4 || d.Number == 2 || d.Number == 11):
			third = at(d)
		case d.Number == 5:
			fifth = at(d)
		case d.Number == 7, d.Number == 6 && seventh < 0:
			seventh = at(d)
		}
	}
	if bass == 9 && seventh == 10 && !inside {
		seventh = -1 // a half step above the bass
	}
	says, others := []int{third, seventh}, []int{0, fifth}
	if seventh < 0 {
		says, others = []int{third, fifth}, []int{0}
	}
	gone := func(t int) bool { return t < 0 || t == bass }
	says, others = slices.DeleteFunc(says, gone), slices.DeleteFunc(others, gone)
	all := slices.Concat(says, others)
	for last := 1; last < len(all); last++ {
		for first := range last {
			pair := [2]int{all[first], all[last]}
			switch {
			case last < len(says) || first == 0 && len(says) == 1:
				heard = append(heard, pair)
			case first < len(says):
				half = append(half, pair)
			default:
				parts = append(parts, pair)
			}
		}
	}
	return heard, half, parts
}

// shells lists the shells of a chord above a bass place, in a school above another bass
// than the root those that say half of it too, for a top voice that would leap, and where
// none of them can be held on two of the strings that the line leaves free, the first
// parts that can.
func (f *gripFinder) shells(c harmony.Chord, p Place) (all []pricedShape) {
	bass := f.above(c, p)
	heard, half, parts := shellTones(c, bass)
	add := func(tones [2]int, cost float64) {
		for _, s := range f.shellsOf(c, p, tones) {
			s.cost += cost
			all = append(all, s)
		}
	}
	for i, tones := range heard {
		add(tones, f.w.Second*float64(i))
	}
	if bass != 0 && f.school != Mixed {
		for _, tones := range half {
			add(tones, f.w.Unsaid)
		}
	} else {
		parts = slices.Concat(half, parts)
	}
	close := func(s pricedShape) bool { return !wide(s.Frets) }
	for i := 0; !slices.ContainsFunc(all, close) && i < len(parts); i++ {
		add(parts[i], 0)
	}
	return all
}

// shellsOf lists the shells with two tones of a chord above a bass place. They are not
// on the highest string, which is far from the bass.
func (f *gripFinder) shellsOf(c harmony.Chord, p Place, tones [2]int) (all []pricedShape) {
	n, bass := len(f.neck.Tuning), len(f.neck.Tuning)-p.String
	for low := bass + 1; low < n-1; low++ {
		for high := low + 1; high < min(n-1, low+3); high++ {
			if f.onBass(low) || f.onBass(high) {
				continue
			}
			for _, order := range [][2]int{tones, {tones[1], tones[0]}} {
				for _, lowFret := range f.fretsOf(c, low, order[0]) {
					for _, highFret := range f.fretsOf(c, high, order[1]) {
						frets := slices.Repeat([]int{muted}, n)
						frets[bass], frets[low], frets[high] = p.Fret, lowFret, highFret
						if s, ok := f.shell(c, frets, p); ok {
							s.cost += f.offShell(c, frets, p, low, high)
							all = append(all, s)
						}
					}
				}
			}
		}
	}
	return all
}

// offShell prices what a player would rather not do in a shell, whose two voices lie
// on strings 4 and 3, three or four frets with the bass, and on the root are those of a
// grip that players know.
func (f *gripFinder) offShell(c harmony.Chord, frets []int, p Place, low, high int) float64 {
	bass, middle := len(frets)-p.String, len(frets)-4
	switch {
	case f.above(c, p) == 0 && !f.partOfGrip(c, frets, p):
		return f.w.NoPart
	case low == middle && high == middle+1 && spanned(frets) <= 3:
		return 0
	case low == middle && high == middle+1, low > bass+2 && spanned(frets) <= 3:
		return f.w.Second
	case spanned(frets) > 3:
		return f.w.Spread
	case high > low+1:
		return f.w.Skip
	}
	return f.w.High
}

// partOfGrip reports whether a shell is a part of a grip that players know for the chord,
// or for it with a ninth or thirteenth, or with no major third an eleventh.
func (f *gripFinder) partOfGrip(c harmony.Chord, frets []int, p Place) (part bool) {
	a := f.w.ask(c, f.above(c, p))
	a.allowed |= bit(harmony.Degree{Number: 9}) | bit(harmony.Degree{Number: 13})
	if a.allowed&bit(harmony.Degree{Number: 3}) == 0 {
		a.allowed |= bit(harmony.Degree{Number: 11})
	}
	f.rows(p, a.bass, func(g *knownGrip, fret int) {
		part = part || a.holds(g) && g.has(frets, fret, p)
	})
	return part
}

// has reports whether frets above a bass place are a part of a row with its bass at a
// fret.
func (g *knownGrip) has(frets []int, fret int, p Place) bool {
	for i := len(frets) - p.String + 1; i < len(frets); i++ {
		if frets[i] >= 0 && (g.rel[i] == silent || frets[i] != fret+g.rel[i]) {
			return false
		}
	}
	return true
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
func (f *gripFinder) shell(c harmony.Chord, frets []int, p Place) (pricedShape, bool) {
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
	return pricedShape{Shape: s, cost: f.w.hold(f.neck, &s, c)}, true
}
