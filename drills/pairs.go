package drills

import (
	"footfall/harmony"
	"footfall/harmony/tune"
)

// pair is a chord and the one that comes after it.
type pair struct {
	from, to harmony.Chord
	// meter is that of the bar in which the first sounds, beats how many it has there.
	meter tune.Meter
	beats int
}

// pairs lists the different changes of some material, in the order they come: a
// tune's through its form and round to the top, or those of its chords in a row.
func pairs(m Material) []pair {
	var all []pair
	seen := map[[2]harmony.Identity]bool{}
	add := func(from, to harmony.Chord, meter tune.Meter, beats int) {
		key := [2]harmony.Identity{from.Identity(), to.Identity()}
		if from.None || to.None || seen[key] || from.SoundsAs(to) {
			return
		}
		seen[key] = true
		all = append(all, pair{from, to, meter, beats})
	}
	if m.Tune == nil {
		for i, c := range m.Chords {
			add(c, m.Chords[(i+1)%len(m.Chords)], tune.Meter{Upper: 4, Lower: 4}, 4)
		}
		return all
	}
	var first, last harmony.Chord
	var meter tune.Meter
	beats := 0
	for i, fb := range m.Tune.Unroll() {
		for k, c := range fb.Bar.Chords {
			if i == 0 && k == 0 {
				first, last = c.Chord, c.Chord
			}
			add(last, c.Chord, meter, beats)
			end := fb.Meter.Beats()
			if k+1 < len(fb.Bar.Chords) {
				next := fb.Bar.Chords[k+1]
				end = next.Slot * end / next.Slots
			}
			last, meter, beats = c.Chord, fb.Meter, end-c.Slot*fb.Meter.Beats()/c.Slots
		}
	}
	add(last, first, meter, beats)
	return all
}

// keyOf is the tune's key, or where there is no tune the one that a pair leads to.
func (m Material) keyOf(p pair) harmony.Key {
	if m.Tune != nil {
		return m.Tune.Key
	}
	return harmony.Key{Tonic: p.to.Root}
}

// onOneRoot reports whether the root stays.
func (p pair) onOneRoot() bool { return p.from.Root.Semitone() == p.to.Root.Semitone() }

// next is where the second root lies, as a degree of the first.
func (p pair) next() harmony.Degree { return within(p.from.DegreeOf(p.to.Root.Semitone())) }

// within brings a tension into the octave, as a bass row has it: 2 for 9.
func within(d harmony.Degree) harmony.Degree {
	if d.Number > 7 {
		d.Number -= 7
	}
	return d
}

// sounds are the two chords as they are heard, each on its bass.
func (p pair) sounds() [][]int { return [][]int{voiced(p.from), voiced(p.to)} }

// voiced puts a chord into the register of a guitar: the bass on the low strings,
// the other tones close above.
func voiced(c harmony.Chord) []int {
	const lowE, d = 40, 50
	notes := []int{tune.LowestFrom(lowE, c.Bass.Semitone())}
	above := max(d, notes[0]+3)
	var tones [12]bool
	for _, n := range c.Notes() {
		tones[n.Semitone()] = n.Semitone() != c.Bass.Semitone()
	}
	for midi := above; midi < above+12; midi++ {
		if tones[midi%12] {
			notes = append(notes, midi)
		}
	}
	return notes
}
