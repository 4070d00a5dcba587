package fretboard

import "math"

// Stance is a way to play a single bass note: its place, and the fret at which
// the first finger lies, the hand's position.
type Stance struct {
	Place
	Position int
}

// openPositions is how far up the neck the hand may lie over an open string.
const openPositions = 9

// Stances lists the ways to play a bass note, a MIDI note number, with one finger
// of four, or on an open string wherever the hand lies.
func (n Neck) Stances(midi int) []Stance {
	var all []Stance
	for _, p := range n.PlacesOf(midi, n.BassStrings) {
		first, last := max(1, p.Fret-3), p.Fret
		if p.Fret == 0 {
			first, last = 1, min(openPositions, n.HighestFret)
		}
		for position := first; position <= last; position++ {
			all = append(all, Stance{p, position})
		}
	}
	return all
}

// ShiftMM returns how far in millimetres the hand shifts along the neck from one
// position to another.
func (n Neck) ShiftMM(from, to int) float64 { return math.Abs(n.FretMM(to) - n.FretMM(from)) }
