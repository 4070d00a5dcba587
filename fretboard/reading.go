package fretboard

import (
	"cmp"
	"slices"

	"footfall/harmony"
)

// Reading is one name for what a shape sounds.
type Reading struct {
	// Chord is the chord named, with the shape's lowest note as its bass, so that
	// the symbol of anything but a root position has a slash: "C/E".
	Chord harmony.Chord
	// Degrees names each sounding string against the chord, low string first.
	Degrees []harmony.Degree
	// Notes spells them.
	Notes []harmony.Note
	// Inversion says what is lowest: "root position", "first inversion" (the
	// third, or what is suspended in its place), "second inversion" (the fifth),
	// "third inversion" (the seventh or sixth), else "9 in the bass".
	Inversion string
	// Omits are the chord's degrees that do not sound, Adds those that sound and
	// are not in its symbol, a foreign bass aside.
	Omits, Adds []harmony.Degree
	// Families are the voicing families that the shape belongs to as this chord.
	Families []Family

	cost float64
}

// The costs of a reading besides its name's own: common practice, no source.
// They were set so that open positions of a published collection read as the
// chord they are given for.
const (
	fifthOmitted   = 0.5
	otherOmitted   = 0.9
	rootOmitted    = 2.0
	toneAdded      = 0.3
	foreignBass    = 1.3
	foreignSeventh = 1.4 // and so for a chord of four tones over it
)

// invertedCost is the cost of a bass degree by its number.
var invertedCost = [14]float64{3: 0.8, 5: 0.7, 7: 1, 2: 0.9, 4: 0.9, 6: 1, 9: 1.5, 11: 1.7, 13: 1.7}

// Read names what frets sound, low string to high, −1 not played, best name
// first: everyday names before rare ones, whole chords before those with
// omissions, root position before inversions, chords with their root before
// those without, and last triads and seventh chords over a foreign bass. Ties go
// by the nearness of the root above the lowest note. Fewer than two different
// notes have no name.
//
// The root is spelled so that the chord has the fewest accidentals; where two
// spellings have as many, Eb, Ab, Db and F# win, and A# is always Bb.
func (n Neck) Read(frets []int) []Reading {
	notes, lowest := n.sounds(frets)
	mask := uint16(0)
	for _, m := range notes {
		mask |= 1 << (m % 12)
	}
	if ones(mask) < 2 {
		return nil
	}
	var readings []Reading
	for root := range 12 {
		above := rotate(mask, root)
		bass := (lowest - root + 120) % 12
		for i := range qualities() {
			q := &qualities()[i]
			if r, ok := q.read(above, bass); ok {
				readings = append(readings, q.reading(r, root, bass, notes))
			}
		}
	}
	slices.SortStableFunc(readings, func(a, b Reading) int {
		if c := cmp.Compare(a.cost, b.cost); c != 0 {
			return c
		}
		up := func(r Reading) int { return (r.Chord.Root.Semitone() - lowest + 120) % 12 }
		return cmp.Compare(up(a), up(b))
	})
	return readings
}

// Spell names the note of each sounding string, low string first: against the
// chord it sounds over, where one is given, else as the first reading has it.
func (n Neck) Spell(frets []int, over *harmony.Chord) []harmony.Note {
	sounding, _ := n.sounds(frets)
	if over == nil || over.None {
		if readings := n.Read(frets); len(readings) > 0 {
			return readings[0].Notes
		}
	}
	notes := make([]harmony.Note, len(sounding))
	for i, m := range sounding {
		notes[i] = rootNames[m%12][0]
		if over != nil && !over.None {
			notes[i] = plainSpelling(over.DegreeOf(m).Of(over.Root))
		}
	}
	return notes
}

// sounds returns the MIDI number of each sounding string, low string first,
// and the lowest of them.
func (n Neck) sounds(frets []int) (notes []int, lowest int) {
	lowest = 1 << 10
	for i, f := range frets {
		if f >= 0 {
			notes = append(notes, n.Tuning[i]+f)
			lowest = min(lowest, n.Tuning[i]+f)
		}
	}
	return notes, lowest
}

// rotate turns a mask of pitch classes into one of semitones above a root.
func rotate(mask uint16, root int) uint16 {
	return (mask>>root | mask<<(12-root)) & 0xfff
}

// match says how a quality fits.
type match struct {
	cost    float64
	omits   uint16
	adds    uint16
	foreign bool
}

// read fits sounding semitones above a root, bass the lowest, to the quality.
func (q *quality) read(sounding uint16, bass int) (match, bool) {
	m := match{cost: q.Cost}
	foreign := sounding&^(q.tones|q.more) != 0
	if foreign {
		if !q.upper || sounding&^(1<<bass) != q.tones {
			return match{}, false
		}
		m.foreign = true
		m.cost += foreignBass
		if len(q.Degrees) > 3 {
			m.cost += foreignSeventh
		}
		return m, true
	}
	need := q.need
	if sounding&1 == 0 {
		if !q.rootless {
			return match{}, false
		}
		need &^= 1
		m.cost += rootOmitted
	}
	if need&^sounding != 0 {
		return match{}, false
	}
	m.omits = q.tones &^ sounding
	m.adds = sounding &^ q.tones
	for i, d := range q.name {
		if m.omits>>i&1 != 0 && i != 0 {
			if d.Number == 5 {
				m.cost += fifthOmitted
			} else {
				m.cost += otherOmitted
			}
		}
		if m.adds>>i&1 != 0 {
			m.cost += toneAdded
		}
	}
	m.cost += invertedCost[q.name[bass].Number]
	return m, true
}

// reading writes a match out.
func (q *quality) reading(m match, root, bass int, notes []int) Reading {
	name := q.spell(root)
	r := Reading{Chord: harmony.Chord{Symbol: name.String() + q.Name, Root: name, Bass: name, Degrees: q.Degrees}, cost: m.cost}
	lowest := r.Chord.DegreeOf(root + bass)
	if !m.foreign {
		lowest = q.name[bass]
	}
	if bass != 0 {
		r.Chord.Bass = plainSpelling(lowest.Of(name))
		r.Chord.Symbol += "/" + r.Chord.Bass.String()
	}
	r.Inversion = inversion(lowest, m.foreign)
	for _, note := range notes {
		above := (note - root + 120) % 12
		d := q.name[above]
		if above == bass {
			d = lowest
		}
		r.Degrees = append(r.Degrees, d)
		r.Notes = append(r.Notes, plainSpelling(d.Of(name)))
	}
	for i, d := range q.name {
		if m.omits>>i&1 != 0 {
			r.Omits = append(r.Omits, d)
		}
		if m.adds>>i&1 != 0 {
			r.Adds = append(r.Adds, d)
		}
	}
	slices.SortFunc(r.Omits, func(a, b harmony.Degree) int { return cmp.Compare(a.Semitones(), b.Semitones()) })
	r.Families = families(r, notes, m.foreign)
	return r
}

// inversion names what the lowest degree makes of a chord.
func inversion(lowest harmony.Degree, foreign bool) string {
	if !foreign {
		switch lowest.Number {
		case 1:
			return "root position"
		case 2, 3, 4:
			return "first inversion"
		case 5:
			return "second inversion"
		case 6, 7:
			return "third inversion"
		}
	}
	return lowest.String() + " in the bass"
}

// rootNames holds the spellings of each pitch class, the one that wins a tie
// first.
var rootNames = [12][]harmony.Note{
	{{Letter: harmony.C}},
	{{Letter: harmony.D, Alter: -1}, {Letter: harmony.C, Alter: 1}},
	{{Letter: harmony.D}},
	{{Letter: harmony.E, Alter: -1}, {Letter: harmony.D, Alter: 1}},
	{{Letter: harmony.E}},
	{{Letter: harmony.F}},
	{{Letter: harmony.F, Alter: 1}, {Letter: harmony.G, Alter: -1}},
	{{Letter: harmony.G}},
	{{Letter: harmony.A, Alter: -1}, {Letter: harmony.G, Alter: 1}},
	{{Letter: harmony.A}},
	{{Letter: harmony.B, Alter: -1}},
	{{Letter: harmony.B}},
}

// spell names a root so that the chord has the fewest accidentals, a double
// one counting three.
func (q *quality) spell(root int) harmony.Note {
	best, least := harmony.Note{}, 1<<10
	for _, name := range rootNames[root] {
		count := 0
		for _, d := range q.Degrees {
			alter := int(d.Of(name).Alter)
			if alter < 0 {
				alter = -alter
			}
			if alter > 1 {
				alter++
			}
			count += alter
		}
		if count < least {
			best, least = name, count
		}
	}
	return best
}

// plainSpelling respells a note with a double accidental.
func plainSpelling(n harmony.Note) harmony.Note {
	if n.Alter < -1 || n.Alter > 1 {
		return rootNames[n.Semitone()][0]
	}
	return n
}
